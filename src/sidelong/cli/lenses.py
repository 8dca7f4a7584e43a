"""`sidelong lenses`: the same shot through every lens of the kit."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from sidelong.cli.answer import chosen_shots, json_answer, open_shoot, say, shoot_head, show, table
from sidelong.cli.bar import bar
from sidelong.plan.lenses import FAR_BEHIND, NEAR_BEHIND, LensChoice, movement_of, plan_lenses
from sidelong.plan.words import movement_to_set
from sidelong.units import f_mark, metres_in_words


def lenses(shoot: Path, /, *, shot: str | None = None, json: bool = False) -> None:
    """Each lens on the shot at the same framing: movement, stop, where the camera goes, how soft everything gets.

    Parameters
    ----------
    shoot
        The shoot's folder, or its file.
    shot
        Only this shot, by its id.
    json
        Print one JSON object.
    """
    opened = open_shoot(shoot)
    answers = []
    for one in chosen_shots(opened, shot):
        with bar(f"lenses on {one.id}"):
            choices = plan_lenses(opened, one)
        answers.append({"id": one.id, "lenses": [_answer(c) for c in choices]})
        if not json:
            columns = ("lens", "movement", "stop", "camera", "least soft", "1 m behind", "4 m behind", "a day", "")
            rows = [_row(c, opened.imperial) for c in choices]
            show(table(f"{one.id}: same framing, µm on the film", columns, rows, right=(2, 3, 4, 5, 6, 7)))
    if json:
        json_answer("lenses", shoot_head(opened), answers)
    else:
        say(
            "At equal framing a longer lens dissolves the background more; people beside the subject, at the same "
            "distance, hardly change."
        )


def _answer(choice: LensChoice) -> dict[str, Any]:
    focus = choice.focus
    angle = movement_of(choice)
    return {
        "lens": choice.lens.id,
        "focal_mm": choice.lens.focal_length * 1e3,
        "camera_at_m": choice.at,
        "distance_m": choice.distance,
        "fits": choice.obstacle == "",
        "obstacle": choice.obstacle,
        "movement_deg": None if angle is None else math.degrees(angle),
        "f_number": None if focus is None else focus.setting.f_number,
        "why": choice.why,
        "points": []
        if focus is None
        else [
            {
                "name": p.name,
                "wanted": p.wanted,
                "blur_major_um": None if p.blur_major is None else p.blur_major * 1e6,
            }
            for p in focus.points
        ],
        "background": [
            {"behind_m": NEAR_BEHIND, "blur_major_um": _micro(choice.background_near)},
            {"behind_m": FAR_BEHIND, "blur_major_um": _micro(choice.background_far)},
        ],
        "owned": choice.owned,
        "rent_per_day": choice.rent,
    }


def _micro(metres: float | None) -> float | None:
    return None if metres is None else metres * 1e6


def _row(choice: LensChoice, imperial: bool) -> tuple[str, ...]:
    price = "owned" if choice.owned else f"{choice.rent:.0f}"
    camera = metres_in_words(choice.distance, imperial)
    if choice.focus is None:
        return (choice.lens.id, "", "", camera, "", "", "", price, choice.why.split(";")[0])
    soft = [p.blur_major for p in choice.focus.points if p.wanted == "soft" and p.blur_major is not None]
    setting = choice.focus.setting
    return (
        choice.lens.id,
        movement_to_set(setting),
        f"f/{f_mark(setting.f_number)}",
        camera,
        f"{min(soft) * 1e6:,.0f}" if soft else "",
        f"{(choice.background_near or 0) * 1e6:,.0f}",
        f"{(choice.background_far or 0) * 1e6:,.0f}",
        price,
        choice.obstacle,
    )

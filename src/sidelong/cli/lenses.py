"""`sidelong lenses`: the same shot through every lens of the kit."""

from __future__ import annotations

import math
from typing import Any

from sidelong.cli.answer import chosen_shots, json_answer, open_shoot, say, shoot_head, show, table
from sidelong.cli.bar import bar
from sidelong.cli.options import AsJson, ShootPath, ShotId
from sidelong.plan.lenses import (
    BESIDE,
    FAR_BEHIND,
    NEAR_BEHIND,
    Effect,
    LensChoice,
    effect_of_length,
    movement_of,
    plan_lenses,
)
from sidelong.plan.words import movement_to_set
from sidelong.sheet.fonts import shortened
from sidelong.units import f_mark, metres_in_words

MOST_NAMED = 3
"""People to be soft who get a column each; of more, the least soft counts."""
ROUND_ABOUT = (f"{BESIDE:g} m beside", f"{NEAR_BEHIND:g} m behind", f"{FAR_BEHIND:g} m behind")
HARDLY = 1.15
"""An effect up to this many times is none to speak of. [-]"""


def lenses(shoot: ShootPath, /, *, shot: ShotId = None, json: AsJson = False) -> None:
    """Each lens on the shot at the same framing: movement, stop, where the camera goes, how soft everything gets."""
    opened = open_shoot(shoot)
    answers = []
    for one in chosen_shots(opened, shot):
        with bar(f"lenses on {one.id}"):
            choices = plan_lenses(opened, one)
        effect = effect_of_length(choices)
        answers.append({"id": one.id, "lenses": [_answer(c) for c in choices], "effect": _effect(effect)})
        if not json:
            named = one.soft if 1 <= len(one.soft) <= MOST_NAMED else ()
            soft = tuple(shortened(name, 12) for name in named) or ("least soft",)
            columns = ("lens", "movement", "stop", "camera", *soft, *ROUND_ABOUT, "a day", "")
            rows = [_row(c, named, opened.imperial) for c in choices]
            show(table(f"{one.id}: same framing, µm on the film", columns, rows, right=range(2, len(columns) - 1)))
            if effect is not None:
                say(f"  {_in_words(effect)}")
    if json:
        json_answer("lenses", shoot_head(opened), answers)


def _in_words(effect: Effect) -> str:
    """What a longer lens does here, and where the trade's rule holds."""
    lengths = f"from {effect.shortest.focal_length * 1e3:g} to {effect.longest.focal_length * 1e3:g} mm"
    said = []
    if effect.background is not None:
        said.append(f"{FAR_BEHIND:g} m behind gets {effect.background:.1f} times as soft")
    if effect.row is not None:
        said.append(f"{BESIDE:g} m beside, in the subject's own row, {effect.row:.1f} times")
    if not said:
        return f"At the same stop, {lengths}, nothing round about is soft enough to compare."
    own = ", each with its own movement" if effect.moved_apart else ""
    text = f"At the same stop, {lengths}{own}, " + ", ".join(said) + "."
    if effect.background is None or effect.row is None:
        return text
    background, row = effect.background > HARDLY, effect.row > HARDLY
    if background and not row:
        return f"{text} Longer lens, stronger effect: true of the background, not of the row."
    if background:
        return f"{text} Longer lens, stronger effect: here it is true of both."
    return f"{text} Longer lens, stronger effect: here it is not true of the background."


def _effect(effect: Effect | None) -> dict[str, Any] | None:
    if effect is None:
        return None
    return {
        "from_mm": effect.shortest.focal_length * 1e3,
        "to_mm": effect.longest.focal_length * 1e3,
        "background_times": effect.background,
        "row_times": effect.row,
        "same_movement": not effect.moved_apart,
    }


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
        "beside": {"aside_m": BESIDE, "blur_major_um": _micro(choice.beside)},
        "owned": choice.owned,
        "rent_per_day": choice.rent,
    }


def _micro(metres: float | None) -> float | None:
    return None if metres is None else metres * 1e6


def _row(choice: LensChoice, named: tuple[str, ...], imperial: bool) -> tuple[str, ...]:
    """A line of the table; `named` have a column each."""
    price = "owned" if choice.owned else f"{choice.rent:.0f}"
    camera = metres_in_words(choice.distance, imperial)
    if choice.focus is None:
        blanks = [""] * (max(1, len(named)) + len(ROUND_ABOUT))
        return (choice.lens.id, "", "", camera, *blanks, price, choice.why.split(";")[0])
    blurs = {p.name: p.blur_major for p in choice.focus.points if p.wanted == "soft"}
    soft = [blurs.get(name) for name in named]
    if not named:
        soft = [min((b for b in blurs.values() if b is not None), default=None)]
    setting = choice.focus.setting
    about = (choice.beside, choice.background_near, choice.background_far)
    return (
        choice.lens.id,
        movement_to_set(setting).replace(" to the ", " "),
        f"f/{f_mark(setting.f_number)}",
        camera,
        *("" if b is None else f"{b * 1e6:,.0f}" for b in (*soft, *about)),
        price,
        choice.obstacle,
    )

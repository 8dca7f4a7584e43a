"""`sidelong walk`: the ring's marks that walk the focus along a row."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from sidelong.cli.answer import chosen_shots, json_answer, open_shoot, shoot_head, show, table
from sidelong.lens.walk import Step
from sidelong.plan.focus import plan_focus
from sidelong.plan.walk import ShotWalk, plan_walk
from sidelong.plan.words import movement_to_set
from sidelong.units import f_mark, metres_in_words


def walk(shoot: Path, /, *, shot: str | None = None, json: bool = False) -> None:
    """With the movement held: for each person the ring's mark that makes that one sharp, and where the walk ends.

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
        focus = plan_focus(opened, one)
        planned = plan_walk(opened, one, focus)
        answers.append({"id": one.id, "f_number": focus.setting.f_number, "steps": _steps(planned)})
        if not json:
            title = f"{one.id}: {movement_to_set(focus.setting)}, f/{f_mark(focus.setting.f_number)}"
            rows = [_row(planned, s, opened.imperial) for s in planned.steps]
            show(table(title, ("sharp", "ring", "so much of the row", "with them", "or else"), rows, right=(1, 2)))
    if json:
        json_answer("walk", shoot_head(opened), answers)


def _steps(planned: ShotWalk) -> list[dict[str, Any]]:
    return [
        {
            "name": planned.names[step.index],
            "reached": step.setting is not None,
            "ring_m": step.ring,
            "extension_mm": None if step.setting is None else step.setting.extension * 1e3,
            "half_width_mm": None if step.half_width is None else step.half_width * 1e3,
            "also_sharp": [planned.names[i] for i in step.also],
            "blur_major_um": _blurs(planned, step),
            "why": step.why,
            "smaller_movement": step.smaller,
        }
        for step in planned.steps
    ]


def _blurs(planned: ShotWalk, step: Step) -> dict[str, float] | None:
    if step.blurs is None:
        return None
    return {name: float(major) * 1e6 for name, major in zip(planned.names, step.blurs, strict=True)}


def _row(planned: ShotWalk, step: Step, imperial: bool) -> tuple[str, ...]:
    name = planned.names[step.index]
    if step.setting is None:
        smaller = "" if step.smaller is None else f"; reached with {step.smaller:.0%} of the movement"
        return (name, "the walk ends", "", "", step.why.split(";")[0] + smaller)
    ring = metres_in_words(step.ring or math.inf, imperial)
    width = "" if step.half_width is None else f"± {step.half_width * 1e3:.0f} mm"
    return (name, ring, width, ", ".join(planned.names[i] for i in step.also) or "alone", "")

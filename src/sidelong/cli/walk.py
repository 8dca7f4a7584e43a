"""`sidelong walk`: the ring's marks that walk the focus along a row."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from sidelong.cli.answer import chosen_shots, json_answer, open_shoot, say, shoot_head, show, table
from sidelong.cli.options import AsJson, ShootPath, ShotId
from sidelong.lens.values import Movement
from sidelong.lens.walk import Step, scaled
from sidelong.plan.focus import plan_focus
from sidelong.plan.values import FocusPlan
from sidelong.plan.walk import ShotWalk, plan_walk
from sidelong.plan.words import movement_in_words, movement_to_set
from sidelong.shoot.values import Shot
from sidelong.units import f_mark, metres_in_words


def walk(shoot: ShootPath, /, *, shot: ShotId = None, json: AsJson = False) -> None:
    """With the movement held: for each person the ring's mark that makes that one sharp, and where the walk ends."""
    opened = open_shoot(shoot)
    answers = []
    for one in chosen_shots(opened, shot):
        focus = plan_focus(opened, one)
        planned = plan_walk(opened, one, focus)
        answers.append(_answer(one, focus, planned))
        if not json:
            title = f"{one.id}: {movement_to_set(focus.setting)}, f/{f_mark(focus.setting.f_number)}"
            seen = {p.name for p in focus.points if p.in_picture}
            rows = [_row(planned, s, seen, opened.imperial) for s in planned.steps]
            show(table(title, ("sharp", "ring", "so much of the row", "with them", "or else"), rows, right=(1, 2)))
            for sentence in _sentences(focus, planned):
                say(f"  {sentence}")
    if json:
        json_answer("walk", shoot_head(opened), answers)


def _answer(shot: Shot, focus: FocusPlan, planned: ShotWalk) -> dict[str, Any]:
    return {
        "id": shot.id,
        "f_number": focus.setting.f_number,
        **_movement(focus.setting.movement),
        "steps": _steps(planned),
        "off_row": list(planned.off_row),
        "not_ahead": list(planned.not_ahead),
        "reaches_all": planned.whole == 1.0,
        "smaller_that_reaches_all": None if planned.smaller is None else _movement(planned.smaller),
    }


def _movement(movement: Movement) -> dict[str, float]:
    return {"swing_deg": math.degrees(movement.swing), "tilt_deg": math.degrees(movement.tilt)}


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


def _row(planned: ShotWalk, step: Step, seen: set[str], imperial: bool) -> tuple[str, ...]:
    name = planned.names[step.index]
    who = name if name in seen else f"{name} (not in the picture)"
    if step.setting is None:
        smaller = "" if step.smaller is None else f"; reached with {_in_words(planned, step.smaller)}"
        return (who, "the walk ends", "", "", step.why.split(";")[0] + smaller)
    ring = metres_in_words(step.ring or math.inf, imperial)
    width = "" if step.half_width is None else f"± {step.half_width * 1e3:.0f} mm"
    return (who, ring, width, ", ".join(planned.names[i] for i in step.also) or "alone", "")


def _sentences(focus: FocusPlan, planned: ShotWalk) -> list[str]:
    """What the table leaves open: who is not of the row, and what would reach all of it."""
    said = [f"{name} stands off the row" for name in planned.off_row]
    said += [f"{name} is not in front of the camera" for name in planned.not_ahead]
    sentences = ["; ".join(said) + "."] if said else []
    if planned.whole is None and planned.steps:
        sentences.append("No movement this way reaches the whole row: step back, or turn the camera.")
    elif planned.whole is not None and planned.whole < 1.0:
        smaller = _in_words(planned, planned.whole)
        sentences.append(f"The largest movement this way that reaches the whole row: {smaller}.")
    return sentences


def _in_words(planned: ShotWalk, part: float) -> str:
    """A part of the movement in words, rounded towards the straight lens, so that it reaches."""
    movement = scaled(planned.movement, part)
    hundredth = math.radians(0.01)
    rounded = {
        key: math.copysign(math.floor(abs(value) / hundredth + 1e-9) * hundredth, value)
        for key, value in (("swing", movement.swing), ("tilt", movement.tilt))
    }
    return movement_in_words(replace(movement, **rounded, rise=0.0, shift=0.0))

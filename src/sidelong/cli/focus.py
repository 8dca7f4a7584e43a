"""`sidelong focus`: the card a photographer needs on the set."""

from __future__ import annotations

import math
import sys
from pathlib import Path
from typing import Any

from sidelong.cli.answer import chosen_shots, json_answer, open_shoot, say, shoot_head, show, table
from sidelong.lens.axis import movement_and_rotation
from sidelong.plan.predict import plan_without_light
from sidelong.plan.values import FocusPlan, PointFocus, ShotPlan
from sidelong.plan.words import blur_in_words, movement_in_words, rotation_in_words
from sidelong.sheet.elevation_view import elevation_of_shot
from sidelong.sheet.plan_view import plan_of_shot
from sidelong.sheet.terminal import terminal_drawing
from sidelong.shoot.values import Shoot, Shot
from sidelong.units import f_mark, metres_in_words


def focus(shoot: Path, /, *, shot: str | None = None, json: bool = False, drawings: bool = True) -> None:
    """How far to swing or tilt and which way, the ring's mark, the stop, and who comes out how sharp.

    Parameters
    ----------
    shoot
        The shoot's folder, or its file.
    shot
        Only this shot, by its id.
    json
        Print one JSON object.
    drawings
        Draw a small plan and elevation under each card; --drawings=no leaves them out.
    """
    opened = open_shoot(shoot)
    answers = []
    for one in chosen_shots(opened, shot):
        planned = plan_without_light(opened, one)
        answers.append(_answer(one, planned.focus))
        if not json:
            _print(opened, one, planned.focus)
            if drawings:
                _draw(planned)
            say("")
    if json:
        json_answer("focus", shoot_head(opened), answers)


def _answer(shot: Shot, planned: FocusPlan) -> dict[str, Any]:
    movement = planned.setting.movement
    angle, rotation = movement_and_rotation(movement.swing, movement.tilt)
    return {
        "id": shot.id,
        "lens": {
            "id": planned.setting.lens.id,
            "swing_deg": math.degrees(movement.swing),
            "tilt_deg": math.degrees(movement.tilt),
            "movement_deg": math.degrees(angle),
            "rotation_deg": math.degrees(rotation),
            "rise_mm": movement.rise * 1e3,
            "shift_mm": movement.shift * 1e3,
            "film_distance_mm": planned.film_distance * 1e3,
            "extension_mm": planned.setting.extension * 1e3,
            "ring_m": planned.ring,
        },
        "focus_on": planned.focus_on,
        "solved": planned.solved,
        "f_number": planned.setting.f_number,
        "f_marked": f_mark(planned.setting.f_number),
        "plane": {"normal": planned.plane_normal, "offset_m": planned.plane_offset},
        "hinge_m": planned.hinge,
        "blur_limit_um": planned.blur_limit * 1e6,
        "bellows_stops": planned.bellows_stops,
        "airy_um": planned.airy * 1e6,
        "pixel_um": planned.pixel * 1e6,
        "points": [_point(p) for p in planned.points],
        "frames_to_take": planned.frames_to_take,
        "bound": {
            "widest_f": planned.widest_f,
            "widest_f_proved": planned.widest_f_proved,
            "soft_least_um": _micro(planned.soft_least),
            "soft_least_proved_um": _micro(planned.soft_least_proved),
        },
        "order": list(planned.order),
    }


def _micro(metres: float | None) -> float | None:
    return None if metres is None else metres * 1e6


def _point(point: PointFocus) -> dict[str, Any]:
    return {
        "name": point.name,
        "kind": point.kind,
        "at_m": point.at,
        "wanted": point.wanted,
        "blur_major_um": _micro(point.blur_major),
        "blur_minor_um": _micro(point.blur_minor),
        "blur_angle_deg": None if point.blur_angle is None else math.degrees(point.blur_angle),
        "blur_at_subject_mm": None if point.blur_at_subject is None else point.blur_at_subject * 1e3,
        "image_mm": None if point.image is None else [v * 1e3 for v in point.image],
        "in_picture": point.in_picture,
        "in_image_circle": point.in_circle,
        "falloff_stops": point.falloff_stops,
        "keep": point.keep,
    }


def _print(shoot: Shoot, shot: Shot, planned: FocusPlan) -> None:
    movement = planned.setting.movement
    ring = metres_in_words(planned.ring or math.inf, shoot.imperial)
    say(f"{shot.id}  {shot.brief}")
    say(f"  {planned.setting.lens.id}: {movement_in_words(movement)}  ({rotation_in_words(movement)})")
    say(f"  ring {ring}, f/{f_mark(planned.setting.f_number)}, focus on {planned.focus_on or 'the aim'}")
    if planned.widest_f is not None:
        say(f"  {_stop_in_words(planned)}")
    say("")
    for number, step in enumerate(planned.order, 1):
        say(f"  {number}. {step}")
    limit = planned.blur_limit
    columns = ("who", "wanted", "comes out", "on the film, µm", "at the eye, mm", "in the picture")
    rows = [_row(p, limit) for p in planned.points]
    show(table("", columns, rows, right=(3, 4)))
    airy, pixel = planned.airy * 1e6, planned.pixel * 1e6
    say(f"  limit {limit * 1e6:.0f} µm; apart from that, diffraction {airy:.0f} µm, one pixel {pixel:.1f} µm")


def _stop_in_words(planned: FocusPlan) -> str:
    needed, chosen, widest = planned.widest_f or 0.0, planned.setting.f_number, planned.setting.lens.widest
    if needed > chosen * (1 + 1e-6):
        return f"the sharp ones would need f/{needed:.2g}: at f/{f_mark(chosen)} one of them is soft"
    if needed <= widest:
        return "the sharp ones stay within the limit even wide open"
    if not planned.solved or planned.widest_f_proved is None:
        return f"the sharp ones need f/{needed:.2g} or smaller"
    return f"no setting of this lens does better than f/{planned.widest_f_proved:.2f}; found f/{needed:.2f}"


def _draw(planned: ShotPlan) -> None:
    unicode = (sys.stdout.encoding or "").lower().startswith("utf")
    for drawn in (plan_of_shot(planned), elevation_of_shot(planned)):
        say(f"\n  {drawn.title}")
        say(terminal_drawing(drawn, unicode=unicode))


def _row(point: PointFocus, limit: float) -> tuple[str, ...]:
    if point.blur_major is None or point.blur_minor is None or point.blur_at_subject is None:
        return (point.name, point.wanted, "behind the camera", "", "", "no")
    size = f"{point.blur_major * 1e6:,.0f} x {point.blur_minor * 1e6:,.0f}"
    place = "yes" if point.in_picture and point.in_circle else "outside the circle" if point.in_picture else "no"
    word = blur_in_words(point.blur_major, limit)
    return (point.name, point.wanted, word, size, f"{point.blur_at_subject * 1e3:.1f}", place)

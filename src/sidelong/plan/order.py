"""What to do on the set, step by step: with a moved lens the order decides whether it works."""

from __future__ import annotations

import math

import numpy as np

from sidelong.frames_of_reference import camera_frame
from sidelong.lens.geometry import geometry_of
from sidelong.lens.response import response
from sidelong.lens.ring import engraved_ring
from sidelong.lens.values import Setting
from sidelong.plan.values import PointFocus
from sidelong.plan.words import movement_to_set, rotation_to_set
from sidelong.shoot.values import Shoot, Shot
from sidelong.units import f_mark, metres_in_words

NEAR = 0.005
"""A plane of focus so near someone's eyes is on them. [m]"""


def order_of_work(
    shoot: Shoot, shot: Shot, setting: Setting, focus_on: str, points: tuple[PointFocus, ...]
) -> tuple[str, ...]:
    """The steps in the order in which they must be done.

    Metering comes first, since a moved lens deceives the camera's meter; refocusing comes after the movement, since
    every movement carries the plane of focus off the subject. Common practice, no source.
    """
    imperial = shoot.imperial
    height = metres_in_words(shot.camera.at[2], imperial)
    moved = abs(setting.movement.swing) + abs(setting.movement.tilt) > 1e-6
    mark = metres_in_words(ring, imperial) if (ring := engraved_ring(setting)) else "infinity"
    named = next((p for p in points if p.name == focus_on), None)
    steps = [
        f"Lens straight{_at_zero(setting)}: meter, and set shutter and ISO by hand.",
        f"Frame with the lens {height} above the floor"
        + (", film upright" if shot.camera.level else "")
        + _held(shot),
    ]
    if moved:
        steps.append(f"{_upper(movement_to_set(setting))} ({rotation_to_set(setting)}).")
    where = where_to_focus(shoot, shot, setting, named)
    steps.append(f"{'Refocus' if moved else 'Focus'} by hand {where}: about {mark} on the ring.")
    steps.append(f"Stop to f/{f_mark(setting.f_number)}.")
    sharp = [p.name for p in points if p.wanted == "sharp" and p.name != focus_on]
    soft = [p.name for p in points if p.wanted == "soft" and p.in_picture]
    checks = ([f"{_listed(sharp)} sharp"] if sharp else []) + ([f"{_listed(soft)} soft"] if soft else [])
    if checks:
        steps.append(f"Check at the magnified view: {', '.join(checks)}.")
    if shot.camera.support != "tripod":
        steps.append("Focus again before every frame: the plane of focus goes where the camera goes.")
    return tuple(steps)


def _held(shot: Shot) -> str:
    """How the framing is kept, by what carries the camera."""
    return {
        "tripod": ", and lock the head.",
        "monopod": ", and keep the monopod's foot where it is.",
        "hand": ", and keep your feet where they are from focusing to the frame.",
    }[shot.camera.support]


def _at_zero(setting: Setting) -> str:
    zero = math.degrees(setting.lens.movement_zero)
    return f" (its scale at {zero:.2f}°)" if abs(zero) >= 0.005 else ""


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def where_to_focus(shoot: Shoot, shot: Shot, setting: Setting, point: PointFocus | None) -> str:
    """On whom the ring is set, ``on Ada's eyes``, or how far in front of or behind them where it is on nobody:
    several who are to be sharp may all lie beside the plane of focus."""
    if point is None:
        return "on the aim"
    whom = f"{point.name}'s eyes" if point.kind == "person" else point.name
    frame = camera_frame(shot.camera.at, shot.camera.aim, shot.camera.level)
    here = frame.to_body(np.array([point.at]))
    at = response(setting, here)
    sight = here[0] - geometry_of(setting).principal
    slope = float(at.where[0] @ sight) / float(np.linalg.norm(sight))
    past = -float(at.signed[0]) / slope if slope else 0.0
    if abs(past) < NEAR or abs(at.signed[0]) < 0.25 * shot.blur_limit:
        return f"on {whom}"
    far = metres_in_words(abs(past), True) if shoot.imperial else f"{abs(past) * 1e3:.0f} mm"
    return f"{far} {'behind' if past > 0 else 'in front of'} {whom}"


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]

"""What would make an impossible focus possible: each way is tried before it is offered."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sidelong.errors import Impossible
from sidelong.frames_of_reference import camera_frame
from sidelong.plan.focus import plan_focus
from sidelong.plan.lenses import obstacle_at
from sidelong.shoot.names import point_of
from sidelong.shoot.values import Shoot, Shot
from sidelong.units import f_mark, f_marks, metres_in_words

STEPS = (0.25, 0.5, 1.0, 1.5, 2.0, 3.0)
"""How far the camera is tried to the side and back. [m]"""
_LEFT_OUT = {f"movement.{key}": None for key in ("swing", "tilt", "movement", "rotation")}


@dataclass(frozen=True)
class WayOut:
    """One way: what to do in `words`, and the same as changes to the shot's keys in the shoot file, None for a key to
    be left out."""

    words: str
    change: dict[str, Any]


def ways_out(shoot: Shoot, shot: Shot, most: int = 4) -> tuple[WayOut, ...]:
    """The ways, least trouble first: a smaller stop, another lens, a step, more blur allowed, fewer sharp.

    Each has been planned and found to work. Empty when none of those tried does.
    """
    found = []
    for trial, way in _trials(shoot, shot):
        if _works(shoot, trial):
            found.append(way)
            if len(found) == most:
                break
    return tuple(_one_of_a_kind(found))


def _works(shoot: Shoot, trial: Shot) -> bool:
    try:
        plan_focus(shoot, trial)
    except Impossible:
        return False
    return True


def _one_of_a_kind(ways: list[WayOut]) -> Iterator[WayOut]:
    seen: set[tuple[str, ...]] = set()
    for way in ways:
        kind = tuple(sorted(way.change))
        if kind not in seen:
            seen.add(kind)
            yield way


def _trials(shoot: Shoot, shot: Shot) -> Iterator[tuple[Shot, WayOut]]:
    yield from _smaller_stops(shot)
    yield from _solved_movement(shot)
    yield from _other_lenses(shoot, shot)
    yield from _steps(shoot, shot)
    yield from _more_blur(shot)
    yield from _fewer(shot)


def _smaller_stops(shot: Shot) -> Iterator[tuple[Shot, WayOut]]:
    if shot.f_number is None:
        return
    for n in f_marks(shot.lens.widest, shot.lens.smallest):
        if n > shot.f_number * 1.001:
            yield replace(shot, f_number=n), WayOut(f"stop down to f/{f_mark(n)}", {"aperture": _mark(n)})


def _mark(f_number: float) -> float:
    return float(f_mark(f_number))


def _solved_movement(shot: Shot) -> Iterator[tuple[Shot, WayOut]]:
    if shot.movement is not None:
        yield replace(shot, movement=None), WayOut("leave the movement out, to be found", _LEFT_OUT)


def _other_lenses(shoot: Shoot, shot: Shot) -> Iterator[tuple[Shot, WayOut]]:
    for lens in sorted(shoot.kit.lenses.values(), key=lambda x: abs(x.focal_length - shot.lens.focal_length)):
        if lens.id != shot.lens.id:
            stop = None if shot.f_number is None else min(max(shot.f_number, lens.widest), lens.smallest)
            yield replace(shot, lens=lens, f_number=stop), WayOut(f"use {lens.id}", {"lens": lens.id})


def _steps(shoot: Shoot, shot: Shot) -> Iterator[tuple[Shot, WayOut]]:
    frame = camera_frame(shot.camera.at, shot.camera.aim, shot.camera.level)
    level = frame.forward * np.array([1.0, 1.0, 0.0])
    back = -level / np.linalg.norm(level)
    subject = np.array(point_of(shoot, shot.sharp[0])) if shot.sharp else np.array(shot.camera.aim)
    for step in STEPS:
        for way, words in ((back, "back"), (-frame.right, "to the left"), (frame.right, "to the right")):
            at = np.array(shot.camera.at) + step * way
            stand = (float(at[0]), float(at[1]), float(at[2]))
            if obstacle_at(shoot, stand, subject):
                continue
            said = f"step the camera {metres_in_words(step, shoot.imperial)} {words}"
            change = {"camera.at": [round(v, 4) for v in stand]}
            yield replace(shot, camera=replace(shot.camera, at=stand)), WayOut(said, change)


def _more_blur(shot: Shot) -> Iterator[tuple[Shot, WayOut]]:
    for factor in (1.25, 1.5, 2.0, 3.0, 4.0, 6.0, 10.0):
        limit = shot.blur_limit * factor
        said = f"allow {limit * 1e6:.0f} micrometres of blur"
        yield replace(shot, blur_limit=limit), WayOut(said, {"blur_limit": round(limit * 1e6, 3)})


def _fewer(shot: Shot) -> Iterator[tuple[Shot, WayOut]]:
    for name in reversed(shot.sharp) if len(shot.sharp) > 1 else ():
        rest = tuple(n for n in shot.sharp if n != name)
        focus_on = shot.focus_on if shot.focus_stated else rest[0]
        yield replace(shot, sharp=rest, focus_on=focus_on), WayOut(f"let {name} go soft", {"sharp": list(rest)})

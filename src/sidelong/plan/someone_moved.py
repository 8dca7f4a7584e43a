"""Where one of those who shall be sharp might go, so that a shot that cannot be had can."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import Impossible
from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.response import response, room
from sidelong.people.values import Person
from sidelong.place.containment import inside_block, inside_wall
from sidelong.plan.focus import check_focus, plan_focus_live
from sidelong.plan.values import FocusPlan
from sidelong.shoot.names import point_of
from sidelong.shoot.values import Shoot, Shot
from sidelong.units import metres_in_words

Points = NDArray[np.float64]

FURTHEST = 2.0
"""Nobody is asked to go further. [m]"""
KEPT_IN = 0.8
"""Part of the blur limit within which the one who moves comes to lie. [-]"""


@dataclass(frozen=True)
class Moved:
    """`name` goes to `to` on the floor, place frame [m]; in `words` how far and which way, seen from the camera."""

    name: str
    to: tuple[float, float]
    words: str


def someone_moved(shoot: Shoot, shot: Shot) -> Moved | None:
    """The shortest way one of those who shall be sharp may go so that all can be sharp; None where nobody's helps.

    For each of them the others are brought together by the lens, and the one goes square to the plane of focus along
    the floor until within the limit; it is then planned with everybody.
    """
    if shot.movement is not None or len(shot.sharp) < 2:
        return None
    found: list[tuple[float, Moved]] = []
    for person in shoot.people:
        if person.name in shot.sharp:
            way = _way_of(shoot, shot, person)
            if way is not None:
                found.append(way)
    return min(found, key=lambda way: way[0])[1] if found else None


def _way_of(shoot: Shoot, shot: Shot, person: Person) -> tuple[float, Moved] | None:
    rest = tuple(name for name in shot.sharp if name != person.name)
    try:
        others = plan_focus_live(shoot, replace(shot, sharp=rest, focus_on=rest[0], focus_stated=False))
    except Impossible:
        return None
    step = _step(shoot, shot, person, others)
    if step is None:
        return None
    at = person.at
    to = (round(at[0] + float(step[0]), 2), round(at[1] + float(step[1]), 2))
    if inside_wall(shoot.place, (*to, at[2] + 0.5)) or inside_block(shoot.place, (*to, at[2] + 0.5)):
        return None
    moved = replace(person, at=(*to, at[2]))
    trial = replace(shoot, people=tuple(moved if p.name == person.name else p for p in shoot.people))
    try:
        check_focus(trial, shot)
    except Impossible:
        return None
    words = f"{person.name} {_in_words(shoot, others, np.array(to) - np.array(at[:2]))}"
    return math.dist(to, at[:2]), Moved(person.name, to, words)


def _step(shoot: Shoot, shot: Shot, person: Person, others: FocusPlan) -> Points | None:
    """Along the floor, square to the plane of focus, until within the limit: (2,), place frame. [m]"""
    frame, setting = others.frame, others.setting
    here = np.array(point_of(shoot, person.name))
    at = response(setting, frame.to_body(here)[None])
    slope = frame.direction_to_place(at.where[0])[:2]
    steep = float(np.hypot(*slope))
    if steep < 1e-9 or not np.all(np.isfinite(slope)):
        return None
    way = -np.sign(at.signed[0]) * slope / steep
    glass = geometry_of(setting)

    def too_soft(far: float) -> float:
        """Above nought while the blur is over what is kept in, seen from the far end."""
        spot = here + np.array([*(way * far), 0.0])
        return -float(blur(glass, frame.to_body(spot)[None]).major[0])

    needed = room(too_soft, -KEPT_IN * shot.blur_limit, FURTHEST)
    return None if needed >= FURTHEST else way * (needed + 0.005)


def _in_words(shoot: Shoot, focus: FocusPlan, step: Points) -> str:
    """``0.30 m nearer to the camera and 0.10 m to the left``, as the camera sees it."""
    forward, right = focus.frame.forward[:2], focus.frame.right[:2]
    away = float(step @ forward) / float(np.hypot(*forward))
    aside = float(step @ right)
    parts = []
    if abs(away) >= 0.01:
        parts.append(f"{metres_in_words(abs(away), shoot.imperial)} {'back' if away > 0 else 'nearer to the camera'}")
    if abs(aside) >= 0.01:
        parts.append(f"{metres_in_words(abs(aside), shoot.imperial)} to the {'right' if aside > 0 else 'left'}")
    return " and ".join(parts) or "a hair"

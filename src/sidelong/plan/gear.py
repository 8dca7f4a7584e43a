"""What stands in a place to make a shot's light, as it would be seen: heads and fronts, stands, panels, frames.

The tracer knows a light by its front alone; here it has a back, a head and a stand, of usual sizes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.geometry.builders import joined, tube
from sidelong.geometry.mesh import Mesh
from sidelong.light.patterns import front_outline, is_ball
from sidelong.light.values import Emitter
from sidelong.place.cells import ground_level
from sidelong.place.containment import room_at
from sidelong.place.values import Place
from sidelong.trace.stand_ins import emitter_mesh, panel_mesh
from sidelong.trace.values import Sheet, Stage

Array = NDArray[np.float64]

DEPTH, DEEPEST = 0.5, 0.4
"""Depth of what is before a head: so much of its smaller side, and at most so many metres. Common practice."""
HEAD_LENGTH, HEAD_RADIUS = 0.25, 0.06
"""A head behind its front. Common practice, no source. [m]"""
POLE_RADIUS, LEG_REACH, LEG_HEIGHT = 0.016, 0.5, 0.45
"""A stand: its pole, how far its legs reach and where they leave it. Common practice, no source. [m]"""
LOW = 0.35
"""What stands lower than this lies on the floor and has no stand; our own figure. [m]"""


@dataclass(frozen=True)
class Gear:
    """A thing that was brought: `kind` "light" (front and head), "stand", "panel" or "frame"; `name` of the light or
    sheet that it is or carries. Place frame [m]."""

    name: str
    kind: str
    mesh: Mesh


def gear_of(stage: Stage, panels: int, frames: int) -> tuple[Gear, ...]:
    """All that stands in a stage for its light. Of its sheets the first are `panels`, then come `frames`; the others
    hang in openings and do not count."""
    found: list[Gear] = []
    for emitter in {e.name: e for e in stage.emitters}.values():
        body, middle = _light(emitter)
        found.append(Gear(emitter.name, "light", body))
        found += _stand(stage.place, emitter.name, middle, np.array(emitter.axis))
    for number, sheet in enumerate(stage.sheets[: panels + frames]):
        found.append(Gear(sheet.name, "panel" if number < panels else "frame", sheet_mesh(sheet)))
        found += _stand(stage.place, sheet.name, np.array(sheet.at), np.array(sheet.axis))
    return tuple(found)


def sheet_mesh(sheet: Sheet) -> Mesh:
    """A panel or frame as it stands. [m]"""
    return panel_mesh(np.array(sheet.at), np.array(sheet.axis), np.array(sheet.up), sheet.size)


def _light(emitter: Emitter) -> tuple[Mesh, Array]:
    """A light's front, what holds it, its head, and where the stand takes hold of it. [m]"""
    at, axis = np.array(emitter.at), np.array(emitter.axis)
    parts = [replace(emitter_mesh(emitter), smooth=False)]
    back = at - 0.03 * axis
    if not is_ball(emitter):
        outline = front_outline(emitter)
        outline = outline[:: max(1, len(outline) // 16)]
        back = at - min(DEPTH * min(emitter.size), DEEPEST) * axis
        n = len(outline)
        here = np.arange(n)
        parts.append(Mesh(np.vstack([outline, back]), np.stack([(here + 1) % n, here, np.full(n, n)], axis=1)))
    end = back - HEAD_LENGTH * axis
    parts.append(tube(np.stack([back, end]), HEAD_RADIUS, smooth=False))
    return joined(parts), np.asarray((back + end) / 2)


def _stand(place: Place, name: str, top: Array, axis: Array) -> list[Gear]:
    """Pole and three legs under a point, one leg under the way that what it carries faces; none near the floor."""
    room = room_at(place, top)
    floor = room.at[2] if room is not None else ground_level(place)
    if top[2] - floor < LOW:
        return []
    foot = np.array([top[0], top[1], floor])
    parts = [tube(np.stack([foot, top]), POLE_RADIUS, smooth=False)]
    knee = np.array([foot[0], foot[1], floor + min(LEG_HEIGHT, 0.8 * (top[2] - floor))])
    turn = math.atan2(axis[1], axis[0]) if math.hypot(axis[0], axis[1]) > 1e-6 else 0.0
    for k in range(3):
        angle = turn + k * 2 * math.pi / 3
        end = foot + LEG_REACH * np.array([math.cos(angle), math.sin(angle), 0.0]) + [0.0, 0.0, POLE_RADIUS]
        parts.append(tube(np.stack([knee, end]), 0.6 * POLE_RADIUS, smooth=False))
    return [Gear(name, "stand", joined(parts))]

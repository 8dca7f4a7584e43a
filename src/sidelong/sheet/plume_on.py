"""A plume of haze on the plan: its machine, its drift, and the outline within which it is half as dense as in its
middle at least."""

from __future__ import annotations

import math

import numpy as np

from sidelong.geometry.polygons import clipped
from sidelong.light.plume import half_strength
from sidelong.place.containment import room_at
from sidelong.place.values import Place
from sidelong.sheet.drawing import Arrow, Polygon, Shape, Text, rectangle
from sidelong.sheet.walls import room_box

_MACHINE = 0.12
"""Half the side of the machine as it is drawn. [m]"""
_STEPS = 12


def plume_on(place: Place) -> list[Shape]:
    """Machine, drift and outline of a place's plume, cut off at the walls of the machine's room; nothing without one.

    The outline runs where the haze is half as dense as on the axis at that distance. Seen from above. [m]
    """
    plume = place.air.plume
    if plume is None:
        return []
    start, end = np.array(plume.at[:2], float), np.array(plume.to[:2], float)
    length = math.dist(plume.at, plume.to)
    x, y = plume.at[:2]
    machine: list[Shape] = [
        rectangle(x - _MACHINE, y - _MACHINE, x + _MACHINE, y + _MACHINE, "light"),
        Text((x, y), "haze machine", "light", clear=_MACHINE + 0.03),
    ]
    on_plan = float(np.linalg.norm(end - start))
    if on_plan < 1e-3:
        return machine
    along = (end - start) / on_plan
    side = np.array([-along[1], along[0]])
    shares = np.linspace(0.0, 1.0, _STEPS + 1)
    wide = np.array([half_strength(plume, share * length) for share in shares])
    middle = start + shares[:, None] * (end - start)
    outline = np.concatenate([middle + wide[:, None] * side, (middle - wide[:, None] * side)[::-1]])
    room = room_at(place, plume.at)
    if room is not None:
        left, bottom, right, top = room_box(room)
        outline = clipped(outline, np.array([left, bottom]), np.array([right, top]))
    if len(outline) < 3:
        return machine
    tip = start + min(0.6 * on_plan, 1.5) * along
    return [
        Polygon(tuple((float(u), float(v)) for u, v in outline), "plume"),
        Arrow((float(x), float(y)), (float(tip[0]), float(tip[1])), "plume"),
        *machine,
    ]

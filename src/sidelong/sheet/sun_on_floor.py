"""Where the sun falls on the floor through the openings, as outlines for the plan."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sidelong.geometry.polygons import convex_clipped, polygon_area
from sidelong.place.values import Opening, Place, Room, Vector
from sidelong.sheet.drawing import Point

Points = NDArray[np.float64]


def sun_on_floor(place: Place, to_sun: Vector) -> tuple[tuple[Point, ...], ...]:
    """Outlines of the sun's patches on the floors of all rooms, other things in its way left out of account. [m]

    `to_sun` unit vector, place frame, its z > 0. Method: the opening's outline on the wall's inner and outer face
    is carried along the sun's rays to the floor; the patch is what both leave, cut by the floor's edges.
    """
    sun = np.array(to_sun, float)
    patches = []
    for room in place.rooms:
        for opening in room.openings:
            inward = _INWARD.get(opening.wall)
            if inward is None or float(sun @ inward) >= -1e-9:
                continue
            patch = _on_floor(_face(room, opening, 0.0), sun, room.at[2])
            patch = _clip(patch, _on_floor(_face(room, opening, room.thickness), sun, room.at[2]))
            patch = _clip(patch, _floor(room))
            if len(patch) >= 3:
                patches.append(tuple((float(x), float(y)) for x, y in patch))
    return tuple(patches)


_INWARD = {
    "left": np.array([1.0, 0, 0]),
    "right": np.array([-1.0, 0, 0]),
    "near": np.array([0, 1.0, 0]),
    "far": np.array([0, -1.0, 0]),
}


def _face(room: Room, opening: Opening, out: float) -> Points:
    """Corners (4, 3) of the opening on the wall's inner face moved `out` metres outwards."""
    inward = _INWARD[opening.wall]
    level = opening.wall in ("near", "far")
    along = np.array([1.0, 0, 0]) if level else np.array([0, 1.0, 0])
    start = np.array(room.at) + (np.array(room.size) * -inward).clip(0) * np.array([1, 1, 0])
    ends = [start + along * (opening.along + e * opening.width) - inward * out for e in (0, 1)]
    low, high = (np.array([0, 0, opening.sill + e * opening.height]) for e in (0, 1))
    return np.stack([ends[0] + low, ends[1] + low, ends[1] + high, ends[0] + high])


def _on_floor(corners: Points, sun: Points, floor: float) -> Points:
    drop = (corners[:, 2] - floor) / sun[2]
    return np.asarray((corners - drop[:, None] * sun)[:, :2])


def _floor(room: Room) -> Points:
    x0, y0, x1, y1 = room.at[0], room.at[1], room.at[0] + room.size[0], room.at[1] + room.size[1]
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def _clip(subject: Points, window: Points) -> Points:
    return convex_clipped(subject, window if polygon_area(window) > 0 else window[::-1])

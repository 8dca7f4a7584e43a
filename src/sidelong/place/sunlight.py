"""Where the sun reaches: which points, which openings, and where its patches fall on the floor."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.geometry.polygons import clipped, polygon_area
from sidelong.place.cells import WALLS, opening_box, room_box, tunnel_depth
from sidelong.place.containment import blocked
from sidelong.place.values import Opening, Place, Room

Points = NDArray[np.float64]
FAR = 500.0
"""How far a line towards the sun is followed. [m]"""


def reached(place: Place, points: ArrayLike, directions: ArrayLike) -> NDArray[np.bool_]:
    """Whether each point sees each direction free of masonry and blocks.

    Parameters
    ----------
    place : Place
    points : (N, 3) float array, place frame
        [m]
    directions : (M, 3) float array, place frame
        Towards the sun, of any length; one that points under the horizon reaches nobody. [-]

    Returns
    -------
    (N, M) bool array
        Openings and panes let the sun pass, covers hung in them too.
    """
    p, d = np.asarray(points, float).reshape(-1, 3), np.asarray(directions, float).reshape(-1, 3)
    d = d / np.linalg.norm(d, axis=1, keepdims=True)
    up = d[:, 2] > 0
    free = ~blocked(place, p[:, None, :], p[:, None, :] + FAR * d[None])
    return np.asarray(free & up)


def opening_samples(place: Place, room: Room, opening: Opening, across: int = 9) -> Points:
    """A grid of points over an opening's inner face, a hair inside the room. (across^2, 3) [m]"""
    axis, side = WALLS[opening.wall]
    box = opening_box(room, opening)
    first, second = (k for k in range(3) if k != axis)
    steps = (np.arange(across) + 0.5) / across
    u, v = np.meshgrid(steps, steps, indexing="ij")
    points = np.empty((across * across, 3))
    points[:, axis] = box[0, axis] - side * 1e-4
    points[:, first] = box[0, first] + u.ravel() * (box[1, first] - box[0, first])
    points[:, second] = box[0, second] + v.ravel() * (box[1, second] - box[0, second])
    return points


def sun_through(place: Place, room: Room, opening: Opening, directions: ArrayLike) -> NDArray[np.float64]:
    """Fraction of an opening's inner face that the sun shines through into the room, per direction (M, 3). (M,) [-]

    Zero when the sun stands on the room's side of the wall. Reveals, other buildings and blocks shade it.
    """
    axis, side = WALLS[opening.wall]
    d = np.asarray(directions, float).reshape(-1, 3)
    lit = reached(place, opening_samples(place, room, opening), d).mean(axis=0)
    return np.where(d[:, axis] * side > 1e-9, lit, 0.0)


def sun_patches(place: Place, to_sun: ArrayLike) -> tuple[tuple[str, Points], ...]:
    """Where the sun through each opening falls on the floor of its room.

    Parameters
    ----------
    place : Place
    to_sun : (3,) float array, place frame
        Towards the sun, any length. [-]

    Returns
    -------
    tuple of (opening's name, (K, 2) float array)
        Convex polygons in the plan, anticlockwise [m], for the openings that give one; in the order of the place.

    Method
    ------
    A ray passes a wall of thickness w when it is inside the hole on both its faces: the hole's outer face, moved
    along the sun's rays to the inner plane, clipped by the hole, projected on the floor, clipped by the room.
    Blocks and people are not looked at; the sun's half a degree of width is left out.
    """
    sun = np.asarray(to_sun, float)
    if sun[2] <= 1e-6:
        return ()
    sun = sun / np.linalg.norm(sun)
    found = []
    for room in place.rooms:
        for opening in room.openings:
            patch = _patch(place, room, opening, sun)
            if len(patch) >= 3:
                found.append((opening.name, patch))
    return tuple(found)


def _patch(place: Place, room: Room, opening: Opening, sun: Points) -> Points:
    axis, side = WALLS[opening.wall]
    nothing = np.zeros((0, 2))
    if opening.wall == "floor" or sun[axis] * side <= 1e-9:
        return nothing
    depth = tunnel_depth(place, room, opening)
    hole = opening_box(room, opening)
    face = hole[0, axis]
    first, second = (k for k in range(3) if k != axis)
    slide = -sun[[first, second]] * depth / abs(sun[axis])
    low, high = hole[0, [first, second]], hole[1, [first, second]]
    outer = np.array([[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]])
    through = clipped(outer + slide, low, high)
    if len(through) < 3:
        return nothing
    corners = np.empty((len(through), 3))
    corners[:, axis], corners[:, [first, second]] = face, through
    inner = room_box(room)
    corners = corners[corners[:, 2] >= inner[0, 2] - 1e-9]
    floor = corners[:, :2] - sun[:2] * ((corners[:, 2] - inner[0, 2]) / sun[2])[:, None]
    patch = clipped(floor, inner[0, :2], inner[1, :2])
    if len(patch) < 3:
        return nothing
    middle = np.append(patch.mean(axis=0), inner[0, 2] + 1e-3)
    walls = Place(rooms=place.rooms)
    if blocked(walls, middle[None], (middle + FAR * sun)[None])[0]:
        return nothing  # another building stands before it
    return patch if polygon_area(patch) > 0 else patch[::-1]

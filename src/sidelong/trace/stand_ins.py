"""The shapes that lights, panels and openings have in the scene."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.geometry.mesh import Mesh
from sidelong.light.patterns import front_outline, is_ball
from sidelong.light.values import Emitter
from sidelong.place.values import Place, Room

Points = NDArray[np.float64]

OCTAGON_TURN = math.pi / 8
"""Angle of an octagon's first corner: it stands on a flat side. [rad]"""
OCTAGON_UNIT = 0.5 / math.cos(math.pi / 8)
"""Circumradius of an octagon that measures 1 across its flats."""


def emitter_mesh(emitter: Emitter) -> Mesh:
    """The body of a light: its flat front, facing along its axis, or a ball. [m]"""
    if is_ball(emitter):
        return ball(np.array(emitter.at, float), emitter.size[0] / 2)
    vertices = front_outline(emitter)
    if emitter.hole > 0:
        return _ring(vertices, front_outline(deflector(emitter)))
    return Mesh(vertices, np.array([[0, i, i + 1] for i in range(1, len(vertices) - 1)], np.int64))


def deflector(emitter: Emitter) -> Emitter:
    """The dark middle of a disc, as a disc."""
    return replace(emitter, size=(emitter.size[0] * emitter.hole, emitter.size[1] * emitter.hole), hole=0.0)


def _ring(outer: Points, inner: Points) -> Mesh:
    n = len(outer)
    here, there = np.arange(n), (np.arange(n) + 1) % n
    faces = [np.stack(corners, axis=1) for corners in ((here, there, n + there), (here, n + there, n + here))]
    return Mesh(np.concatenate([outer, inner]), np.concatenate(faces))


def panel_mesh(at: Points, axis: Points, up: Points, size: tuple[float, float]) -> Mesh:
    """A flat rectangle facing along `axis`, `size` = (width, height) [m]."""
    z = np.asarray(axis, float) / np.linalg.norm(axis)
    y = np.asarray(up, float) - z * (np.asarray(up, float) @ z)
    y = y / np.linalg.norm(y)
    x = np.cross(y, z)
    corners = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]]) * np.array(size)
    vertices = np.asarray(at, float) + corners[:, :1] * x + corners[:, 1:] * y
    return Mesh(vertices, np.array([[0, 1, 2], [0, 2, 3]], np.int64))


def ball(centre: Points, radius: float, divided: int = 2) -> Mesh:
    """An icosahedron whose faces were `divided` in four so often, with the ball's surface and mean cross section."""
    g = (1 + math.sqrt(5)) / 2
    points = [[-1, g, 0], [1, g, 0], [-1, -g, 0], [1, -g, 0], [0, -1, g], [0, 1, g], [0, -1, -g], [0, 1, -g],
              [g, 0, -1], [g, 0, 1], [-g, 0, -1], [-g, 0, 1]]  # fmt: skip
    faces = [[0, 11, 5], [0, 5, 1], [0, 1, 7], [0, 7, 10], [0, 10, 11], [1, 5, 9], [5, 11, 4], [11, 10, 2],
             [10, 7, 6], [7, 1, 8], [3, 9, 4], [3, 4, 2], [3, 2, 6], [3, 6, 8], [3, 8, 9], [4, 9, 5],
             [2, 4, 11], [6, 2, 10], [8, 6, 7], [9, 8, 1]]  # fmt: skip
    triangles = np.array(points, float)[np.array(faces)]
    for _ in range(divided):
        a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
        ab, bc, ca = a + b, b + c, c + a
        quarters = [(a, ab / 2, ca / 2), (ab / 2, b, bc / 2), (ca / 2, bc / 2, c), (ab / 2, bc / 2, ca / 2)]
        triangles = np.concatenate([np.stack(q, axis=1) for q in quarters])
        triangles /= np.linalg.norm(triangles, axis=2, keepdims=True)
    # a convex body's mean cross section is a quarter of its surface
    edges = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    scale = radius * math.sqrt(4 * math.pi / (0.5 * np.linalg.norm(edges, axis=1).sum()))
    vertices = triangles.reshape(-1, 3) * scale + centre
    return Mesh(vertices, np.arange(len(vertices)).reshape(-1, 3))


@dataclass(frozen=True)
class Portal:
    """A rectangle through which daylight comes in: `corner` (3,) and two sides (3,), place frame [m]; `normal` (3,)
    points out of the room [-]."""

    corner: Points
    across: Points
    up: Points
    normal: Points

    @property
    def area(self) -> float:
        """[m2]"""
        return float(np.linalg.norm(np.cross(self.across, self.up)))


def portals(place: Place) -> tuple[Portal, ...]:
    """Every opening of every room, on the inner side of its wall."""
    return tuple(p for room in place.rooms for p in _room_portals(room))


def _room_portals(room: Room) -> list[Portal]:
    x, y, z = np.eye(3)
    corner, size = np.array(room.at, float), np.array(room.size, float)
    found = []
    for o in room.openings:
        along, rise = (y, z) if o.wall in ("left", "right") else (x, z) if o.wall in ("near", "far") else (x, y)
        out = {"right": x, "far": y, "ceiling": z, "left": -x, "near": -y, "floor": -z}[o.wall]
        start = corner + along * o.along + rise * o.sill + np.maximum(out, 0.0) * size
        found.append(Portal(start, along * o.width, rise * o.height, out))
    return found

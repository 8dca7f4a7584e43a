"""Meshes built from sizes and lines: boxes, tubes, lofts, spheres, sheets. All anticlockwise seen from outside."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.geometry.mesh import Mesh

Points = NDArray[np.float64]

_BOX_CORNERS = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], float)
_BOX_FACES = np.array(
    [[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
     [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]]
)  # fmt: skip


def box(low: ArrayLike, high: ArrayLike) -> Mesh:
    """The box between two corners (3,), its sides along the axes: 12 triangles facing out. [m]"""
    a, b = np.asarray(low, float), np.asarray(high, float)
    return Mesh(a + _BOX_CORNERS * (b - a), _BOX_FACES.copy())


def beam_between(start: ArrayLike, end: ArrayLike, width: float, depth: float) -> Mesh:
    """A rectangular bar from `start` to `end` (3,), `width` across in the plan and `depth` the other way. [m]"""
    a, b = np.asarray(start, float), np.asarray(end, float)
    along = b - a
    length = float(np.linalg.norm(along))
    side, up = _across(along / length)
    frame = np.stack([side, along / length, up], axis=1)
    bar = box([-width / 2, 0, -depth / 2], [width / 2, length, depth / 2])
    return bar.moved(frame, a)


def rectangle(corner: ArrayLike, edge_u: ArrayLike, edge_v: ArrayLike) -> Mesh:
    """A rectangle at `corner` with two edges (3,); it faces along u cross v. [m]"""
    c, u, v = np.asarray(corner, float), np.asarray(edge_u, float), np.asarray(edge_v, float)
    return Mesh(np.stack([c, c + u, c + u + v, c + v]), np.array([[0, 1, 2], [0, 2, 3]]))


def sheet(grid: ArrayLike, smooth: bool = True) -> Mesh:
    """A surface through a grid of points (R, C, 3): two triangles a cell, facing along column cross row. [m]"""
    points = np.asarray(grid, float)
    rows, columns = points.shape[:2]
    return Mesh(points.reshape(-1, 3), _grid_faces(rows, columns, closed=False), smooth)


def loft(rings: ArrayLike, caps: bool = True, smooth: bool = True) -> Mesh:
    """A skin over closed rings (R, C, 3), each anticlockwise seen from the end of the loft; ends closed by fans. [m]

    Caps have vertices of their own, so that a smooth skin keeps its rim.
    """
    points = np.asarray(rings, float)
    rows, columns = points.shape[:2]
    vertices, faces = [points.reshape(-1, 3)], [_grid_faces(rows, columns, closed=True)]
    if caps:
        for ring, turn in ((points[0], -1), (points[-1], 1)):
            start = sum(len(v) for v in vertices)
            vertices.append(np.vstack([ring, ring.mean(axis=0)]))
            here = np.arange(columns)
            fan = np.stack([here, (here + 1) % columns, np.full(columns, columns)], axis=1)[:, ::turn]
            faces.append(fan + start)
    return Mesh(np.vstack(vertices), np.vstack(faces), smooth)


def tube(line: ArrayLike, radius: float | ArrayLike, sides: int = 8, caps: bool = True, smooth: bool = True) -> Mesh:
    """A round tube along a line of points (N, 3), of one radius or one at each point. [m]"""
    points = np.asarray(line, float)
    radii = np.broadcast_to(np.asarray(radius, float), len(points))
    tangents = np.gradient(points, axis=0)
    tangents /= np.maximum(np.linalg.norm(tangents, axis=1, keepdims=True), 1e-12)
    side, up = _carried(tangents)
    angle = np.linspace(0, 2 * np.pi, sides, endpoint=False)
    circle = np.cos(angle)[None, :, None] * side[:, None, :] + np.sin(angle)[None, :, None] * up[:, None, :]
    return loft(points[:, None, :] + radii[:, None, None] * circle, caps=caps, smooth=smooth)


def strands(starts: ArrayLike, ends: ArrayLike, radius: float) -> Mesh:
    """Many thin threads at once: a three-sided prism from each start (N, 3) to its end (N, 3). [m]"""
    a, b = np.asarray(starts, float), np.asarray(ends, float)
    along = b - a
    along = along / np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-12)
    side, up = _across(along)
    angle = np.array([0, 2, 4]) * np.pi / 3
    circle = np.cos(angle)[:, None] * side[:, None, :] - np.sin(angle)[:, None] * up[:, None, :]
    vertices = np.concatenate([a[:, None] + radius * circle, b[:, None] + radius * circle], axis=1)
    pattern = np.array([[0, 1, 4], [0, 4, 3], [1, 2, 5], [1, 5, 4], [2, 0, 3], [2, 3, 5]])
    faces = pattern[None] + 6 * np.arange(len(a))[:, None, None]
    return Mesh(vertices.reshape(-1, 3), faces.reshape(-1, 3), smooth=True)


def ellipsoid(centre: ArrayLike, radii: ArrayLike, rings: int = 12, sides: int = 18) -> Mesh:
    """An ellipsoid with its half axes (3,) along the frame's axes. [m]"""
    polar = np.linspace(np.pi, 0, rings + 1)[1:-1]
    around = np.linspace(0, 2 * np.pi, sides, endpoint=False)
    ring = np.stack(
        [
            np.sin(polar)[:, None] * np.cos(around),
            np.sin(polar)[:, None] * np.sin(around),
            np.broadcast_to(np.cos(polar)[:, None], (len(polar), sides)),
        ],
        axis=-1,
    )
    poles = np.array([[0, 0, -1.0], [0, 0, 1.0]])
    here, last = np.arange(sides), (len(polar) - 1) * sides
    south, north = len(polar) * sides, len(polar) * sides + 1
    faces = np.vstack(
        [
            _grid_faces(len(polar), sides, closed=True),
            np.stack([(here + 1) % sides, here, np.full(sides, south)], axis=1),
            np.stack([last + here, last + (here + 1) % sides, np.full(sides, north)], axis=1),
        ]
    )
    unit = np.vstack([ring.reshape(-1, 3), poles])
    return Mesh(np.asarray(centre, float) + unit * np.asarray(radii, float), faces, smooth=True)


def turned(profile: ArrayLike, sides: int = 20, smooth: bool = True) -> Mesh:
    """A body turned about z from a profile (N, 2) of radius and height, from the bottom up, ends closed. [m]"""
    line = np.asarray(profile, float)
    around = np.linspace(0, 2 * np.pi, sides, endpoint=False)
    rings = np.stack(
        [
            line[:, :1] * np.cos(around),
            line[:, :1] * np.sin(around),
            np.broadcast_to(line[:, 1:], (len(line), sides)),
        ],
        axis=-1,
    )
    return loft(rings, smooth=smooth)


def joined(meshes: Sequence[Mesh]) -> Mesh:
    """One mesh out of several; smooth if any of them is."""
    if not meshes:
        return Mesh(np.zeros((0, 3)), np.zeros((0, 3), np.int64))
    starts = np.cumsum([0] + [len(m.vertices) for m in meshes[:-1]])
    return Mesh(
        np.vstack([m.vertices for m in meshes]),
        np.vstack([m.faces + start for m, start in zip(meshes, starts, strict=True)]),
        any(m.smooth for m in meshes),
    )


def area(mesh: Mesh) -> float:
    """Sum of the triangles' areas. [m2]"""
    a, b, c = (mesh.vertices[mesh.faces[:, k]] for k in range(3))
    return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)


def volume(mesh: Mesh) -> float:
    """What a closed mesh holds, positive when its faces point out (the divergence theorem). [m3]"""
    a, b, c = (mesh.vertices[mesh.faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def is_closed(mesh: Mesh, tolerance: float = 1e-9) -> bool:
    """Whether every edge is shared by two faces that run through it in opposite senses (vertices welded first)."""
    _, index = np.unique(np.round(mesh.vertices / tolerance), axis=0, return_inverse=True)
    faces = index.reshape(-1)[mesh.faces]
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    edges = edges[edges[:, 0] != edges[:, 1]]
    forth, forth_count = np.unique(edges, axis=0, return_counts=True)
    back, back_count = np.unique(edges[:, ::-1], axis=0, return_counts=True)
    return forth.shape == back.shape and bool((forth == back).all() and (forth_count == back_count).all())


def _grid_faces(rows: int, columns: int, closed: bool) -> NDArray[np.int64]:
    across = columns if closed else columns - 1
    row, column = np.meshgrid(np.arange(rows - 1), np.arange(across), indexing="ij")
    here, beside = row * columns + column, row * columns + (column + 1) % columns
    first = np.stack([here, beside, beside + columns], axis=-1).reshape(-1, 3)
    second = np.stack([here, beside + columns, here + columns], axis=-1).reshape(-1, 3)
    return np.concatenate([first, second])


def _across(direction: Points) -> tuple[Points, Points]:
    """Two unit vectors square to unit directions (..., 3): one level where it can be, and the one upright to it."""
    level = np.stack([direction[..., 1], -direction[..., 0], np.zeros_like(direction[..., 0])], axis=-1)
    upright = np.linalg.norm(level, axis=-1, keepdims=True) < 1e-6
    level = np.where(upright, np.array([1.0, 0.0, 0.0]), level)
    side = level / np.linalg.norm(level, axis=-1, keepdims=True)
    return side, np.cross(side, direction)


def _carried(tangents: Points) -> tuple[Points, Points]:
    """Side vectors carried along a line with the least turning, and the ones square to them (N, 3)."""
    side, _ = _across(tangents[0])
    sides = np.empty_like(tangents)
    for k, tangent in enumerate(tangents):
        side = side - tangent * (side @ tangent)
        side = side / max(float(np.linalg.norm(side)), 1e-12)
        sides[k] = side
    return sides, np.cross(tangents, sides)

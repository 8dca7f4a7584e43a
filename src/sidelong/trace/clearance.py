"""Where a meter is held that is to be read at a surface: just in front of it, on the side of whoever looks at it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sidelong.light.values import Vector
from sidelong.trace.scene import NOBODY, Tables

Array = NDArray[np.float64]

TOUCHING = 1e-3
"""A point so near to a surface counts as lying in it. [m]"""
IN_FRONT = 2e-3
"""How far in front of its surface such a point is read. [m]"""
_ALIKE = 0.9
"""Cosine between the normals of faces that count as one surface."""


def in_front(solids: Tables, at: Vector, eye: Vector) -> Vector:
    """The point itself in free air; one that lies in a surface, IN_FRONT of it on the side that `eye` is on.

    In a corner it is in front of every surface that it touches; at a thin sheet, of the face towards the eye. Bodies
    of lights do not count. `at`, `eye` and the answer in the place frame. [m]
    """
    point, towards = np.array(at, float), np.array(eye, float)
    near, normals, corner = _touched(solids, point)
    if not len(near):
        return at
    side = np.where(np.sum(normals * (towards - corner), axis=1) < 0, -1.0, 1.0)
    normals = normals * side[:, None]
    lacking = IN_FRONT - np.sum(normals * (point - corner), axis=1)
    kept: list[int] = []
    for k in np.argsort(-lacking, kind="stable"):
        if all(normals[k] @ normals[other] < _ALIKE for other in kept):
            kept.append(int(k))
    # the least move that brings it so far in front of each: none along the surfaces
    move = np.linalg.lstsq(normals[kept], lacking[kept], rcond=1e-3)[0]
    x, y, z = point + move
    return float(x), float(y), float(z)


def _touched(solids: Tables, point: Array) -> tuple[NDArray[np.int64], Array, Array]:
    """Faces within TOUCHING of a point (3,): their numbers (K,), unit normals (K, 3) and first corners (K, 3)."""
    everything = np.flatnonzero(solids.light == NOBODY)
    first = solids.vertices[solids.faces[everything, 0]].astype(float)
    normals = solids.facing[everything].astype(float)
    height = np.sum(normals * (point - first), axis=1)
    near = everything[np.abs(height) <= TOUCHING]
    corners = solids.vertices[solids.faces[near]].astype(float)
    near = near[_distance(point, corners) <= TOUCHING]
    normals = solids.facing[near].astype(float)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    return near, normals, solids.vertices[solids.faces[near, 0]].astype(float)


def _distance(point: Array, corners: Array) -> Array:
    """From a point (3,) to triangles (K, 3, 3): to the plane where its foot lies inside, else to the nearest side."""
    sides = np.roll(corners, -1, axis=1) - corners
    way = point - corners
    along = np.sum(way * sides, axis=2) / np.maximum(np.sum(sides**2, axis=2), 1e-30)
    to_sides = np.linalg.norm(way - np.clip(along, 0.0, 1.0)[:, :, None] * sides, axis=2).min(axis=1)
    normal = np.cross(sides[:, 0], sides[:, 1])
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-30)
    inside = np.all(np.sum(np.cross(sides, way) * normal[:, None, :], axis=2) >= 0, axis=1)
    return np.asarray(np.where(inside, np.abs(np.sum(way[:, 0] * normal, axis=1)), to_sides))

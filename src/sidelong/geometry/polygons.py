"""Flat polygons: areas, clipping, what lies inside, rectangles with rectangular holes cut into triangles."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

Points = NDArray[np.float64]


def polygon_area(polygon: ArrayLike) -> float:
    """Area of a simple polygon (K, 2), positive when anticlockwise (the surveyor's formula). [m2]"""
    p = np.asarray(polygon, float)
    if len(p) < 3:
        return 0.0
    q = np.roll(p, -1, axis=0)
    return float((p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]).sum() / 2)


def centroid(polygon: ArrayLike) -> Points:
    """Centre of area (2,) of a simple polygon (K, 2); the mean of its corners when it has no area. [m]"""
    p = np.asarray(polygon, float)
    q = np.roll(p, -1, axis=0)
    cross = p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]
    whole = cross.sum()
    if abs(whole) < 1e-15:
        return np.asarray(p.mean(axis=0))
    return np.asarray(((p + q) * cross[:, None]).sum(axis=0) / (3 * whole))


def clipped(polygon: ArrayLike, low: ArrayLike, high: ArrayLike) -> Points:
    """What of a convex polygon (K, 2) lies in the rectangle between two corners (2,); (0, 2) when nothing. [m]

    Source
    ------
    sutherland1974
    """
    points = np.asarray(polygon, float).reshape(-1, 2)
    lowest, highest = np.asarray(low, float), np.asarray(high, float)
    for axis in (0, 1):
        points = _cut(points, axis, lowest[axis], 1.0)
        points = _cut(points, axis, highest[axis], -1.0)
    return points


def convex_clipped(polygon: ArrayLike, window: ArrayLike) -> Points:
    """What of a convex polygon (K, 2) lies in a convex anticlockwise window (M, 2); (0, 2) when nothing. [m]"""
    points = np.asarray(polygon, float).reshape(-1, 2)
    corners = np.asarray(window, float)
    for here, there in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        edge = there - here
        side = edge[0] * (points[:, 1] - here[1]) - edge[1] * (points[:, 0] - here[0])
        points = _kept(points, side)
        if not len(points):
            break
    return points


def inside_polygon(points: ArrayLike, polygon: ArrayLike) -> NDArray[np.bool_]:
    """Whether points (..., 2) lie inside a simple polygon (K, 2), by counting crossings."""
    p, corners = np.asarray(points, float), np.asarray(polygon, float)
    inside = np.zeros(p.shape[:-1], bool)
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        spans = (a[1] > p[..., 1]) != (b[1] > p[..., 1])
        if a[1] != b[1]:
            inside ^= spans & (p[..., 0] < a[0] + (p[..., 1] - a[1]) * (b[0] - a[0]) / (b[1] - a[1]))
    return inside


def rectangles_left(
    low: ArrayLike, high: ArrayLike, holes: Sequence[tuple[ArrayLike, ArrayLike]]
) -> list[tuple[Points, Points]]:
    """The rectangle between two corners (2,), less rectangular holes, as rectangles that do not overlap. [m]

    The pieces meet corner to corner along the grid of all the holes' edges, so that no seam opens between them.
    """
    a, b = np.asarray(low, float), np.asarray(high, float)
    cuts = [np.clip(np.array([np.asarray(h, float) for h in hole]), a, b) for hole in holes]
    xs, ys = (np.unique(np.concatenate([[a[k], b[k]], *[c[:, k] for c in cuts]])) for k in (0, 1))
    left = []
    for x0, x1 in itertools.pairwise(xs):
        for y0, y1 in itertools.pairwise(ys):
            middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
            if not any((c[0] < middle).all() and (middle < c[1]).all() for c in cuts):
                left.append((np.array([x0, y0]), np.array([x1, y1])))
    return left


def triangles_left(
    low: ArrayLike, high: ArrayLike, holes: Sequence[tuple[ArrayLike, ArrayLike]]
) -> tuple[Points, NDArray[np.int64]]:
    """The rectangle less rectangular holes as triangles: vertices (V, 2) [m], faces (F, 3), anticlockwise."""
    pieces = rectangles_left(low, high, holes)
    if not pieces:
        return np.zeros((0, 2)), np.zeros((0, 3), np.int64)
    corners = np.concatenate([[[p[0], p[1]], [q[0], p[1]], [q[0], q[1]], [p[0], q[1]]] for p, q in pieces])
    vertices, index = np.unique(np.round(corners, 9), axis=0, return_inverse=True)
    quads = index.reshape(-1, 4)
    return vertices, np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]]).astype(np.int64)


def _cut(points: Points, axis: int, at: float, sense: float) -> Points:
    return _kept(points, sense * (points[:, axis] - at)) if len(points) else points


def _kept(points: Points, side: Points) -> Points:
    """The part of a convex polygon where `side` (K,), linear over the plane, is not negative."""
    kept: list[Points] = []
    for k in range(len(points)):
        j = (k + 1) % len(points)
        if side[k] >= 0:
            kept.append(points[k])
        if (side[k] >= 0) != (side[j] >= 0):
            kept.append(points[k] + (points[j] - points[k]) * side[k] / (side[k] - side[j]))
    return np.array(kept).reshape(-1, 2)

"""Where rays meet boxes and triangles, many rays at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.geometry.mesh import Mesh

Points = NDArray[np.float64]
_ROOM = 4_000_000  # numbers held at once in the inner tables


def enter_and_leave(origins: ArrayLike, directions: ArrayLike, boxes: ArrayLike) -> tuple[Points, Points]:
    """Parameters at which lines enter and leave boxes with sides along the axes.

    Parameters
    ----------
    origins, directions : (N, 3) float arrays
        A line is origin + t direction. [m]
    boxes : (B, 2, 3) float array
        Lowest and highest corners. [m]

    Returns
    -------
    enter, leave : (N, B) float arrays
        t; the line misses the box where enter >= leave. [-]

    Source
    ------
    kay1986 (slabs)
    """
    o, d = np.asarray(origins, float)[:, None, :], np.asarray(directions, float)[:, None, :]
    corners = np.asarray(boxes, float)
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = (corners[None, :, 0] - o) / d, (corners[None, :, 1] - o) / d
    low, high = np.minimum(one, two), np.maximum(one, two)
    # a line along a slab's faces: inside it for ever, or never
    level = np.broadcast_to(d == 0, low.shape)
    within = (o >= corners[None, :, 0]) & (o <= corners[None, :, 1])
    low = np.where(level, np.where(within, -np.inf, np.inf), low)
    high = np.where(level, np.where(within, np.inf, -np.inf), high)
    return low.max(axis=-1), high.min(axis=-1)


def segments_hit_boxes(starts: ArrayLike, ends: ArrayLike, boxes: ArrayLike) -> NDArray[np.bool_]:
    """Whether the segments between starts (N, 3) and ends (N, 3) pass through any of the boxes (B, 2, 3). (N,) bool

    An end may be at infinity in a direction: pass a far point. Touching a face is no hit.
    """
    a, b = np.asarray(starts, float), np.asarray(ends, float)
    corners = np.asarray(boxes, float)
    hit = np.zeros(len(a), bool)
    if not len(corners):
        return hit
    step = max(1, _ROOM // (3 * len(corners)))
    for first in range(0, len(a), step):
        part = slice(first, first + step)
        enter, leave = enter_and_leave(a[part], b[part] - a[part], corners)
        hit[part] = ((enter < leave) & (enter < 1) & (leave > 0)).any(axis=1)
    return hit


def first_hit(origins: ArrayLike, directions: ArrayLike, mesh: Mesh) -> tuple[Points, NDArray[np.int64]]:
    """Nearest triangle that each ray meets.

    Parameters
    ----------
    origins, directions : (N, 3) float arrays
        [m]
    mesh : Mesh

    Returns
    -------
    t : (N,) float array
        Parameter along the ray, inf where nothing is met. [-]
    face : (N,) int array
        The triangle, -1 where nothing is met.

    Method
    ------
    Every ray against every triangle, no tree: for hundreds of rays and thousands of triangles.

    Source
    ------
    moeller1997
    """
    o, d = np.asarray(origins, float), np.asarray(directions, float)
    a = mesh.vertices[mesh.faces[:, 0]]
    e1, e2 = mesh.vertices[mesh.faces[:, 1]] - a, mesh.vertices[mesh.faces[:, 2]] - a
    nearest, face = np.full(len(o), np.inf), np.full(len(o), -1, np.int64)
    if not len(a):
        return nearest, face
    step = max(1, _ROOM // (9 * len(a)))
    for first in range(0, len(o), step):
        part = slice(first, first + step)
        t = _moeller_trumbore(o[part, None], d[part, None], a[None], e1[None], e2[None])
        best = t.argmin(axis=1)
        nearest[part] = t[np.arange(len(best)), best]
        face[part] = np.where(np.isfinite(nearest[part]), best, -1)
    return nearest, face


def segments_hit_mesh(starts: ArrayLike, ends: ArrayLike, mesh: Mesh) -> NDArray[np.bool_]:
    """Whether the segments between starts (N, 3) and ends (N, 3) meet the mesh, ends left out. (N,) bool"""
    a, b = np.asarray(starts, float), np.asarray(ends, float)
    t, _ = first_hit(a, b - a, mesh)
    return np.asarray(t < 1)


def _moeller_trumbore(o: Points, d: Points, a: Points, e1: Points, e2: Points) -> Points:
    p = np.cross(d, e2)
    determinant = (e1 * p).sum(-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        s = o - a
        u = (s * p).sum(-1) / determinant
        q = np.cross(s, e1)
        v = (d * q).sum(-1) / determinant
        t = (e2 * q).sum(-1) / determinant
        met = (np.abs(determinant) > 1e-15) & (u >= -1e-12) & (v >= -1e-12) & (u + v <= 1 + 1e-12) & (t > 1e-9)
    return np.where(met, t, np.inf)

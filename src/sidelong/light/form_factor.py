"""Illuminance from a flat Lambertian polygon, for a receptor anywhere and turned anyhow.

Source
------
lambert1760, baum1989 (the polygon formula; edges cut at the receptor's horizon)
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Values = NDArray[np.float64]


def polygon_illuminance(corners: ArrayLike, points: ArrayLike, normals: ArrayLike, luminance: float = 1.0) -> Values:
    """Illuminance of flat receptors from a convex, flat, Lambertian polygon that shines to one side.

    Parameters
    ----------
    corners : (V, 3) float array, any right-handed frame
        In order, anticlockwise for whoever the polygon shines at. [m]
    points, normals : (..., 3) float arrays, same frame
        Where the receptors are, and their unit axes. [m, -]
    luminance : float
        [cd/m2], or cd s / m2 for flash

    Returns
    -------
    (...) float array
        L/2 times the sum over edges of the angle an edge subtends times the cosine between the receptor's axis and
        the normal of the plane through edge and receptor. 0 behind the polygon. [lx, or lx s]
    """
    at = np.asarray(points, float)
    axis = np.broadcast_to(np.asarray(normals, float), at.shape)
    vertices = np.asarray(corners, float)
    start = vertices - at[..., None, :]
    end = np.roll(start, -1, axis=-2)
    height_start = np.einsum("...vk,...k->...v", start, axis)
    height_end = np.einsum("...vk,...k->...v", end, axis)
    above_start, above_end = height_start > 0, height_end > 0
    crosses = above_start != above_end
    along = np.where(crosses, height_start / np.where(crosses, height_start - height_end, 1.0), 0.0)[..., None]
    crossing = start + along * (end - start)
    a = np.where((crosses & ~above_start)[..., None], crossing, start)
    b = np.where((crosses & ~above_end)[..., None], crossing, end)
    seen = above_start | above_end
    total = np.sum(np.where(seen, _edge(a, b, axis[..., None, :]), 0.0), axis=-1)
    leaves = np.sum(np.where((crosses & above_start)[..., None], crossing, 0.0), axis=-2)
    enters = np.sum(np.where((crosses & above_end)[..., None], crossing, 0.0), axis=-2)
    total = total + np.where(np.any(crosses, axis=-1), _edge(leaves, enters, axis), 0.0)
    facing = np.cross(vertices[1] - vertices[0], vertices[2] - vertices[1])
    in_front = np.einsum("...k,k->...", at - vertices[0], facing) > 0
    return np.asarray(np.where(in_front, np.maximum(0.5 * luminance * total, 0.0), 0.0))


def _edge(a: Values, b: Values, axis: Values) -> Values:
    """Angle from a to b times the cosine between `axis` and the normal of their plane; 0 where it has none."""
    turn = np.cross(b, a)
    size = np.linalg.norm(turn, axis=-1)
    angle = np.arctan2(size, np.sum(a * b, axis=-1))
    return np.asarray(angle * np.sum(turn * axis, axis=-1) / np.where(size > 0, size, 1.0))

"""A moved lens written again from its equations alone, to hold the product's against: it imports nothing of it.

Positions are in the body frame (x right, y up, z forward, the film at z = -f) [m]. A ray from a point over a rim
point of the entrance pupil meets the principal plane, is bent there towards the point's image, and is cut by the
film. That map of the rim is projective, so the patch is the ellipse whose dual conic is M diag(1, 1, -1) M^T.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class RayLens:
    """What an optimiser must know of a lens. Lengths [m], angles [rad]."""

    f: float
    movement: float
    rotation_step: float = 0.0
    shift: float = 0.0
    rise: float = 0.0
    closest: float | None = None
    pupil_ratio: float = 1.0
    pivot: float = 0.0
    curvature: float = 0.0
    ring_error: float = 0.0

    @property
    def ring(self) -> tuple[float, float]:
        """True extensions at the ring's two ends: marks from infinity to `closest`, which shows the true one plus
        the error. [m]"""
        near = self.f
        if self.closest is not None and self.closest > 4 * self.f:
            b = self.closest - 2 * self.f
            near = (b - math.sqrt(b * b - 4 * self.f**2)) / 2
        return -self.ring_error, near - self.ring_error


def axis_of(swing: Array, tilt: Array) -> Array:
    """(M, 3) from swing and tilt (M,). [rad]"""
    return np.stack([np.sin(swing) * np.cos(tilt), np.sin(tilt), np.cos(swing) * np.cos(tilt)], axis=-1)


def axis_turned(movement: Array, rotation: Array) -> Array:
    """(M, 3) from a movement angle and the mount's rotation (M,). [rad]"""
    sideways = np.sin(movement)
    return np.stack([sideways * np.cos(rotation), sideways * np.sin(rotation), np.cos(movement)], axis=-1)


def major_axes(lens: RayLens, axis: Array, extension: Array, f_number: Array, points: Array) -> Array:
    """Major axes (M, P) on the film [m] of points (P, 3), or (M, P, 3) where they move, through M settings, each of a
    stop (M,) or of one for each point (M, P); infinite where the cone is cut in no ellipse or a point has no image
    behind the lens."""
    a = axis[:, None, :]
    arm = (lens.pivot + extension)[:, None, None]
    principal = np.array([lens.shift, lens.rise, -lens.pivot]) + arm * a
    d = (lens.f - lens.pivot + (lens.pivot + extension) * axis[:, 2])[:, None]
    p = points - principal
    u = np.sum(a * p, axis=2)
    h = lens.f * (1 - 1 / lens.pupil_ratio)
    with np.errstate(all="ignore"):
        reach = (u / (u - h))[..., None]
        middle = p + reach * (h * a - p)
        image = -p * (lens.f / (u - lens.f))[..., None]
        square = np.sum((p - u[..., None] * a) ** 2, axis=2)
        bow = 1 + lens.curvature * square / (u * (u - lens.f))
        image = middle + (image - middle) / bow[..., None]
        across = np.cross(a, np.where(np.abs(a[..., 1:2]) < 0.9, np.array([0.0, 1.0, 0.0]), np.array([1.0, 0, 0])))
        across = across / np.linalg.norm(across, axis=2, keepdims=True)
        up = np.cross(a, across)
        radius = (lens.f / (2 * f_number.reshape(len(axis), -1)))[..., None] * reach
        majors = _ellipse(middle, radius * across, radius * up, image, d)
        sound = (u > lens.f) & (u > h) & (p[..., 2] > 0) & (bow > 0)
        return np.where(sound & np.isfinite(majors), majors, math.inf)


def images(lens: RayLens, axis: Array, extension: Array, points: Array) -> Array:
    """Where the rays through the pupil's centre meet the film, upright from its centre: (M, P, 2) for points (P, 3),
    or (M, P, 3) where they move. [m]"""
    a = axis[:, None, :]
    arm = (lens.pivot + extension)[:, None, None]
    principal = np.array([lens.shift, lens.rise, -lens.pivot]) + arm * a
    d = (lens.f - lens.pivot + (lens.pivot + extension) * axis[:, 2])[:, None]
    p = points - principal
    u = np.sum(a * p, axis=2)
    h = lens.f * (1 - 1 / lens.pupil_ratio)
    with np.errstate(all="ignore"):
        middle = p + (u / (u - h))[..., None] * (h * a - p)
        image = -p * (lens.f / (u - lens.f))[..., None]
        along = (-d - middle[..., 2]) / (image[..., 2] - middle[..., 2])
        meets = middle + along[..., None] * (image - middle)
    return np.asarray(-(meets + principal)[..., :2])


def _ellipse(middle: Array, across: Array, up: Array, image: Array, d: Array) -> Array:
    """Major axis of the film's cut of the cone through middle + cos across + sin up towards an image point."""
    depth = image[..., 2] + d

    def column(way: Array, constant: Array) -> tuple[Array, Array]:
        """Numerators (.., 2) and denominator of the cut, homogeneous."""
        over = way * depth[..., None] - image * (constant * d + way[..., 2])[..., None]
        return over[..., :2], constant * image[..., 2] - way[..., 2]

    zero, one = np.zeros_like(depth), np.ones_like(depth)
    centre, weight = column(middle, one)
    chief = centre / weight[..., None]
    columns = [column(across, zero), column(up, zero)]
    moved = [(top - chief * bottom[..., None], bottom) for top, bottom in columns]
    (t1, b1), (t2, b2) = moved
    scale = weight**2 - b1**2 - b2**2
    xx = (t1[..., 0] ** 2 + t2[..., 0] ** 2) / scale
    yy = (t1[..., 1] ** 2 + t2[..., 1] ** 2) / scale
    xy = (t1[..., 0] * t1[..., 1] + t2[..., 0] * t2[..., 1]) / scale
    sx = (t1[..., 0] * b1 + t2[..., 0] * b2) / scale
    sy = (t1[..., 1] * b1 + t2[..., 1] * b2) / scale
    xx, yy, xy = xx + sx * sx, yy + sy * sy, xy + sx * sy
    largest = (xx + yy) / 2 + np.hypot((xx - yy) / 2, xy)
    return np.where(scale > 0, 2 * np.sqrt(largest), math.inf)


def stops_needed(lens: RayLens, axis: Array, extension: Array, points: Array, limit: float) -> Array:
    """F-numbers (M, P) at which each point alone is exactly at the limit [m]; blur is nearly as one over N."""
    n = np.full((len(axis), len(points)), 4.0)
    for _ in range(5):
        trial = np.clip(n, 0.7, 1e4)
        n = trial * major_axes(lens, axis, extension, trial, points) / limit
    return n

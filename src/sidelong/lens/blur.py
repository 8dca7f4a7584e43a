"""What the aperture's cone, cut by the film, makes of a point: the image position and the blur ellipse, exactly.

From O, a ray from P through a point E of the entrance pupil's rim meets the principal plane in B and is bent
towards Q = P f / (f - u), u = a.P. It cuts the film at X = B + (B_z + d) (P f - B (f - u)) / -(P_z f + B_z (u - f)).
Against the image of the pupil's centre, X - Xc has the factor g = f P_z - d (u - f), which vanishes on the plane
of focus; written with that factor in front nothing cancels, so tiny blurs keep their digits. The rim's circle maps
to (A1 cos + A2 sin) / (1 + b cos), an ellipse whose axes follow in closed form. Field curvature (curvature.py) lets
the cone aim nearer along the ray through the pupil's centre: g then loses c (C_z + d) and u - f in b gains c.

Source: derived, docs/computed/focus.md; checked by ray counting and at 50 digits in tests.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.lens.curvature import bulge
from sidelong.lens.geometry import LensGeometry

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Blur:
    """Patches on the film for N points, all arrays (N,) or (N, 2); nan where a point cannot be imaged.

    `major`, `minor`: full axes [m]; `angle`: of the major axis from the picture's x towards its y, in
    (-pi/2, pi/2] [rad]; `image`: where the ray through the pupil's centre meets the film, `centre`: the patch's
    centre, both upright in the picture (x right, y up) from the film's centre [m]; `in_front`: the point lies in
    front of the lens; `depth` along the film's normal from O [m].
    """

    major: Array
    minor: Array
    angle: Array
    image: Array
    centre: Array
    in_front: NDArray[np.bool_]
    depth: Array


def blur(lens: LensGeometry, points: ArrayLike) -> Blur:
    """Image and blur of points (..., 3) of the body frame [m]; the arrays of the answer have the points' shape.

    A point in front whose cone is cut in no closed curve (its rays graze the film) has infinite axes.
    """
    given = lens.relative(np.asarray(points, float))
    shape = given.shape[:-1]
    p = given.reshape(-1, 3)
    with np.errstate(all="ignore"):
        rim = _rim(lens, p)
        patch = _ellipse(rim)
    major, minor, angle, off = patch
    film_xy = rim.chief + lens.principal[:2]
    front = rim.in_front
    for values in (major, minor, angle):
        values[~front] = np.nan
    image = np.where(front[:, None], -film_xy, np.nan)
    centre = np.where(front[:, None], -(film_xy + off), np.nan)
    return Blur(
        major.reshape(shape),
        minor.reshape(shape),
        angle.reshape(shape),
        image.reshape(*shape, 2),
        centre.reshape(*shape, 2),
        front.reshape(shape),
        p[:, 2].reshape(shape),
    )


@dataclass(frozen=True)
class _Rim:
    """X - Xc = factor (first cos + second sin) / (1 + bend . (cos, sin)), film axes; chief = Xc from O."""

    chief: Array
    factor: Array
    first: Array
    second: Array
    bend: Array
    in_front: NDArray[np.bool_]


def _rim(lens: LensGeometry, p: Array) -> _Rim:
    f, d, h = lens.focal_length, lens.film_distance, lens.pupil_offset
    u = p @ lens.axis
    reach = u - h
    in_front = (reach > 0.0) & (p[:, 2] > 0.0) & (u > 0.0)
    centre = (h * u[:, None] * lens.axis - h * p) / reach[:, None]
    radius = lens.pupil_radius * u / reach
    k = u - f
    g = f * p[:, 2] - d * k
    w = f * p[:, 2] + k * centre[:, 2]
    chief = (centre[:, :2] * g[:, None] - f * p[:, :2] * (centre[:, 2] + d)[:, None]) / w[:, None]
    lean = f * p[:, :2] + k[:, None] * centre[:, :2]
    first = w[:, None] * lens.across[:2] - lens.across[2] * lean
    second = w[:, None] * lens.along[:2] - lens.along[2] * lean
    if lens.field_curvature != 0.0:
        c = bulge(lens, p, u)
        g, k = g - c * (centre[:, 2] + d), k + c
    bend = (k * radius / w)[:, None] * np.array([lens.across[2], lens.along[2]])
    return _Rim(chief, g * radius / (w * w), first, second, bend, in_front & (w > 0.0))


def _ellipse(rim: _Rim) -> tuple[Array, Array, Array, Array]:
    """Full axes (N,), angle (N,) in upright axes, and the centre's offset from the chief ray (N, 2), film axes."""
    b = np.hypot(rim.bend[:, 0], rim.bend[:, 1])
    with np.errstate(invalid="ignore", divide="ignore"):
        cos = np.where(b > 0, rim.bend[:, 0] / b, 1.0)
        sin = np.where(b > 0, rim.bend[:, 1] / b, 0.0)
    closed = b < 1.0
    keep = np.where(closed, 1.0 - b * b, np.nan)
    along_bend = rim.factor[:, None] * (rim.first * cos[:, None] + rim.second * sin[:, None]) / keep[:, None]
    across_bend = rim.factor[:, None] * (rim.second * cos[:, None] - rim.first * sin[:, None])
    across_bend = across_bend / np.sqrt(keep)[:, None]
    major, minor, angle = _axes(along_bend, across_bend)
    infinite = rim.in_front & ~closed
    major[infinite], minor[infinite] = np.inf, np.inf
    return major, minor, angle, -along_bend * b[:, None]


def _axes(one: Array, two: Array) -> tuple[Array, Array, Array]:
    """Full axes of the ellipse one cos + two sin ((N, 2) each): twice the singular values of [one two]."""
    sum_, diff = one[:, 0] + two[:, 1], one[:, 0] - two[:, 1]
    cross_sum, cross_diff = one[:, 1] + two[:, 0], one[:, 1] - two[:, 0]
    big, small = np.hypot(diff, cross_sum), np.hypot(sum_, cross_diff)
    major = big + small
    determinant = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    minor = np.where(major > 0, 4.0 * np.abs(determinant) / np.where(major > 0, major, 1.0), 0.0)
    angle = 0.5 * np.arctan2(
        2.0 * (one[:, 0] * one[:, 1] + two[:, 0] * two[:, 1]),
        one[:, 0] ** 2 + two[:, 0] ** 2 - one[:, 1] ** 2 - two[:, 1] ** 2,
    )
    return major, minor, angle

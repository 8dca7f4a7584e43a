"""Field curvature: by how much a lens focuses nearer the farther a point lies from its axis, and what that makes of
the factor that vanishes where an image is sharp.

A point seen from O at an angle theta from the lens's axis is imaged by the power (1 + kappa tan^2 theta) / f. Its
sharp image so slides along the ray through the pupil's centre, towards the lens for kappa > 0, by an axial sag that
is kappa |q|^2 / f to first order, |q| being its distance from the axis; where the picture shows it does not change.
The factor g = f P_z - d (u - f) becomes g - c (C_z + d) with c = kappa |P square to a|^2 / u and C where the ray
through the pupil's centre meets the principal plane: it is nought on the curved surface of best focus, regular
everywhere in front of the lens, and exactly g at kappa = 0.

Source: derived, docs/computed/focus.md; checked by laikin2006.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.geometry import LensGeometry

Array = NDArray[np.float64]


def bulge(lens: LensGeometry, p: Array, u: Array) -> Array:
    """c = kappa |P square to the axis|^2 / u for points p (..., 3), body frame from O, at u = a.P (...). [m]"""
    aside = np.square(p @ lens.across) + np.square(p @ lens.along)
    return np.asarray(lens.field_curvature * aside / u)


def defocus(lens: LensGeometry, points: Array) -> Array:
    """The factor (...) of points (..., 3), body frame [m]: > 0 nearer than the surface of best focus. [m2]"""
    p = lens.relative(points)
    f, d = lens.focal_length, lens.film_distance
    u = p @ lens.axis
    flat = f * p[..., 2] - d * (u - f)
    if lens.field_curvature == 0.0:
        return np.asarray(flat)
    return np.asarray(flat - curved_part(lens, p))


def curved_part(lens: LensGeometry, p: Array) -> Array:
    """c (C_z + d) (...) of points p (..., 3), body frame from O [m]: what curvature takes off the factor. [m2]"""
    u = p @ lens.axis
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(bulge(lens, p, u) * (_crossing(lens, p, u) + lens.film_distance))


def defocus_slope(lens: LensGeometry, points: Array) -> Array:
    """Gradient (..., 3) of `defocus` at points (..., 3), body frame [m]; f z - d a for a flat field. [m]"""
    p = lens.relative(points)
    f, d, h, a = lens.focal_length, lens.film_distance, lens.pupil_offset, lens.axis
    z = np.array([0.0, 0.0, 1.0])
    flat = np.broadcast_to(f * z - d * a, p.shape)
    if lens.field_curvature == 0.0:
        return np.asarray(flat)
    u = p @ a
    aside = p - u[..., None] * a
    square = np.sum(aside * aside, axis=-1)
    c = lens.field_curvature * square / u
    c_slope = lens.field_curvature * (2.0 * aside / u[..., None] - (square / u**2)[..., None] * a)
    reach = u - h
    crossing_slope = -h * ((z - a[2] * a) / reach[..., None] - (aside[..., 2] / reach**2)[..., None] * a)
    towards_film = (_crossing(lens, p, u) + d)[..., None]
    return np.asarray(flat - c_slope * towards_film - c[..., None] * crossing_slope)


def _crossing(lens: LensGeometry, p: Array, u: Array) -> Array:
    """z, from O, of where the ray from each point through the pupil's centre meets the principal plane. [m]"""
    h = lens.pupil_offset
    return np.asarray(h * (u * lens.axis[2] - p[..., 2]) / (u - h))

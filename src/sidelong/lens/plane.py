"""The plane of focus and the hinge line of a moved lens. Body frame, metres.

A lens of curved field is sharp on a curved surface; its plane of focus is the plane that touches that surface where
one looks: at the point given, or else in the middle of the picture.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import NoPlaneOfFocus
from sidelong.lens.coverage import rays_out
from sidelong.lens.curvature import defocus, defocus_slope
from sidelong.lens.geometry import LensGeometry

Vector = NDArray[np.float64]

_FAR = 1e3
"""Where a ray is taken to be when it meets no plane of focus in front of the lens. [focal lengths]"""


def plane_of_focus(lens: LensGeometry, at: Vector | None = None) -> tuple[Vector, float]:
    """Plane whose points the moved lens images sharply on the film; for a curved field, to first order around `at`.

    Parameters
    ----------
    at : (3,) float array or None, body frame
        Where a curved surface of best focus is touched: on it, or near it; None is the picture's middle. A flat field
        does not ask. [m]

    Returns
    -------
    normal : (3,) float array, body frame
        Unit normal, turned away from the camera. [-]
    offset : float
        So that normal . X = offset for X in the body frame. [m]

    Raises
    ------
    NoPlaneOfFocus
        The film is in the focal plane of an unmoved lens (the plane is at infinity), or holds O.

    Source
    ------
    merklinger1996, sinharoy2017: from O the plane is (d a - f z).P = d f; docs/computed/focus.md for a curved field.
    """
    d, f = lens.film_distance, lens.focal_length
    if d <= 0.0:
        raise NoPlaneOfFocus("the film plane holds the lens's principal point, so nothing in front is sharp on it")
    steep = d * lens.axis - f * np.array([0.0, 0.0, 1.0])
    from_principal = d * f
    if lens.field_curvature != 0.0:
        touched = _middle(lens) if at is None else np.asarray(at, float)
        steep = -defocus_slope(lens, touched)
        from_principal = float(defocus(lens, touched)) + float(steep @ lens.relative(touched))
    size = float(np.linalg.norm(steep))
    if size < 1e-15:
        raise NoPlaneOfFocus("the lens is straight and at infinity: the plane of focus is infinitely far")
    normal = steep / size
    return normal, from_principal / size + float(normal @ lens.principal)


def _middle(lens: LensGeometry) -> Vector:
    """Where the surface of best focus lies in the middle of the picture (3,), to Newton's third step. [m]"""
    origin, way = rays_out(lens, np.zeros(2))
    reach = _FAR * lens.focal_length
    for _ in range(3):
        at = origin + reach * way
        step = reach - float(defocus(lens, at)) / float(defocus_slope(lens, at) @ way)
        reach = step if 0.0 < step < math.inf else reach
    return np.asarray(origin + reach * way)


def hinge_distance(lens: LensGeometry, at: Vector | None = None) -> float | None:
    """J = f / sin(movement), how far from O the hinge line runs; None for a straight lens. [m]

    For a curved field, that of the plane touching it at `at` (as in plane_of_focus): nearly f / ((1 - 2 kappa) sin).

    Source: merklinger1996.
    """
    sideways = math.hypot(float(lens.axis[0]), float(lens.axis[1]))
    if sideways < 1e-12:
        return None
    if lens.field_curvature == 0.0:
        return lens.focal_length / sideways
    touching = _touching_hinge(lens, at)
    return None if touching is None else touching[0]


def hinge_line(lens: LensGeometry, at: Vector | None = None) -> tuple[Vector, Vector] | None:
    """A point (3,) and a unit direction (3,), body frame, of the line about which the plane of focus turns with the
    ring: where the plane a.P = f meets the film-parallel plane through O. None for a straight lens. [m]

    For a curved field, where the plane touching it at `at` meets that film-parallel plane. Worked: a pure swing to
    the right puts the line at x = f / sin(swing), running up and down.
    """
    distance = hinge_distance(lens, at)
    if distance is None:
        return None
    sideways = lens.axis[:2] / math.hypot(float(lens.axis[0]), float(lens.axis[1]))
    if lens.field_curvature != 0.0 and (touching := _touching_hinge(lens, at)) is not None:
        distance, sideways = touching
    point = lens.principal + distance * np.array([sideways[0], sideways[1], 0.0])
    return point, np.array([-sideways[1], sideways[0], 0.0])


def _touching_hinge(lens: LensGeometry, at: Vector | None) -> tuple[float, Vector] | None:
    """How far from O the touching plane meets the film-parallel plane through O, and which way (2,); None where they
    are parallel. [m, -]"""
    normal, offset = plane_of_focus(lens, at)
    across = float(np.hypot(normal[0], normal[1]))
    if across < 1e-12:
        return None
    from_principal = offset - float(normal @ lens.principal)
    return from_principal / across, normal[:2] / across

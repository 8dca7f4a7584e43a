"""The plane of focus and the hinge line of a moved lens. Body frame, metres."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import NoPlaneOfFocus
from sidelong.lens.geometry import LensGeometry

Vector = NDArray[np.float64]


def plane_of_focus(lens: LensGeometry) -> tuple[Vector, float]:
    """Plane whose points the moved lens images sharply on the film.

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
    merklinger1996, sinharoy2017: from O the plane is (d a - f z).P = d f.
    """
    d, f = lens.film_distance, lens.focal_length
    if d <= 0.0:
        raise NoPlaneOfFocus("the film plane holds the lens's principal point, so nothing in front is sharp on it")
    steep = d * lens.axis - f * np.array([0.0, 0.0, 1.0])
    size = float(np.linalg.norm(steep))
    if size < 1e-15:
        raise NoPlaneOfFocus("the lens is straight and at infinity: the plane of focus is infinitely far")
    normal = steep / size
    return normal, d * f / size + float(normal @ lens.principal)


def hinge_distance(lens: LensGeometry) -> float | None:
    """J = f / sin(movement), how far from O the hinge line runs; None for a straight lens. [m]

    Source: merklinger1996.
    """
    sideways = math.hypot(float(lens.axis[0]), float(lens.axis[1]))
    return None if sideways < 1e-12 else lens.focal_length / sideways


def hinge_line(lens: LensGeometry) -> tuple[Vector, Vector] | None:
    """A point (3,) and a unit direction (3,), body frame, of the line about which the plane of focus turns with the
    ring: where the plane a.P = f meets the film-parallel plane through O. None for a straight lens. [m]

    Worked: a pure swing to the right puts the line at x = f / sin(swing), running up and down.
    """
    distance = hinge_distance(lens)
    if distance is None:
        return None
    sideways = lens.axis[:2] / math.hypot(float(lens.axis[0]), float(lens.axis[1]))
    point = lens.principal + distance * np.array([sideways[0], sideways[1], 0.0])
    return point, np.array([-sideways[1], sideways[0], 0.0])

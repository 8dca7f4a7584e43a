"""What is in the picture and what the image circle still lights. Body frame, metres."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.lens.geometry import LensGeometry, geometry_of
from sidelong.lens.values import Film, Lens, Setting

Array = NDArray[np.float64]


def in_picture(film: Film, image: ArrayLike) -> NDArray[np.bool_]:
    """Whether image positions (..., 2), upright from the film's centre [m], lie on the film."""
    xy = np.abs(np.asarray(image, float))
    return np.asarray((xy[..., 0] <= film.width / 2) & (xy[..., 1] <= film.height / 2))


def in_image_circle(lens: Lens, geometry: LensGeometry, image: ArrayLike) -> NDArray[np.bool_]:
    """Whether image positions (..., 2), upright from the film's centre [m], are lit by the moved lens.

    The circle is the cone about the lens's axis, from O, of the angle whose tangent is half the circle's diameter
    over the focal length (an image circle is stated at infinity). True everywhere when none is stated.
    """
    xy = np.asarray(image, float)
    if lens.image_circle is None:
        return np.asarray(np.isfinite(xy[..., 0]))
    behind = _from_principal(geometry, xy)
    forward = -(behind @ geometry.axis)
    return np.asarray(forward >= np.linalg.norm(behind, axis=-1) * math.cos(_half_angle(lens)))


def dark_corners(setting: Setting, film: Film) -> int:
    """How many of the film's four corners the moved lens leaves dark, outside its image circle."""
    half = np.array([film.width, film.height]) / 2.0
    corners = half * np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
    return int(np.sum(~in_image_circle(setting.lens, geometry_of(setting), corners)))


def _half_angle(lens: Lens) -> float:
    return math.atan(0.5 * (lens.image_circle or 0.0) / lens.focal_length)


def _from_principal(geometry: LensGeometry, image: Array) -> Array:
    """Film points (..., 3) seen from O, of upright image positions (..., 2). [m]"""
    flat = -image - geometry.principal[:2]
    return np.concatenate([flat, np.full((*flat.shape[:-1], 1), -geometry.film_distance)], axis=-1)


def film_points(geometry: LensGeometry, image: ArrayLike) -> Array:
    """Film points (..., 3), body frame seen from O, of upright image positions (..., 2). [m]"""
    return _from_principal(geometry, np.asarray(image, float))


def rays_out(geometry: LensGeometry, image: ArrayLike) -> tuple[Array, Array]:
    """The ray that leaves the pupil's centre for each film position: origin (3,) and unit directions (..., 3).

    Body frame. With q the film point from O, E the pupil's centre and v = -q.a, the direction is that of
    -q - E (v/f - 1), which stays regular where the conjugate point runs off to infinity.
    """
    q = film_points(geometry, image)
    pupil = geometry.pupil_offset * geometry.axis
    v = -(q @ geometry.axis)
    direction = -q - pupil * (v / geometry.focal_length - 1.0)[..., None]
    return geometry.principal + pupil, direction / np.linalg.norm(direction, axis=-1, keepdims=True)

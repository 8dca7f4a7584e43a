"""Where the glass of a set lens stands against the film. Body frame, metres."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.axis import axis_of
from sidelong.lens.values import Lens, Movement, Setting

Vector = NDArray[np.float64]


@dataclass(frozen=True)
class LensGeometry:
    """A set lens in the body frame, whose film is the plane z = -focal_length with its centre on the z axis.

    `principal` = O, the moved principal point (3,) [m]; `axis` unit (3,); `film_distance` d from O to the film
    along the film's normal [m]; `pupil_offset` how far the entrance pupil lies in front of O along the axis [m];
    `pupil_radius` [m]; `across` and `along` two unit vectors (3,) that span the pupil's plane.
    """

    focal_length: float
    principal: Vector
    axis: Vector
    film_distance: float
    extension: float
    pupil_ratio: float
    pupil_offset: float
    pupil_radius: float
    across: Vector
    along: Vector
    field_curvature: float = 0.0
    """kappa of curvature.py; > 0 focuses nearer away from the axis. [-]"""

    def relative(self, points: Vector) -> Vector:
        """Points (..., 3) of the body frame, seen from O. [m]"""
        return np.asarray(points, float) - self.principal


def hinge(lens: Lens, movement: Movement) -> Vector:
    """The hinge (3,), body frame: `pivot` behind the camera's `at`, carried along the film by shift and rise. [m]"""
    return np.array([movement.shift, movement.rise, -lens.pivot])


def geometry_of(setting: Setting) -> LensGeometry:
    """The geometry of a set lens: O = hinge + (pivot + e) a, d = f - pivot + (pivot + e) a_z, e the extension."""
    lens, movement = setting.lens, setting.movement
    axis = axis_of(movement)
    arm = lens.pivot + setting.extension
    across, along = pupil_axes(axis)
    return LensGeometry(
        focal_length=lens.focal_length,
        principal=hinge(lens, movement) + arm * axis,
        axis=axis,
        film_distance=lens.focal_length - lens.pivot + arm * float(axis[2]),
        extension=setting.extension,
        pupil_ratio=lens.pupil_ratio,
        pupil_offset=lens.entrance_pupil,
        pupil_radius=lens.focal_length / (2.0 * setting.f_number),
        across=across,
        along=along,
        field_curvature=lens.field_curvature,
    )


def pupil_axes(axis: Vector) -> tuple[Vector, Vector]:
    """Two unit vectors (3,) square to a unit axis (3,) and to each other, body frame.

    Components only: the pair's handedness does not matter to a round pupil.
    """
    helper = np.array([0.0, 1.0, 0.0]) if abs(axis[1]) < 0.9 else np.array([1.0, 0.0, 0.0])
    across = helper - float(helper @ axis) * axis
    across = across / np.linalg.norm(across)
    along = np.array(
        [
            axis[1] * across[2] - axis[2] * across[1],
            axis[2] * across[0] - axis[0] * across[2],
            axis[0] * across[1] - axis[1] * across[0],
        ]
    )
    return across, along

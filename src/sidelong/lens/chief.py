"""From the film out into the place: the ray by which each point of the picture sees, through the pupil's centre."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.lens.geometry import LensGeometry

Array = NDArray[np.float64]


def chief_rays(lens: LensGeometry, image: ArrayLike) -> tuple[Array, Array]:
    """Rays that leave the pupil's centre towards what is imaged at points of the picture.

    Parameters
    ----------
    lens : LensGeometry
    image : (N, 2) float array
        Positions on the film, upright in the picture (x right, y up), from the film's centre. [m]

    Returns
    -------
    origin : (3,) float array, body frame
        The entrance pupil's centre. [m]
    directions : (N, 3) float array, body frame
        Unit vectors out into the place. [-]

    Method
    ------
    A film point Q, seen from the principal point, is the image of Q f / (f + a.Q), which the ray from the pupil's
    centre c a passes through: its direction is c a (1 + a.Q / f) - Q, also where that point lies at infinity.
    Field curvature moves points along these rays alone, to first order.
    """
    xy = np.asarray(image, float).reshape(-1, 2)
    film = np.concatenate([-xy, np.full((len(xy), 1), -lens.focal_length)], axis=1) - lens.principal
    pupil = lens.pupil_offset * lens.axis
    way = (1.0 + film @ lens.axis / lens.focal_length)[:, None] * pupil - film
    return lens.principal + pupil, way / np.linalg.norm(way, axis=1, keepdims=True)

"""How bright the sky is in each direction: the fifteen standard skies, and the traditional overcast one.

Luminance is phi(Z) f(chi), up to a factor: gradation phi = 1 + a exp(b / cos Z) over the angle from the zenith,
indicatrix f = 1 + c (exp(d chi) - exp(d pi/2)) + e cos^2 chi over the angle from the sun. Here it is scaled so that
the whole dome gives 1 lux on level ground: times Daylight.sky_horizontal it is cd/m2.

Source
------
iso15469 (form and parameters)
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

Values = NDArray[np.float64]

TRADITIONAL_OVERCAST = 16
"""The CIE's older overcast sky, zenith three times the horizon: (1 + 2 cos Z) / 3."""
_GRADATION = {
    1: (4.0, -0.70), 2: (4.0, -0.70), 3: (1.1, -0.80), 4: (1.1, -0.80), 5: (0.0, -1.00), 6: (0.0, -1.00),
    7: (0.0, -1.00), 8: (0.0, -1.00), 9: (-1.0, -0.55), 10: (-1.0, -0.55), 11: (-1.0, -0.55), 12: (-1.0, -0.32),
    13: (-1.0, -0.32), 14: (-1.0, -0.15), 15: (-1.0, -0.15),
}  # fmt: skip
_INDICATRIX = {
    1: (0.0, -1.0, 0.00), 2: (2.0, -1.5, 0.15), 3: (0.0, -1.0, 0.00), 4: (2.0, -1.5, 0.15), 5: (0.0, -1.0, 0.00),
    6: (2.0, -1.5, 0.15), 7: (5.0, -2.5, 0.30), 8: (10.0, -3.0, 0.45), 9: (2.0, -1.5, 0.15), 10: (5.0, -2.5, 0.30),
    11: (10.0, -3.0, 0.45), 12: (10.0, -3.0, 0.45), 13: (16.0, -3.0, 0.30), 14: (16.0, -3.0, 0.30),
    15: (24.0, -2.8, 0.15),
}  # fmt: skip


def relative_luminance(sky_type: int, direction: ArrayLike, to_sun: ArrayLike) -> Values:
    """Luminance of the sky over the illuminance that the whole sky gives on level ground.

    Parameters
    ----------
    sky_type : int
        1 to 15, or `TRADITIONAL_OVERCAST`.
    direction : (..., 3) float array, z up
        Unit vectors to where the sky is looked at; below the horizon it is 0. [-]
    to_sun : (3,) float array, same frame
        Unit vector; a sun below the horizon is taken to stand at it. [-]

    Returns
    -------
    (...) float array
        [cd/m2 per lx], that is 1/sr

    Raises
    ------
    ValueError
        There is no sky of that type.
    """
    _check(sky_type)
    towards = np.asarray(direction, float)
    sun = _above_horizon(to_sun)
    cosine = np.clip(towards @ sun, -1.0, 1.0)
    height = towards[..., 2]
    shape = _shape(sky_type, np.maximum(height, 0.0), cosine)
    whole = _horizontal(sky_type, round(float(sun[2]), 9))
    return np.asarray(np.where(height >= 0.0, shape / whole, 0.0))


def zenith_luminance(sky_type: int, to_sun: ArrayLike) -> float:
    """`relative_luminance` straight up. [1/sr]"""
    return float(relative_luminance(sky_type, np.array([0.0, 0.0, 1.0]), to_sun))


def _check(sky_type: int) -> None:
    if sky_type != TRADITIONAL_OVERCAST and sky_type not in _GRADATION:
        raise ValueError(f"a sky type from 1 to 15 was expected, not {sky_type}")


def _above_horizon(to_sun: ArrayLike) -> Values:
    x, y, z = (float(v) for v in np.asarray(to_sun, float))
    if z >= 0.0:
        return np.array([x, y, z])
    flat = math.hypot(x, y)
    return np.array([x / flat, y / flat, 0.0]) if flat > 0 else np.array([0.0, 1.0, 0.0])


def _shape(sky_type: int, height: Values, sun_cosine: Values) -> Values:
    """phi(Z) f(chi), cosines of Z and chi given, not yet scaled. [-]"""
    if sky_type == TRADITIONAL_OVERCAST:
        return np.asarray((1.0 + 2.0 * height) / 3.0)
    a, b = _GRADATION[sky_type]
    c, d, e = _INDICATRIX[sky_type]
    gradation = 1.0 + a * np.exp(b / np.maximum(height, 1e-6))
    chi = np.arccos(sun_cosine)
    return np.asarray(gradation * (1.0 + c * (np.exp(d * chi) - math.exp(d * math.pi / 2)) + e * sun_cosine**2))


@lru_cache(maxsize=512)
def _horizontal(sky_type: int, sun_height: float) -> float:
    """Integral of the shape over the dome times the cosine from the zenith; `sun_height` = sine of elevation. [sr]

    Summed over bands from the zenith (Gauss) and around it (evenly), 96 x 192 directions.
    """
    nodes, weights = np.polynomial.legendre.leggauss(96)
    height = (nodes[:, None] + 1.0) / 2.0
    flat = np.sqrt(1.0 - height**2)
    turn = (np.arange(192) + 0.5) * (2 * math.pi / 192)
    cosine = np.clip(height * sun_height + flat * math.sqrt(1.0 - sun_height**2) * np.cos(turn), -1.0, 1.0)
    around = np.mean(_shape(sky_type, np.broadcast_to(height, cosine.shape), cosine), axis=1)
    return float(math.pi * np.sum(weights * height[:, 0] * around))

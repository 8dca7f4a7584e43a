"""What a light meter shows: exposure values and f-stops of a luminance or an illuminance; the softness of a shadow.

N^2 / t = L S / K = E S / C (`iso2720`).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

K_SPOT = 12.5
"""Calibration of a reflected-light meter. [cd s/m2]"""
C_FLAT = 250.0
"""Of an incident meter with a flat receptor. [lx s]"""
C_DOME = 340.0
"""Of an incident meter with a dome. [lx s]"""


def exposure_value(light: float, calibration: float) -> float:
    """EV at ISO 100 of a steady luminance [cd/m2] or illuminance [lx]; -inf in the dark. [-]"""
    return math.log2(100.0 * light / calibration) if light > 0 else -math.inf


def f_stop(steady: float, flash: float, seconds: float, iso: float, calibration: float) -> float:
    """The f-number a meter shows for steady light [cd/m2, lx] over `seconds` and a flash [cd s/m2, lx s]; 0 in the
    dark. [-]"""
    return math.sqrt((steady * seconds + flash) * iso / calibration)


def penumbra(
    outline: NDArray[np.float64], at: NDArray[np.float64], edge: NDArray[np.float64], throw: float
) -> float | None:
    """Width of the half shadow of a straight edge, on a plane square to the light. [m]

    Parameters
    ----------
    outline : (V, 3) array
        Points that the source is the hull of, place frame. [m]
    at, edge : (3,) arrays
        Where the edge is [m], and its direction (any length).
    throw : float
        From the edge to the plane, along the light. [m]

    Returns
    -------
    float or None
        The throw times the difference of the tangents under which the source's two sides are seen, across the edge.
        None where the edge points at the source, or the source reaches round behind it.
    """
    way = outline - at
    middle = way.mean(axis=0)
    across = np.cross(edge, middle)
    if np.linalg.norm(across) < 1e-6 * np.linalg.norm(edge) * np.linalg.norm(middle):
        return None
    along = way @ (middle / np.linalg.norm(middle))
    if along.min() <= 0:
        return None
    return float(throw * np.ptp(way @ (across / np.linalg.norm(across)) / along))

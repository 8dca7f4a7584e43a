"""Chromaticity, correlated colour temperature and Duv.

The correlated colour temperature is that of the Planckian radiator nearest in the CIE 1960 u, v diagram with the
2-degree observer; Duv is the distance to it, positive above the locus (towards green). Found by Ohno's method: a
table of the locus, its nearest entry, then the foot of the perpendicular; here the table is refined three times
around the nearest entry, so that what is left is rounding.

Source
------
cie15 (definition), ohno2014 (method, sign of Duv)
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.spectra.illuminants import planck_values
from sidelong.spectra.observer import tristimulus

Values = NDArray[np.float64]

COLDEST, HOTTEST = 1000.0, 1.0e6
"""Range of temperatures that are told apart; beyond, the nearer end is returned. [K]"""
_ENTRIES, _FINER = 200, 24


def chromaticity(xyz: ArrayLike) -> Values:
    """x, y (..., 2) of tristimulus values (..., 3). [-]"""
    values = np.asarray(xyz, float)
    return np.asarray(values[..., :2] / np.sum(values, axis=-1, keepdims=True))


def uv_1960(xyz: ArrayLike) -> Values:
    """u, v (..., 2) of the CIE 1960 diagram, in which temperatures and Duv are measured. [-]"""
    values = np.asarray(xyz, float)
    below = values @ np.array([1.0, 15.0, 3.0])
    return np.stack([4.0 * values[..., 0] / below, 6.0 * values[..., 1] / below], axis=-1)


def uv_1976(xyz: ArrayLike) -> Values:
    """u', v' (..., 2) of the CIE 1976 diagram, in which differences are measured. [-]"""
    return np.asarray(uv_1960(xyz) * np.array([1.0, 1.5]))


def xyz_of(xy: ArrayLike, luminance: float = 1.0) -> Values:
    """Tristimulus values (..., 3) of chromaticities (..., 2) with Y = `luminance`."""
    given = np.asarray(xy, float)
    x, y = given[..., 0], given[..., 1]
    return np.stack([x / y, np.ones_like(x), (1.0 - x - y) / y], axis=-1) * luminance


def temperature_of(xyz: ArrayLike) -> tuple[float, float]:
    """Correlated colour temperature [K] and Duv [-] of one colour's tristimulus values (3,).

    Temperatures run from 1000 K to a million; the colour of a light beyond either end is given that end's.
    The CIE calls the temperature meaningful while \\|Duv\\| stays under 0.05; it is returned all the same.
    Worked: x, y = 0.3127, 0.3290 gives 6504 K and +0.0032.
    """
    u, v = uv_1960(xyz)
    mireds, locus = _locus()
    for _ in range(3):
        nearest = int(np.argmin(np.hypot(locus[:, 0] - u, locus[:, 1] - v)))
        low, high = mireds[max(nearest - 1, 0)], mireds[min(nearest + 1, len(mireds) - 1)]
        mireds = np.linspace(low, high, _FINER)
        locus = _locus_at(mireds)
    nearest = min(max(int(np.argmin(np.hypot(locus[:, 0] - u, locus[:, 1] - v))), 1), _FINER - 2)
    before, after = locus[nearest - 1], locus[nearest + 1]
    chord = after - before
    span = float(chord @ chord)
    along = min(max(float((np.array([u, v]) - before) @ chord) / span, 0.0), 1.0)
    found = float(mireds[nearest - 1] + along * (mireds[nearest + 1] - mireds[nearest - 1]))
    foot = _locus_at(np.array([found]))[0]
    duv = math.hypot(u - foot[0], v - foot[1])
    return 1e6 / found, math.copysign(duv, v - foot[1])


@cache
def _locus() -> tuple[Values, Values]:
    mireds = np.geomspace(1e6 / HOTTEST, 1e6 / COLDEST, _ENTRIES)
    return mireds, _locus_at(mireds)


def _locus_at(mireds: Values) -> Values:
    return uv_1960(tristimulus(planck_values(1e6 / mireds)))

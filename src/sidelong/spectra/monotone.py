"""Curves through knots that never swing beyond them: reflectances stay between the values they were given."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def monotone(knots: ArrayLike, values: ArrayLike, at: ArrayLike) -> Array:
    """Cubic through three or more knots (N,) ascending, level where neighbours turn; at (M,), end cubics outside.

    Between the knots the slope at each is the weighted harmonic mean of the two sides' (fritsch_butland1984).
    """
    x, y, where = (np.asarray(a, float) for a in (knots, values, at))
    step = np.diff(x)
    rise = np.diff(y) / step
    left, right = 2.0 * step[1:] + step[:-1], step[1:] + 2.0 * step[:-1]
    turns = rise[:-1] * rise[1:] <= 0.0
    one, other = np.where(turns, 1.0, rise[:-1]), np.where(turns, 1.0, rise[1:])
    inner = np.where(turns, 0.0, (left + right) / (left / one + right / other))
    slope = np.concatenate([[_end(step, rise)], inner, [_end(step[::-1], rise[::-1])]])
    k = np.clip(np.searchsorted(x, where, side="right") - 1, 0, len(step) - 1)
    t = (where - x[k]) / step[k]
    a, b = slope[k] * step[k], slope[k + 1] * step[k]
    up = y[k + 1] - y[k]
    return np.asarray(y[k] + t * (a + t * (3.0 * up - 2.0 * a - b + t * (a + b - 2.0 * up))))


def _end(step: Array, rise: Array) -> float:
    """Slope at the first knot: of the parabola through three, kept from turning. [-]"""
    slope = ((2.0 * step[0] + step[1]) * rise[0] - step[0] * rise[1]) / (step[0] + step[1])
    if slope * rise[0] <= 0.0:
        return 0.0
    if rise[0] * rise[1] <= 0.0 and abs(slope) > 3.0 * abs(rise[0]):
        return float(3.0 * rise[0])
    return float(slope)

"""How well a shot's light must be known: which points are worth more light paths than the first few."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

TOTAL_ERROR, SET_ERROR = 0.05, 0.03
"""Standard errors that readings are brought to: of all light at a point, of what a head or the shutter is set by.
[stops]"""
FAR_UNDER = 3.0
"""Flash or ambient light that lies further under the whole may be known less well by a meter that takes all lights
together. [stops]"""
LIGHT_ERROR, LIGHT_UNDER = 0.025, 5.0
"""Standard error that each light at a person is brought to, so that it is off by a tenth but once in ten thousand
times, there being some hundred readings in a shoot; and how far under the whole a light may lie before it is let go.
[stops]"""
METER_ERROR, CHEEK_ERROR = 0.045, 0.03
"""Standard errors that all other readings are brought to, each light's at a mark, flat receptors, domes and the spot,
so that none is printed with 0.05 or more; and each of a person's two cheeks, whose difference is then known to 0.043.
[stops]"""


def excess(
    value: Array,
    error: Array,
    set_by: Sequence[tuple[int, Sequence[int]]],
    people: int = 0,
    others: Sequence[tuple[Array, Array]] = (),
) -> Array:
    """By how many times the worst error at each point (P,) is larger than it may be. [-]

    `value` and `error` (P, L) as exposed, at the powers and the shutter that they lead to [lx s];
    `set_by`: a point and the lights there that a head or the shutter is set by, whose error goes into every point.
    Each light that is not far under the whole is known by itself, best at the first `people` points, which are
    people's; so are the `others`, (value, error) (P, L) each, what other meters show that are held there.
    """
    worst = in_stops(error, value) / TOTAL_ERROR
    for point, lights in set_by:
        here = list(lights)
        worst[point] = max(worst[point], float(in_stops(error[point, here], value[point, here])) / SET_ERROR)
    near = value > value.sum(1, keepdims=True) * 2.0**-LIGHT_UNDER
    goal = np.full(len(value), METER_ERROR)
    goal[:people] = LIGHT_ERROR
    for held, its_error in ((value, error), *others):
        by_itself = np.where(near, in_stops(its_error[..., None], held[..., None]), 0.0).max(1, initial=0.0)
        worst, goal = np.maximum(worst, by_itself / goal), np.full(len(value), METER_ERROR)
    return worst


def error_of_sums(value: Array, error: Array, flash: Sequence[bool], seconds: float) -> Array:
    """Largest standard errors (R,) of what meters show that take all lights together. [stops]

    `value` and `error` (R, L) [lx, lx s, cd/m2, cd s/m2]; steady light counts over `seconds`, and steady light and
    flash each by itself where it is not far under the whole.
    """
    lit = np.array(flash, bool)
    exposed, its_error = (amount * np.where(lit, 1.0, seconds) for amount in (value, error))
    worst = in_stops(its_error, exposed)
    for part in (lit, ~lit):
        large = exposed[:, part].sum(1) > exposed.sum(1) * 2.0**-FAR_UNDER
        worst = np.maximum(worst, np.where(large, in_stops(its_error[:, part], exposed[:, part]), 0.0))
    return worst


def in_stops(error: Array, value: Array) -> Array:
    """Standard errors of sums over the last axis, of independent errors; 0 where nothing arrives. [stops]"""
    total = value.sum(-1)
    spread = np.sqrt((error**2).sum(-1))
    return np.asarray(np.divide(spread, total, out=np.zeros_like(spread), where=total > 0) / math.log(2.0))

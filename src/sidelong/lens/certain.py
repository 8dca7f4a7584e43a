"""The best there is, with the bound that says so: what was found, carried on wherever a proof leaves room for more.

The small programmes of a proof know about where something better could lie. Where there is room after a round, the
solver starts again from there; so an answer that stopped in a lesser valley is found out and mended.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.linear import blurs, stand
from sidelong.lens.many import signed_blurs, within_reach
from sidelong.lens.proof import sides_for, softest_bound, widest_bound
from sidelong.lens.softest import Choices, Soft, softest_from
from sidelong.lens.widest import widest_stop
from sidelong.lens.wish import Wish

Array = NDArray[np.float64]

_GAIN = 1e-6
"""Less is no gain, relative. [-]"""


def certain_widest(wish: Wish, found: tuple[float, Array]) -> tuple[tuple[float, Array], float]:
    """The widest stop and its state (q,) [m], `found` or better, and the f-number that no setting undercuts."""
    best = found

    def attempt(start: Array, rotation: float, sides: Array) -> float | None:
        nonlocal best
        other = widest_stop(wish, [None if math.isnan(rotation) else rotation], _state(wish, start))
        if other is None or other[0] >= best[0] * (1.0 - _GAIN):
            return None
        best = other
        return best[0]

    bound = widest_bound(wish, found[0], attempt)
    return best, min(bound, best[0])


def certain_softest(wish: Wish, inside: Wish, found: Soft) -> tuple[Soft, float]:
    """What is softest at the stop of `found`, that or better, and the major axis that no setting exceeds [m];
    `inside` is the wish with its limits a hair tighter, for the solver."""
    best, f_number = found, found.choice.f_number
    chosen, _ = sides_for(wish)

    def attempt(start: Array, rotation: float, sides: Array) -> float | None:
        nonlocal best
        state = _state(wish, start)
        beside = np.where(signed_blurs(stand(wish, state[None]), f_number, wish.soft) < 0.0, -1.0, 1.0)
        beside[0, chosen] = sides
        other = softest_from(inside, state, Choices(beside, np.array([rotation]), f_number))
        if other is None or least_soft(wish, other) <= least_soft(wish, best) * (1.0 + _GAIN):
            return None
        best = other
        return least_soft(wish, best)

    bound = softest_bound(wish, least_soft(wish, found), float(f_number[0]), attempt)
    return best, bound


def least_soft(wish: Wish, soft: Soft) -> float:
    """The least major axis among the points wanted as soft as can be. [m]"""
    return float(np.min(blurs(wish, soft.state[None], soft.choice.f_number, wish.soft[wish.least_blurs <= 0.0])))


def _state(wish: Wish, start: Array) -> Array:
    """A start (5,) as a state of the wish within the lens's limits. [m]"""
    return np.asarray(within_reach(wish.lens, start[None, : 5 if wish.corrects else 3])[0])

"""Giving up a hair of softness for as much sharpness as it buys.

The softest setting puts the sharp ones on the edge of the limit, where half of all frames fail. Within a set share of
the softness the sharpest setting is sought instead; it mostly brings them well inside.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.blur import blur
from sidelong.lens.cone import minimise
from sidelong.lens.geometry import geometry_of
from sidelong.lens.linear import State, limits, linearise
from sidelong.lens.wish import Wish

Array = NDArray[np.float64]

SOFTNESS_KEPT = 0.993
"""Share of the greatest softness that is always kept. [-]"""
_ROUNDS = 8


def with_leeway(
    wish: Wish, softest: State, f_number: float, sides: Array, rotation: float | None, value: float
) -> tuple[float, State]:
    """Least blur of the soft ones [m], at least SOFTNESS_KEPT of `value`, and the state that is sharpest with it.

    `softest` and `value` are the state of greatest softness and that softness [m]; `sides` says on which side of the
    plane of focus each soft point is to stay. Tangents to the exact ellipses, as long as they improve.
    """
    wanted = (1 + SOFTNESS_KEPT) / 2 * value
    best = value, softest
    sharpest = _worst(wish, softest, f_number)
    state = softest
    for _ in range(_ROUNDS):
        found = _sharpest(wish, state, f_number, sides, rotation, wanted)
        if found is None:
            break
        state = found
        kept = float(np.min(blur(geometry_of(state.setting(wish, f_number)), wish.soft).major))
        worst = _worst(wish, state, f_number)
        if kept < SOFTNESS_KEPT * value:
            continue
        if worst >= sharpest * (1 - 1e-6):
            break
        best, sharpest = (kept, state), worst
    return best


def _worst(wish: Wish, state: State, f_number: float) -> float:
    return float(np.max(blur(geometry_of(state.setting(wish, f_number)), wish.sharp).major))


def _sharpest(
    wish: Wish, state: State, f_number: float, sides: Array, rotation: float | None, wanted: float
) -> State | None:
    linear = linearise(wish, state, f_number, exactly=True)
    k, j = len(linear.sharp), len(linear.soft)
    rows = np.zeros((2 * k + j, 4))
    rows[:k, :3], rows[k : 2 * k, :3], rows[: 2 * k, 3] = linear.sharp, -linear.sharp, -1.0
    rows[2 * k :, :3] = -sides[:, None] * linear.soft
    needed = wanted * f_number / wish.lens.focal_length
    right = np.concatenate([-linear.sharp_constant, linear.sharp_constant, sides * linear.soft_constant - needed])
    solution = minimise(np.array([0.0, 0.0, 0.0, 1.0]), *limits(wish, rotation, linear, rows, right))
    return None if solution is None else State(*(float(v) for v in solution.x[:3]))

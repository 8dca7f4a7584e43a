"""At a stop, the movement that makes the soft ones softest while the sharp ones stay sharp; or the least movement."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import OutOfReach
from sidelong.lens.blur import blur
from sidelong.lens.cone import minimise
from sidelong.lens.geometry import geometry_of
from sidelong.lens.leeway import with_leeway
from sidelong.lens.linear import FIRST_ORDER_ROUNDS, ROUNDS, Linear, State, limits, linearise
from sidelong.lens.ring import extension_for, ring_range
from sidelong.lens.valley import lowest
from sidelong.lens.values import Setting
from sidelong.lens.wish import Wish

Array = NDArray[np.float64]
Rotations = Sequence[float | None]

MOST_SIDES = 6
"""Soft points up to this many choose in front or behind for themselves; the rest go with the last of them."""
REFINED = 3
"""How many of the best first-order choices are carried on to the exact ellipse."""


@dataclass(frozen=True)
class Choice:
    """Which side each soft point is to lie on, the mount's rotation, and the stop, with what first order promises."""

    sides: Array
    rotation: float | None
    f_number: float
    promise: float


def softest(
    wish: Wish, start: State, stops: Sequence[float], rotations: Rotations
) -> tuple[float, float, State] | None:
    """Least blur among the soft points [m] as large as it can be, less a hair that buys the sharp ones leeway, with
    its true f-number and state; None if they cannot be soft.

    For each choice of sides and rotation the promise over the stops has one peak (a concave function of the stop over
    the stop), which is searched in first order; the best few are then carried to the exact ellipse at the peak and
    the stops beside it.
    """
    choices = []
    linear = linearise(wish, start, stops[0])
    for sides in _sides(len(wish.soft)):
        for rotation in rotations:
            choices += _promises(wish, linear, stops, sides, rotation)
    choices.sort(key=lambda c: -c.promise)
    best: tuple[float, Choice, State] | None = None
    refined: set[tuple[bytes, float | None]] = set()
    for choice in choices:
        key = (choice.sides.tobytes(), choice.rotation)
        fresh = key not in refined
        if fresh and len(refined) >= REFINED and best is not None and choice.promise < 0.9 * best[0]:
            break
        refined.add(key)
        found = _pushed_apart(wish, start, choice)
        if found is not None and (best is None or found[0] > best[0]):
            best = found[0], choice, found[1]
    if best is None:
        return None
    value, choice, state = best
    kept, state = with_leeway(wish, state, choice.f_number, choice.sides, choice.rotation, value)
    return kept, choice.f_number, state


def _sides(soft: int) -> list[Array]:
    free = min(soft, MOST_SIDES)
    return [np.array([*s, *[s[-1]] * (soft - free)]) for s in itertools.product((1.0, -1.0), repeat=free)]


def _promises(
    wish: Wish, linear: Linear, stops: Sequence[float], sides: Array, rotation: float | None
) -> list[Choice]:
    """First-order promises at the peak over the stops and the two stops beside it."""
    known: dict[int, float] = {}

    def promise(k: int) -> float:
        if k not in known:
            known[k] = _promise(wish, linear, stops[k], sides, rotation)
        return known[k]

    low, high = 0, len(stops) - 1
    while high - low > 2:
        middle = (low + high) // 2
        if promise(middle) < promise(middle + 1) or promise(middle) <= 0.0:
            low = middle + 1
        else:
            high = middle
    for k in range(low, high + 1):
        promise(k)
    peak = max(known, key=lambda k: known[k])
    beside = [k for k in (peak - 1, peak, peak + 1) if 0 <= k < len(stops) and promise(k) > 0.0]
    return [Choice(sides, rotation, stops[k], known[k]) for k in beside]


def _promise(wish: Wish, linear: Linear, f_number: float, sides: Array, rotation: float | None) -> float:
    solution = _pushed(wish, linear, f_number, sides, rotation)
    return 0.0 if solution is None else float(solution[3]) * wish.lens.focal_length / f_number


def _pushed(wish: Wish, linear: Linear, f_number: float, sides: Array, rotation: float | None) -> Array | None:
    """(d a_x, d a_y, d, least soft blur times N/f) that is best in the linear problem; None where there is none."""
    allowed = wish.blur_limit * f_number / wish.lens.focal_length
    k, j = len(linear.sharp), len(linear.soft)
    rows = np.zeros((2 * k + j, 4))
    rows[:k, :3], rows[k : 2 * k, :3] = linear.sharp, -linear.sharp
    rows[2 * k :, :3], rows[2 * k :, 3] = -sides[:, None] * linear.soft, 1.0
    right = np.concatenate(
        [allowed - linear.sharp_constant, allowed + linear.sharp_constant, sides * linear.soft_constant]
    )
    solution = minimise(np.array([0.0, 0.0, 0.0, -1.0]), *limits(wish, rotation, linear, rows, right))
    return None if solution is None or solution.x[3] <= 0 else solution.x


def _pushed_apart(wish: Wish, start: State, choice: Choice) -> tuple[float, State] | None:
    state, best = start, None
    for round_ in range(ROUNDS):
        linear = linearise(wish, state, choice.f_number, exactly=round_ >= FIRST_ORDER_ROUNDS)
        found = _pushed(wish, linear, choice.f_number, choice.sides, choice.rotation)
        if found is None:
            break
        state = State(*(float(v) for v in found[:3]))
        glass = geometry_of(state.setting(wish, choice.f_number))
        if np.max(blur(glass, wish.sharp).major) <= wish.blur_limit * (1 + 1e-6):
            value = float(np.min(blur(glass, wish.soft).major))
            settled = best is not None and abs(value - best[0]) < 1e-9 * value
            best = (value, state) if best is None or value > best[0] else best
            if settled:
                break
    return best


def least_movement(wish: Wish, start: State, f_number: float, limit: float, rotations: Rotations) -> State | None:
    """Nobody is wanted soft: the state of the smallest movement that keeps the sharp ones within a limit [m]."""
    allowed = limit * f_number / wish.lens.focal_length
    best: State | None = None
    for rotation in rotations:
        state = start
        for round_ in range(ROUNDS):
            linear = linearise(wish, state, f_number, exactly=round_ >= FIRST_ORDER_ROUNDS)
            k = len(linear.sharp)
            rows = np.zeros((2 * k, 4))
            rows[:k, :3], rows[k:, :3] = linear.sharp, -linear.sharp
            right = np.concatenate([allowed - linear.sharp_constant, allowed + linear.sharp_constant])
            below, cones = limits(wish, rotation, linear, rows, right)
            length = np.array([[0, 0, 0, -1], [-1, 0, 0, 0], [0, -1, 0, 0]], float)
            solution = minimise(np.array([0.0, 0.0, 1e-6, 1.0]), below, [*cones, (length, np.zeros(3))])
            if solution is None:
                break
            state = State(*(float(v) for v in solution.x[:3]))
            worst = float(np.max(blur(geometry_of(state.setting(wish, f_number)), wish.sharp).major))
            within = worst <= limit * 1.000001
            if within and (best is None or math.hypot(state.x, state.y) < math.hypot(best.x, best.y)):
                best = state
    return best


def ring_in_the_middle(wish: Wish, setting: Setting) -> Setting:
    """The same movement with the ring where the softest of the sharp ones is sharpest.

    With a movement that leaves one of them just past the ring's infinity, infinity is as near as it gets.
    """
    infinity, near_end = ring_range(wish.lens)

    def reached(point: Array) -> float:
        try:
            return min(extension_for(wish.lens, setting.movement, point), near_end)
        except OutOfReach:
            return infinity

    reach = [reached(p) for p in wish.sharp]
    if len(reach) == 1:
        return replace(setting, extension=reach[0])

    def worst(extension: float) -> float:
        return float(np.max(blur(geometry_of(replace(setting, extension=extension)), wish.sharp).major))

    span = (min(reach), max(reach))
    if span[1] - span[0] < 1e-12:
        return replace(setting, extension=span[0])
    best = min((lowest(worst, *span, 1e-10), setting.extension), key=worst)
    return replace(setting, extension=best)

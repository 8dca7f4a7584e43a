"""The widest stop at which all the sharp ones are within the limit, for one rotation of the mount or a free one."""

from __future__ import annotations

import math

import numpy as np

from sidelong.errors import OutOfReach
from sidelong.lens.cone import minimise
from sidelong.lens.linear import FIRST_ORDER_ROUNDS, ROUNDS, State, limits, linearise, near
from sidelong.lens.ring import extension_for, ring_range
from sidelong.lens.stop import FASTEST, stop_needed
from sidelong.lens.values import Movement
from sidelong.lens.wish import Wish


def widest_stop(wish: Wish, rotation: float | None) -> tuple[float, State] | None:
    """Least true f-number (it may lie under the lens's widest) with its state, for one rotation or a free one."""
    state, f_number, radius = straight(wish), wish.marks[0], math.inf
    best: tuple[float, State] | None = None
    for round_ in range(ROUNDS + 6):
        exactly = round_ >= FIRST_ORDER_ROUNDS
        linear = linearise(wish, state, f_number, exactly)
        k = len(linear.sharp)
        rows = np.zeros((2 * k, 4))
        rows[:k, :3], rows[k:, :3], rows[:, 3] = linear.sharp, -linear.sharp, -1.0
        right = np.concatenate([-linear.sharp_constant, linear.sharp_constant])
        if exactly:
            radius = min(radius, 0.02)
            rows, right = near(rows, right, state, radius)
        solution = minimise(np.array([0.0, 0.0, 1e-9, 1.0]), *limits(wish, rotation, linear, rows, right))
        if solution is None:
            return best
        tried = State(*(float(v) for v in solution.x[:3]))
        value = stop_needed(tried.setting(wish, wish.marks[0]), wish.sharp, wish.blur_limit)
        settled = best is not None and abs(value - best[0]) <= 1e-11 * best[0]
        if best is None or value < best[0]:
            best, state = (value, tried), tried
            f_number = max(value, FASTEST)
        elif exactly:
            state, radius = best[1], radius / 4
        else:
            state = tried
        if exactly and (settled or radius < 1e-7 or value < 1e-6):
            break
    return best


def straight(wish: Wish) -> State:
    """The lens unmoved, focused on the middle of the sharp points or as near as the ring goes."""
    lens = wish.lens
    middle = wish.sharp.mean(axis=0)
    infinity, near_end = ring_range(lens)
    try:
        extension = min(extension_for(lens, Movement(0.0, 0.0, wish.rise, wish.shift), middle), near_end)
    except OutOfReach:
        # past infinity, or nearer than the lens images at all: a movement may still reach it
        extension = infinity if middle[2] > 4 * lens.focal_length else near_end
    return State(0.0, 0.0, lens.focal_length + extension)

"""The widest stop at which all the sharp ones are within the limit, for each rotation of the mount or a free one."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import OutOfReach
from sidelong.lens.linear import Linear, Rotations, blurs, chosen, linearise, solved, ways
from sidelong.lens.many import within_reach
from sidelong.lens.ring import extension_for, ring_range
from sidelong.lens.simplex import Corners
from sidelong.lens.stop import FASTEST
from sidelong.lens.values import Movement
from sidelong.lens.wish import Wish

Array = NDArray[np.float64]

FIRST_ORDER_ROUNDS = 3
"""Rounds scaled to the exact ellipse before tangents take over."""
_MOST_ROUNDS = 18
_RADIUS = 0.02
"""How far a first step along tangents may go, in film distances. [-]"""
_WORTH = 1.08
"""Rotations that in first order need a stop so many times the best one's are left. [-]"""
SETTLED = 1e-8
"""Less to gain than this ends the search, relative. [-]"""
_NOTHING = 1e-6
"""A stop under this only tells of rounding: the points are sharp at any aperture. [-]"""


def widest_stop(
    wish: Wish,
    rotations: Rotations,
    start: Array | None = None,
    settled: float = SETTLED,
    enough: float = _NOTHING,
) -> tuple[float, Array] | None:
    """Least true f-number (it may lie under the lens's widest) with its state (q,) [m], over all rotations; None
    where no setting keeps framing and image circle. A `start` (q,) near the answer saves the first rounds; less to
    gain than `settled`, relative, ends the search, and so does a stop of `enough`."""
    turn = np.array([math.nan if r is None else r for r in rotations])
    if start is None and len(turn) > 3:
        turn = _promising(wish, turn)
    count = len(turn)
    states = np.tile(straight(wish) if start is None else start, (count, 1))
    f_numbers = np.full(count, wish.marks[0])
    value, best, radius = np.full(count, np.inf), states, np.full(count, _RADIUS)
    guess: NDArray[np.int64] | None = None
    early, lines, kept = 0 if start is not None else FIRST_ORDER_ROUNDS, None, None
    closed = np.zeros(count, bool)
    for round_ in range(_MOST_ROUNDS):
        exactly = round_ >= early
        lines = linearise(wish, states, f_numbers, exactly)
        reached = np.where(lines.held, _stops(wish, lines, f_numbers), np.inf)
        better = reached < value * (1.0 - 1e-13)
        now = np.where(better, reached, 0.0)
        gained = np.where(np.isfinite(value), value, 2.0 * now) - now
        if round_ > early:
            radius = np.where(np.isfinite(value) & ~better, radius / 4, radius)
            closed |= (better & (gained < settled * value)) | (radius < 1e-7)
        value, best = np.where(better, reached, value), np.where(better[:, None], states, best)
        closed |= value < enough
        if closed.all():
            break
        f_numbers = np.clip(_stops(wish, lines, f_numbers), FASTEST, 64.0)
        if exactly:
            # go on from the best so far, with its own tangents
            kept = lines if kept is None else chosen(better | ~np.isfinite(value), lines, kept)
            base = np.where(np.isfinite(value)[:, None], best, states)
            found = _step(wish, base, kept, turn, radius, guess)
        else:
            found = _step(wish, states, lines, turn, None, guess)
        sound = np.isfinite(found.x[:, 0])
        guess = found.active
        if exactly:
            promised = found.x[:, -1] * wish.lens.focal_length / wish.blur_limit
            closed |= np.isfinite(value) & ~(promised < value * (1.0 - settled))
            if closed.all():
                break
        states = np.where(
            sound[:, None], within_reach(wish.lens, np.where(sound[:, None], found.x[:, :-1], states)), best
        )
    final = np.where(np.isfinite(value), stops_needed(wish, best), np.inf)
    k = int(np.argmin(final * (1.0 + 1e-9 * np.arange(count))))
    return (float(final[k]), best[k]) if math.isfinite(final[k]) else None


def _promising(wish: Wish, turn: Array) -> Array:
    """Of the rotations (B,) those that may hold the widest stop, by exact stops after rounds in first order."""
    states = np.tile(straight(wish), (len(turn), 1))
    f_numbers, reached = np.full(len(turn), wish.marks[0]), np.full(len(turn), np.inf)
    guess: NDArray[np.int64] | None = None
    for _ in range(FIRST_ORDER_ROUNDS):
        lines = linearise(wish, states, f_numbers, exactly=False)
        found = _step(wish, states, lines, turn, None, guess)
        sound, guess = np.isfinite(found.x[:, :1]), found.active
        states = within_reach(wish.lens, np.where(sound, found.x[:, :-1], states))
        f_numbers = np.clip(stops_needed(wish, states), FASTEST, 64.0)
        reached = np.minimum(reached, f_numbers)
    order = np.argsort(reached, kind="stable")
    good = order[reached[order] <= _WORTH * reached[order[0]]]
    return np.asarray(turn[good if len(good) > 3 else order[:3]])


def _stops(wish: Wish, lines: Linear, f_numbers: Array) -> Array:
    """Stops needed (B,) where lines stand, by one over N from the stops they were drawn at."""
    return np.asarray(
        f_numbers * np.where(np.isnan(lines.sharp_here), 1e6, lines.sharp_here).max(axis=1) / wish.blur_limit
    )


def _step(
    wish: Wish, states: Array, linear: Linear, turn: Array, radius: Array | None, guess: NDArray[np.int64] | None
) -> Corners:
    rows = np.concatenate([linear.sharp, -linear.sharp, linear.more], axis=1)
    right = np.concatenate([-linear.sharp_constant, linear.sharp_constant, linear.more_right], axis=1)
    column = np.zeros(right.shape)
    column[:, : 2 * linear.sharp.shape[1]] = -1.0
    worst = np.abs((linear.sharp @ states[:, :, None])[:, :, 0] + linear.sharp_constant).max(axis=1)
    return solved(1.0, ways(wish, states, turn, radius), rows, right, column, 4.0 * worst + 1e-6, guess)


def straight(wish: Wish) -> Array:
    """The lens unmoved, focused on the middle of the sharp points or as near as the ring goes: a state (q,). [m]"""
    lens = wish.lens
    middle = wish.sharp.mean(axis=0)
    infinity, near_end = ring_range(lens)
    try:
        extension = min(extension_for(lens, Movement(0.0, 0.0, wish.rise, wish.shift), middle), near_end)
    except OutOfReach:
        # past infinity, or nearer than the lens images at all: a movement may still reach it
        extension = infinity if middle[2] > 4 * lens.focal_length else near_end
    state = [0.0, 0.0, lens.focal_length + extension]
    return np.asarray(within_reach(lens, np.array([[*state, wish.shift, wish.rise] if wish.corrects else state]))[0])


def stops_needed(wish: Wish, states: Array) -> Array:
    """Least true f-numbers (G,) at which states (G, q) [m] have all the sharp points within the limit. Blur is nearly
    as one over N; four rounds of that rule on the exact ellipse settle it."""
    f_numbers = np.full(len(states), wish.marks[0])
    for _ in range(4):
        trial = np.maximum(f_numbers, FASTEST)
        f_numbers = trial * np.max(blurs(wish, states, trial, wish.sharp), axis=1) / wish.blur_limit
        f_numbers = np.minimum(f_numbers, 1e6)
    return np.where(f_numbers > _NOTHING, f_numbers, 0.0)

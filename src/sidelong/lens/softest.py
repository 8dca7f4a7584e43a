"""At a stop, the state that makes the soft ones softest while the sharp ones stay sharp.

Whom the plane of focus passes in front of and whom behind, how the mount stands, and the stop: each choice is one
small linear programme. First order tells the promising ones, all programmes in step; the best few are carried to the
exact ellipses along tangents. Giving up a hair of softness then buys the sharp ones what leeway it can, for the
softest setting puts them on the edge of the limit, where half of all frames fail.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.linear import Linear, Rotations, chosen, linearise, solved, ways
from sidelong.lens.many import within_reach
from sidelong.lens.simplex import Corners
from sidelong.lens.wish import Wish

Array = NDArray[np.float64]

MOST_SIDES = 6
"""Soft bodies up to this many choose in front or behind for themselves; the rest go with the last of them."""
REFINED = 8
"""How many choices, the best in first order, are carried on to the exact ellipse."""
WORTH = 0.75
"""Choices that promise less than this part of the best one are left. [-]"""
SOFTNESS_KEPT = 0.995
"""Share of the greatest softness that is kept while the sharp ones gain leeway. [-]"""
FOLLOWED = 1e-4
"""How near to settled a choice that is followed must be, relative. [-]"""
_FOLLOWING = 5
_COARSE = 3
"""Every third of the stops is tried first."""
_ROUNDS = 14
_RADIUS = 0.05
"""How far a first step along tangents may go, in film distances. [-]"""
_WITHIN = 1e-6
"""Limits are held to this, relative. [-]"""
_MOST_BLUR = 0.05
"""No softer than this on the film. [m]"""


@dataclass(frozen=True)
class Aim:
    """What the programmes strive for: the largest t with every soft blur at least `per` t + `fixed` [m], (K,) each;
    or the smallest t with every sharp blur at most t times the limit, where `sharper`."""

    per: Array
    fixed: Array
    sharper: bool = False

    @property
    def most(self) -> float:
        """Where t ends: a share ends at 1, a blur at what no film shows."""
        return _MOST_BLUR if not self.sharper and np.max(self.per, initial=0.0) == 1.0 else 1.0

    def score(self, sharp: Array, soft: Array) -> Array:
        """Of exact blurs, sharp (G, S) over the limit and soft (G, K) [m]: t, or -t where small is good; -inf where a
        limit is not held. (G,)"""
        held = (sharp <= 1.0 + _WITHIN).all(axis=1) & (soft >= self.fixed * (1.0 - _WITHIN)).all(axis=1)
        counts = self.per > 0.0
        if self.sharper:
            reached = -sharp.max(axis=1)
        else:
            reached = np.minimum((soft[:, counts] / self.per[counts]).min(axis=1, initial=np.inf), self.most)
        return np.where(held, reached, -np.inf)


@dataclass(frozen=True)
class Choices:
    """C choices: the side (C, K) of each soft point, +1 beyond the plane of focus; the mount's rotation (C,), nan
    where free [rad]; the true f-number (C,)."""

    sides: Array
    rotation: Array
    f_number: Array

    def only(self, which: NDArray[np.int64]) -> Choices:
        """Those at the given positions."""
        return Choices(self.sides[which], self.rotation[which], self.f_number[which])


@dataclass(frozen=True)
class Soft:
    """What was found: the state (q,) [m] and the choice behind it, one."""

    state: Array
    choice: Choices


def aim_of(wish: Wish) -> Aim:
    """As soft as can be, for those that state no least blur; without any, the sharp ones as sharp as can be."""
    plain = wish.least_blurs <= 0.0
    return Aim(plain.astype(float), wish.least_blurs, sharper=not np.any(plain))


def softest(wish: Wish, start: Array, stops: Sequence[float], rotations: Rotations) -> Soft | None:
    """The best of all choices; None where no choice serves. `start` (q,) is a state in which all are sharp. [m]

    With a least blur for each soft one the stop is the widest that serves: a smaller one would make the sharp ones
    sharper still, for light that nobody asked to give up.
    """
    aim = aim_of(wish)
    if aim.sharper and len(stops) > 1:
        each = (softest(wish, start, [stop], rotations) for stop in stops)
        return next((found for found in each if found is not None), None)
    choices, states = _promising(wish, start, stops, rotations, aim)
    found = _best(wish, aim, choices, states) if len(states) else None
    return found if found or not np.any(aim.fixed > 0.0) else _from_least(wish, start, stops, rotations)


def _from_least(wish: Wish, start: Array, stops: Sequence[float], rotations: Rotations) -> Soft | None:
    """The best from states that have the least blurs already: first order, far from any, may not promise them."""
    choices, states = _promising(wish, start, stops, rotations, Aim(wish.least_blurs, np.zeros(len(wish.soft))))
    if len(states) == 0:
        return None
    share, states = carried(wish, Aim(wish.least_blurs, np.zeros(len(wish.soft))), choices, states)
    good = np.flatnonzero(share >= 1.0 - _WITHIN)
    return _best(wish, aim_of(wish), choices.only(good), states[good]) if len(good) else None


def near_softest(
    wish: Wish, start: Array, last: Choices, stops: Sequence[float], rotations: Rotations
) -> Soft | None:
    """The same for the sides of a choice made before, at its stop and rotation and those next to them, from a state
    near the answer."""
    k = int(np.argmin(np.abs(np.log(np.asarray(stops) / last.f_number[0]))))
    beside = [(n, float(last.rotation[0])) for n in stops[max(0, k - 1) : k + 2]]
    if len(rotations) > 3:
        step = 2.0 * math.pi / len(rotations)
        beside += [(stops[k], float(last.rotation[0]) + way * step) for way in (1.0, -1.0)]
    table = np.array(beside)
    choices = Choices(np.repeat(last.sides, len(table), axis=0), table[:, 1], table[:, 0])
    return _best(wish, aim_of(wish), choices, np.tile(start, (len(table), 1)), _FOLLOWING, FOLLOWED)


def softest_from(wish: Wish, start: Array, choice: Choices) -> Soft | None:
    """The best of one choice from a state (q,) near it [m]; None where it does not serve."""
    return _best(wish, aim_of(wish), choice, start[None])


def share_of_least(wish: Wish, start: Array, stops: Sequence[float], rotations: Rotations) -> float:
    """The greatest share of their least blurs that the soft points which state one can have all at once. [-]"""
    aim = Aim(wish.least_blurs, np.zeros(len(wish.soft)))
    choices, states = _promising(wish, start, stops, rotations, aim)
    if len(states) == 0:
        return 0.0
    score, _ = carried(wish, aim, choices, states)
    return max(0.0, float(np.max(score)))


def _best(
    wish: Wish, aim: Aim, choices: Choices, states: Array, rounds: int = _ROUNDS, good_enough: float = 1e-6
) -> Soft | None:
    score, states = carried(wish, aim, choices, states, rounds, good_enough)
    # with a least blur for each, the sharpest of the widest stop that serves
    wide = choices.f_number <= np.min(choices.f_number[np.isfinite(score)], initial=np.inf)
    k = np.array([int(np.argmax(np.where(wide, score, -np.inf) if aim.sharper else score))])
    if not math.isfinite(score[k[0]]):
        return None
    found = Soft(states[k[0]], choices.only(k))
    return found if aim.sharper else _with_leeway(wish, aim, found, float(score[k[0]]))


def _with_leeway(wish: Wish, aim: Aim, found: Soft, softness: float) -> Soft:
    """The sharpest state that keeps SOFTNESS_KEPT of the softness; mostly it brings the sharp ones well inside."""
    kept = Aim(np.zeros(len(aim.per)), np.maximum(aim.fixed, aim.per * SOFTNESS_KEPT * softness), sharper=True)
    score, states = carried(wish, kept, found.choice, found.state[None], rounds=5, good_enough=1e-3)
    return Soft(states[0], found.choice) if math.isfinite(score[0]) else found


def _sides(wish: Wish) -> Array:
    """(2^bodies, K): every choice of a side for every body."""
    bodies, of = np.unique(wish.sides_of, return_inverse=True)
    free = min(len(bodies), MOST_SIDES)
    return np.array(list(itertools.product((1.0, -1.0), repeat=free)))[:, np.minimum(of, free - 1)]


@dataclass(frozen=True)
class _Menu:
    """All that may be chosen: sides (A, K), rotations (R,), nan where free [rad], stops (F,), with the lines around
    the state (q,) [m] that first order starts from."""

    wish: Wish
    aim: Aim
    sides: Array
    turn: Array
    stops: Array
    start: Array
    lines: Linear

    def choices(self, keys: NDArray[np.int64]) -> Choices:
        """Of keys (C, 3): positions of side, rotation, stop."""
        return Choices(self.sides[keys[:, 0]], self.turn[keys[:, 1]], self.stops[keys[:, 2]])

    def promises(self, keys: NDArray[np.int64]) -> tuple[Array, Array]:
        """What first order promises for keys (C, 3), -inf for nothing, and the states (C, q). [m]"""
        wide = Linear(*(np.repeat(v, len(keys), axis=0) for v in vars(self.lines).values()))
        states = np.tile(self.start, (len(keys), 1))
        value, found = _programmes(self.wish, wide, self.aim, self.choices(keys), states, None)
        return value, found.x[:, :-1]


def _promising(
    wish: Wish, start: Array, stops: Sequence[float], rotations: Rotations, aim: Aim
) -> tuple[Choices, Array]:
    """The choices worth carrying on and their states in first order (C, q), best first.

    Over the stops the promise of a side and a rotation has one peak (a concave function of the stop over the stop):
    every third stop, then those beside the best.
    """
    turn = np.array([math.nan if r is None else r for r in rotations])
    lines = linearise(wish, start[None], np.array([stops[0]]), exactly=False)
    menu = _Menu(wish, aim, _sides(wish), turn, np.asarray(stops), start, lines)
    count = len(menu.sides), len(turn), len(stops)
    every = np.stack([v.ravel() for v in np.meshgrid(*(np.arange(n) for n in count), indexing="ij")], axis=1)
    first = min(len(stops) - 1, _COARSE // 2)
    coarse = (every[:, 2] - first) % _COARSE == 0
    keys = every[coarse]
    promise, states = menu.promises(keys)
    more = every[~coarse]
    if np.isfinite(promise).any():
        near = _beside(promise, keys, aim, count)
        more = more[near[more[:, 0], more[:, 1], more[:, 2]]]
    if len(more):
        further = menu.promises(more)
        promise, states = np.concatenate([promise, further[0]]), np.concatenate([states, further[1]])
        keys = np.concatenate([keys, more])
    order = np.argsort(-promise, kind="stable")
    order = order[np.isfinite(promise[order])]
    if len(order):
        order = order[promise[order] >= _worth(promise[order[0]], aim)][:REFINED]
    return menu.choices(keys[order]), states[order]


def _beside(promise: Array, keys: NDArray[np.int64], aim: Aim, count: tuple[int, int, int]) -> NDArray[np.bool_]:
    """Which sides, rotations and stops (`count` of each) lie up to two stops from the best of a side and a rotation,
    where that is worth it."""
    table = np.full(count, -np.inf)
    table[keys[:, 0], keys[:, 1], keys[:, 2]] = promise
    peak, best = table.argmax(axis=2), table.max(axis=2)
    near = np.abs(np.arange(count[2]) - peak[:, :, None]) < _COARSE
    return np.asarray(near & (best >= _worth(float(best.max()), aim))[:, :, None])


def _worth(best: float, aim: Aim) -> float:
    """The least promise that is looked at beside the best one."""
    return best / WORTH if aim.sharper else best * WORTH


def _programmes(
    wish: Wish, linear: Linear, aim: Aim, choices: Choices, states: Array, radius: Array | None,
    guess: NDArray[np.int64] | None = None,
) -> tuple[Array, Corners]:  # fmt: skip
    """The programmes of C choices linearised around states (C, q): what they promise (C,), -inf for nothing, and
    their corners."""
    per_metre = (choices.f_number / wish.lens.focal_length)[:, None]
    k, j = linear.sharp.shape[1], linear.soft.shape[1]
    sides = choices.sides
    rows = np.concatenate([linear.sharp, -linear.sharp, -sides[:, :, None] * linear.soft, linear.more], axis=1)
    limit = per_metre * wish.blur_limit
    sharp_room = np.zeros((len(states), k)) if aim.sharper else np.broadcast_to(limit, (len(states), k))
    right = np.concatenate(
        [
            sharp_room - linear.sharp_constant,
            sharp_room + linear.sharp_constant,
            sides * linear.soft_constant - per_metre * aim.fixed,
            linear.more_right,
        ],
        axis=1,
    )
    column = np.zeros(right.shape)
    column[:, : 2 * k] = -limit if aim.sharper else 0.0
    column[:, 2 * k : 2 * k + j] = per_metre * aim.per
    found = solved(
        1.0 if aim.sharper else -1.0,
        ways(wish, states, choices.rotation, radius),
        rows,
        right,
        column,
        np.full(len(states), aim.most),
        guess,
    )
    t = found.x[:, -1]
    value = np.where(np.isfinite(t) & (aim.sharper | (t > 0.0)), -t if aim.sharper else t, -np.inf)
    return value, found


def carried(
    wish: Wish, aim: Aim, choices: Choices, states: Array, rounds: int = _ROUNDS, good_enough: float = 1e-6
) -> tuple[Array, Array]:
    """The exact score (C,), -inf where limits cannot be held, and the states (C, q) that C choices come to from
    states near them, along tangents within a shrinking step."""
    count = len(states)
    states = within_reach(wish.lens, states)
    value, best, radius = np.full(count, -np.inf), states, np.full(count, _RADIUS)
    kept: Linear | None = None
    guess: NDArray[np.int64] | None = None
    closed = np.zeros(count, bool)
    for round_ in range(rounds):
        lines = linearise(wish, states, choices.f_number)
        score = np.where(lines.held, aim.score(lines.sharp_here / wish.blur_limit, lines.soft_here), -np.inf)
        better, known = score > value, np.isfinite(value)
        gained = np.where(known & better, score, 0.0) - np.where(known, value, 0.0)
        radius = np.where(known & ~better, radius / 4, radius)
        closed |= (known & better & (gained <= good_enough * np.abs(score))) | (radius < 1e-6)
        value, best = np.where(better, score, value), np.where(better[:, None], states, best)
        if closed.all() or round_ == rounds - 1:
            break
        # go on from the best so far, with its own tangents; until there is one, from wherever the last step led
        known = np.isfinite(value)
        kept = lines if kept is None else chosen(better | ~known, lines, kept)
        base = np.where(known[:, None], best, states)
        promised, found = _programmes(wish, kept, aim, choices, base, radius, guess)
        sound, guess = np.isfinite(found.x[:, 0]), found.active
        enough = np.where(known, value + good_enough * np.abs(np.where(known, value, 0.0)), -np.inf)
        closed |= ~sound | ~(promised > enough)
        if closed.all():
            break
        states = within_reach(wish.lens, np.where(sound[:, None], found.x[:, :-1], base))
    return value, best

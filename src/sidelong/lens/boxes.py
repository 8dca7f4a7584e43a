"""Boxes of settings of a lens, many at once: what a proof cuts up.

A box is five intervals: the lens axis along a direction of the film (`turn`) and square to it, the ring's extension,
the shift along that direction and square to it. A mount that turns freely has the film's own x and y for directions;
each step of another is a box of its own whose axis has no part square to it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.interval import Interval
from sidelong.lens.ring import ring_range
from sidelong.lens.wish import Wish

Array = NDArray[np.float64]

SIDES = 5
_SCALE = (0.02, 0.02, 0.05, 0.1, 0.1)
"""Sides count for cutting in these units, lengths in focal lengths. [-]"""


@dataclass(frozen=True)
class Boxes:
    """B boxes: `low`, `high` (B, 5) of the axis along and across [-], the extension, the shift along and across [m];
    `turn` (B,) of their directions on the film [rad]; `sides` (B, K) of the soft points, +1 beyond the plane of focus
    [-]; `bound` (B,) the best cost that each may still have, and `start` (B, 5) where about, as a state of linear.py
    with its shift, film axes [m], nan where not known."""

    low: Array
    high: Array
    turn: Array
    sides: Array
    bound: Array
    start: Array

    def __len__(self) -> int:
        return len(self.turn)

    def side(self, k: int) -> Interval:
        """One side of all boxes, as columns (B, 1)."""
        return Interval(self.low[:, k : k + 1], self.high[:, k : k + 1])

    def only(self, which: NDArray[np.bool_] | NDArray[np.int64]) -> Boxes:
        """Some of them."""
        return Boxes(*(v[which] for v in vars(self).values()))

    def knowing(self, bound: Array, start: Array) -> Boxes:
        """The same with other bounds (B,) and starts (B, 5)."""
        return replace(self, bound=bound, start=start)

    def trimmed(self, low: Array, high: Array) -> Boxes:
        """What of each lies within other sides (B, 5)."""
        return replace(self, low=np.maximum(self.low, low), high=np.minimum(self.high, high))

    def widths(self, focal_length: float) -> Array:
        """Sides (B, 5) as they count for cutting. [-]"""
        unit = np.array(_SCALE) * [1.0, 1.0, focal_length, focal_length, focal_length]
        return np.asarray((self.high - self.low) / unit)

    def halves(self, focal_length: float) -> Boxes:
        """Each cut across its longest side."""
        here = np.arange(len(self))
        k = self.widths(focal_length).argmax(axis=1)
        first, second = self.high.copy(), self.low.copy()
        first[here, k] = second[here, k] = (self.low[here, k] + self.high[here, k]) / 2
        return joined(replace(self, high=first), replace(self, low=second))

    def outside(self, most: float) -> NDArray[np.bool_]:
        """Which are empty, or lie wholly beyond a sine `most` of the movement. [-]"""
        nearest = np.maximum(0.0, np.maximum(self.low[:, :2], -self.high[:, :2]))
        beyond = np.hypot(nearest[:, 0], nearest[:, 1]) > most * (1 + 1e-12)
        return np.asarray(beyond | (self.low > self.high).any(axis=1))


def joined(one: Boxes, two: Boxes) -> Boxes:
    """All of both."""
    pairs = zip(vars(one).values(), vars(two).values(), strict=True)
    return Boxes(*(np.concatenate([a, b]) for a, b in pairs))


def whole(wish: Wish, sides: Array) -> Boxes:
    """The boxes that together hold every setting the lens has, once for each of `sides` (A, K); bounds at -inf."""
    lens = wish.lens
    most, reach = math.sin(lens.movement), ring_range(lens)
    count = max(1, round(2 * math.pi / lens.rotation_step)) if lens.rotation_step > 0.0 and most > 0.0 else 0
    turn = 2 * math.pi * np.arange(count) / count if count else np.zeros(1)
    low, high = np.zeros((len(turn), SIDES)), np.zeros((len(turn), SIDES))
    low[:, 2], high[:, 2] = reach
    high[:, 0] = most
    if not count:
        low[:, 0], low[:, 1], high[:, 1] = -most, -most, most
    if wish.corrects:
        low[:, 3:], high[:, 3:] = -lens.shift, lens.shift
    else:
        low[:, 3:] = high[:, 3:] = turned(np.array([[wish.shift, wish.rise]]), turn)[:, 0]
    each = np.repeat(np.arange(len(turn)), len(sides))
    bound, start = np.full(len(each), -np.inf), np.full((len(each), SIDES), np.nan)
    return Boxes(low[each], high[each], turn[each], np.tile(sides, (len(turn), 1)), bound, start)


def turned(vectors: Array, turn: Array) -> Array:
    """Vectors (N, 2) of the film, x and y, as their parts along directions (B,) [rad] and across: (B, N, 2)."""
    c, s = np.cos(turn)[:, None], np.sin(turn)[:, None]
    x, y = vectors[:, 0], vectors[:, 1]
    return np.stack([c * x + s * y, c * y - s * x], axis=-1)

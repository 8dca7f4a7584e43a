"""Many small linear programmes at once, each bounded, by the dual simplex method on all of them in step.

The unknowns are scaled to the box they lie in, whose corner of least cost is where every programme starts: there the
multipliers are right and rows may be violated. A pivot lets the worst row in and the row whose multiplier runs out
first go. The cost only rises on the way, so that wherever it stops the cost reached is a true bound from below. What
is returned as a bound is worked out once more from the multipliers and the rows as they were given, so that no
rounding on the way enters it: for any y >= 0, cost . x >= -y . right - |cost + y . rows| over the unit box.
Programmes of four or five unknowns and thirty rows take ten pivots; a library takes each of them singly, at ten times
the time (docs/decisions/0022-many-small-programmes.md).

Source: the dual simplex method of Lemke, Naval Research Logistics Quarterly 1 (1954) 36, from memory; the bound after
Neumaier and Shcherbina, Mathematical Programming 99 (2004) 283, from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_FEASIBLE = 1e-11
"""A row may be violated by so much, in units of its own reach over the box. [-]"""
_NO_PIVOT = 1e-11
"""Smaller pivots are none. [-]"""
_MOST_PIVOTS = 120
_TILT = 1e-10
"""Costs are tilted by so much, so that no two corners tie. [-]"""
_UNEVEN = 1.0 + np.modf(math.sqrt(2.0) * np.arange(1, 17))[0]
_SINGULAR = 1e-12
"""Rows whose determinant is smaller meet in no corner that is worth starting from. [-]"""


@dataclass(frozen=True)
class Corners:
    """Answers of B programmes: `x` (B, n) the unknowns, nan where there are none; `bound` (B,) a cost that none
    undercuts, inf where no x fulfils every row; `active` (B, n) the rows that meet in x, counted on through the upper
    and the lower ends of the box behind the rows themselves."""

    x: Array
    bound: Array
    active: NDArray[np.int64]


def lowest(
    cost: Array, rows: Array, right: Array, low: Array, high: Array, guess: NDArray[np.int64] | None = None
) -> Corners:
    """Least cost . x with rows . x <= right and low <= x <= high, for B programmes of one shape.

    Parameters
    ----------
    cost : (n,) or (B, n) float array
        The same for all, or each its own. [-]
    rows, right : (B, m, n) and (B, m) float arrays
        [-]
    low, high : (B, n) float arrays
        Finite. A low above its high leaves no x. [-]
    guess : (B, n) int array or None
        `active` of programmes that differed a little, to start from. [-]

    Returns
    -------
    Corners
    """
    middle, half = (low + high) / 2, (high - low) / 2
    empty = np.asarray((half < 0.0).any(axis=1))
    half = np.maximum(half, 0.0)
    scaled = rows * half[:, None, :]
    ends = right - (rows @ middle[:, :, None])[:, :, 0]
    reach = np.abs(scaled).sum(axis=2)
    size = np.where(reach > 0.0, reach, 1.0)
    scaled, ends = scaled / size[:, :, None], ends / size
    empty |= (ends < -1.0 - _FEASIBLE).any(axis=1)
    slope = np.broadcast_to(cost, low.shape) * half
    largest = np.abs(slope).max(axis=1, initial=0.0)
    worth = np.where(largest > 0.0, largest, 1.0)
    slope = slope / worth[:, None]
    table = _Table.of(slope, scaled, ends, guess)
    rows_and_ends = table.rows, table.ends
    end = _pivot(table, slope, empty)
    reached = _certain(rows_and_ends, slope, end)
    x = middle + half * end.at
    bound = np.where(np.isfinite(reached), reached * worth + (middle * cost).sum(axis=1), np.inf)
    bound[empty] = np.inf
    x[~np.isfinite(bound)] = np.nan
    return Corners(x, bound, end.active)


@dataclass
class _Table:
    """B programmes over the unit box [-1, 1]^n at their corners: all rows with the box's own behind, their ends, the
    corner (B, n), the inverse (B, n, n) of the active rows, their multipliers and their numbers (B, n)."""

    rows: Array
    ends: Array
    at: Array
    inverse: Array
    multiplier: Array
    active: NDArray[np.int64]

    @classmethod
    def of(cls, slope: Array, rows: Array, right: Array, guess: NDArray[np.int64] | None) -> _Table:
        (count, n), m = slope.shape, rows.shape[1]
        tilted = slope + _TILT * _UNEVEN[:n]
        all_rows = np.empty((count, m + 2 * n, n))
        unit = np.eye(n)
        all_rows[:, :m], all_rows[:, m : m + n], all_rows[:, m + n :] = rows, unit, -unit
        ends = np.ones((count, m + 2 * n))
        ends[:, :m] = right
        sign = np.where(tilted > 0.0, -1.0, 1.0)
        active = m + np.arange(n) + np.where(tilted > 0.0, n, 0)
        table = cls(all_rows, ends, sign, sign[:, :, None] * unit, np.abs(tilted), active)
        if guess is not None:
            table._start_from(guess, tilted)
        return table

    def _start_from(self, guess: NDArray[np.int64], tilted: Array) -> None:
        """Take a guess up wherever its rows meet in a corner with multipliers of the right sign."""
        here = np.arange(len(guess))[:, None]
        rows = self.rows[here, guess]
        sound = np.abs(np.linalg.det(rows)) > _SINGULAR
        rows[~sound] = np.eye(rows.shape[2])
        inverse = np.linalg.inv(rows)
        multiplier = -(tilted[:, None, :] @ inverse)[:, 0]
        sound &= (multiplier >= 0.0).all(axis=1)
        at = (inverse @ self.ends[here, guess][:, :, None])[:, :, 0]
        self.at = np.where(sound[:, None], at, self.at)
        self.inverse = np.where(sound[:, None, None], inverse, self.inverse)
        self.multiplier = np.where(sound[:, None], multiplier, self.multiplier)
        self.active = np.where(sound[:, None], guess, self.active)

    def leave(self, which: NDArray[np.bool_], live: NDArray[np.int64], end: _End) -> None:
        """Write down where some of the programmes, those of numbers `live[which]`, have come to."""
        ended = live[which]
        end.at[ended], end.active[ended] = self.at[which], self.active[which]
        end.multiplier[ended] = self.multiplier[which]

    def keep(self, which: NDArray[np.bool_]) -> None:
        """Go on with some of the programmes only."""
        self.rows, self.ends, self.at = self.rows[which], self.ends[which], self.at[which]
        self.inverse, self.multiplier, self.active = self.inverse[which], self.multiplier[which], self.active[which]


@dataclass
class _End:
    """Where B programmes end: the corner (B, n), its rows' multipliers (B, n) and numbers (B, n). And where no step
    was left: the row that cannot be fulfilled (B,), -1 for none, as the sum (B, n) of the active ones that it is."""

    at: Array
    multiplier: Array
    active: NDArray[np.int64]
    refused: NDArray[np.int64]
    share: Array


def _certain(rows_and_ends: tuple[Array, Array], slope: Array, end: _End) -> Array:
    """Costs (B,) over the unit box that nothing undercuts, inf where nothing fulfils every row; only multipliers and
    shares are taken over from the way there, whatever their rounding."""
    rows, ends = rows_and_ends
    here = np.arange(len(slope))
    active, right = rows[here[:, None], end.active], ends[here[:, None], end.active]
    rest = slope + (end.multiplier[:, None, :] @ active)[:, 0]
    bound = -(end.multiplier * right).sum(axis=1) - np.abs(rest).sum(axis=1)
    if (end.refused >= 0).any():
        rest = rows[here, end.refused] - (end.share[:, None, :] @ active)[:, 0]
        least = (end.share * right).sum(axis=1) - np.abs(rest).sum(axis=1)
        bound = np.where((end.refused >= 0) & (least > ends[here, end.refused]), np.inf, bound)
    return np.asarray(bound)


def _pivot(table: _Table, slope: Array, empty: NDArray[np.bool_]) -> _End:
    """Corners of least cost; those that are `empty` are left."""
    count = len(slope)
    none = np.full(count, -1)
    end = _End(table.at.copy(), table.multiplier.copy(), table.active.copy(), none, np.zeros_like(table.at))
    live = np.arange(count)
    if empty.any():
        live = np.flatnonzero(~empty)
        table.keep(~empty)
    for _ in range(_MOST_PIVOTS):
        if len(live) == 0:
            return end
        here = np.arange(len(live))
        over = (table.rows @ table.at[:, :, None])[:, :, 0] - table.ends
        worst = over.argmax(axis=1)
        much = over[here, worst]
        row = table.rows[here, worst]
        share = (row[:, None, :] @ table.inverse)[:, 0, :]
        usable = share > _NO_PIVOT
        ratio = np.where(usable, table.multiplier / np.where(usable, share, 1.0), np.inf)
        out = ratio.argmin(axis=1)
        step = ratio[here, out]
        done = much <= _FEASIBLE
        closed = done | ~np.isfinite(step)
        if closed.any():
            table.leave(closed, live, end)
            stuck = closed & ~done
            end.refused[live[stuck]], end.share[live[stuck]] = worst[stuck], np.minimum(share[stuck], 0.0)
            keep = ~closed
            live = live[keep]
            if len(live) == 0:
                return end
            table.keep(keep)
            much, share, out, step, worst = much[keep], share[keep], out[keep], step[keep], worst[keep]
            here = np.arange(len(live))
        column = table.inverse[here, :, out] / share[here, out][:, None]
        table.at = table.at - column * much[:, None]
        table.inverse = table.inverse - column[:, :, None] * share[:, None, :]
        table.inverse[here, :, out] = column
        table.multiplier = np.maximum(table.multiplier - step[:, None] * share, 0.0)
        table.multiplier[here, out] = step
        table.active[here, out] = worst
    table.leave(np.ones(len(live), bool), live, end)
    return end

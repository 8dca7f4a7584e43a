"""A bound that no setting of the lens undercuts, by branch and bound over the movement, the ring and the shift.

Over a box of settings blur, framing and the lens's limits are enclosed by rows of small linear programmes
(enclosure.py, box_rows.py), whose least cost bounds the box (simplex.py). Boxes that hold nothing better than what
is sought are left. The others are first trimmed: the programmes of each with the ends of its unknowns for costs tell
where in the box anything better can lie. What is still long is cut in two. All boxes of a round are worked on at
once, until none is left or the budget is spent; what is returned is valid either way.

Source: derived, docs/computed/focus.md; tests sample settings against the bounds.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.box_rows import COST, OFFSET, Rows, blur_rows, in_framing, limits
from sidelong.lens.boxes import Boxes, joined, whole
from sidelong.lens.enclosure import Enclosure, enclose
from sidelong.lens.interval import Interval
from sidelong.lens.simplex import lowest
from sidelong.lens.wish import Wish

Array = NDArray[np.float64]

SAFETY = 1e-8
"""Taken off a bound for what intervals leave unrounded, relative. [-]"""
NEAR_ENOUGH = 1e-3
"""Nearer to what was found a bound need not be, relative. [-]"""
SOFT_ENOUGH = 7.5e-3
"""The same for softness, of which half a per cent is given up for leeway (softest.py). [-]"""
BUDGET = 400
"""Boxes that a bound may take."""
_ABREAST = 48
"""Boxes in one round at most, those with the most to gain first."""
_MOST_BODIES = 6
"""The points of more soft bodies are left out of the bound, which stays true: without them more can be had."""


Attempt = Callable[[Array, float, Array], float | None]
"""From a state (5,) [m], a rotation, nan where free [rad], and the sides of the soft points (K,): what a solver makes
of it, None for nothing."""


@dataclass(frozen=True)
class _Problem:
    """What is bounded: t is sought as little (`cost` +1) or as large (-1) as can be. `per` is t for one of what is
    found; a bound need not come nearer to it than `near_enough`, relative. `rows` are those that tell t, at cost x t
    under an aim, from the points (N, 3) enclosed at a stop, over boxes for each of `sides` (A, K)."""

    wish: Wish
    points: Array
    f_number: float
    sides: Array
    cost: float
    per: float
    near_enough: float
    rows: Callable[[Rows, Boxes, Enclosure, float], Rows]

    def aim(self, found: float) -> float:
        """The cost that what is found comes to, but for what is near enough."""
        return (self.cost - self.near_enough) * found * self.per


def widest_bound(
    wish: Wish, found: float, attempt: Attempt | None = None, budget: int = BUDGET, near_enough: float = NEAR_ENOUGH
) -> float:
    """A true f-number below which no setting of the lens keeps all the sharp points within the limit, the framing and
    the lens's limits.

    `found` is the value that a solver reached; the search stops when the bound is within `near_enough` of it,
    relative, or after `budget` boxes. Where that takes long, `attempt` is asked for a better one to go on with.
    """
    if found <= 1e-9:
        return 0.0
    k = len(wish.sharp)

    def programmes(rows: Rows, boxes: Boxes, held: Enclosure, aim: float) -> Rows:
        rows = rows.with_cost_in(np.zeros(len(boxes)), np.full(len(boxes), aim))
        return _sharp_rows(rows, held, k, None)

    per = wish.blur_limit / wish.lens.focal_length
    problem = _Problem(wish, wish.sharp, wish.marks[0], np.zeros((1, 0)), 1.0, per, near_enough, programmes)
    return max(0.0, _least(problem, found, attempt, budget) / per * (1.0 - SAFETY))


def softest_bound(
    wish: Wish,
    found: float,
    f_number: float,
    attempt: Attempt | None = None,
    budget: int = BUDGET,
    near_enough: float = SOFT_ENOUGH,
) -> float:
    """A major axis [m] that the least of the points wanted as soft as can be cannot exceed at a stop while the sharp
    ones stay sharp, those with a least blur have it, and framing and the lens's limits are held. The rest as
    widest_bound."""
    chosen, sides = sides_for(wish)
    per, k = f_number / wish.lens.focal_length, len(wish.sharp)
    least = wish.least_blurs[chosen] * per

    def programmes(rows: Rows, boxes: Boxes, held: Enclosure, aim: float) -> Rows:
        rows = _sharp_rows(rows, held, k, wish.blur_limit * per)
        return _soft_rows(rows, held, (k, least, -aim), boxes.sides)

    points = np.concatenate([wish.sharp, wish.soft[chosen]])
    problem = _Problem(wish, points, f_number, sides, -1.0, per, near_enough, programmes)
    return -_least(problem, found, attempt, budget) / per * (1.0 + SAFETY)


def sides_for(wish: Wish) -> tuple[NDArray[np.int64], Array]:
    """The soft points (K,) that enter the bound and every choice of a side for their bodies (A, K); those of the
    bodies wanted as soft as can be go first."""
    plain = wish.least_blurs <= 0.0
    bodies = list(dict.fromkeys([*wish.sides_of[plain].tolist(), *wish.sides_of[~plain].tolist()]))[:_MOST_BODIES]
    chosen = np.flatnonzero(np.isin(wish.sides_of, bodies))
    of = np.array([bodies.index(body) for body in wish.sides_of[chosen].tolist()], dtype=np.int64)
    return chosen, np.array(list(itertools.product((1.0, -1.0), repeat=len(bodies))))[:, of]


def _sharp_rows(rows: Rows, held: Enclosure, k: int, room: float | None) -> Rows:
    """With the first k points' blur, times N/f over ratio and depth, within `room`, or within t where None."""
    lines, constant = blur_rows(held, rows.low.shape[1])
    weight = (held.ratio_low / held.depth_high)[:, :k]
    both = np.concatenate([lines[:, :k] * weight[:, :, None], -lines[:, :k] * weight[:, :, None]], axis=1)
    right = [-(constant + held.sag.low)[:, :k] * weight, (constant + held.sag.high)[:, :k] * weight]
    if room is None:
        both[:, :, COST] = -1.0
    return rows.and_also(both, np.concatenate(right, axis=1) + (room or 0.0))


def _soft_rows(rows: Rows, held: Enclosure, asked: tuple[int, Array, float], sides: Array) -> Rows:
    """With the points from k on at least t blurred, or what they ask where that is > 0; `asked` is k, these least
    ones (K,), and what t must exceed. t ends where the box lets no blur be larger."""
    k, least, aim = asked
    count = k + len(least)
    lines, constant = blur_rows(held, rows.low.shape[1])
    lines, constant, v = lines[:, k:count], constant[:, k:count], held.v
    turned = sides * (held.ratio_high / held.depth_low)[:, k:count]
    further = constant + np.where(turned > 0, held.sag.high[:, k:count], held.sag.low[:, k:count])
    more = -turned[:, :, None] * lines
    more[:, :, COST] = np.where(least > 0.0, 0.0, 1.0)
    inside = lines[:, :, 0] * v[0] + lines[:, :, 1] * v[1] + lines[:, :, 2] * v[2] - (held.d + held.kappa)
    most = np.where(least > 0.0, np.inf, (turned * (inside + further)).high).min(axis=1)
    rows = rows.with_cost_in(np.full(len(most), aim), most)
    return rows.and_also(more, turned * further - least)


def _least(problem: _Problem, found: float, attempt: Attempt | None, budget: int) -> float:
    """The least cost that any setting has, from below; the cost aimed at where none has less."""
    boxes, spent, aim = whole(problem.wish, problem.sides), 0, problem.aim(found)
    for round_ in itertools.count():
        order = np.argsort(boxes.bound, kind="stable")
        now, later = boxes.only(order[:_ABREAST]), boxes.only(order[_ABREAST:])
        spent += len(now)
        boxes = joined(_better(problem, now, aim), later)
        if len(boxes) == 0 or spent >= budget:
            break
        if attempt is not None and round_ > 0:
            aim = min(aim, _attempted(problem, boxes, attempt, aim))
            boxes = boxes.only(boxes.bound < aim)
    return min(aim, float(boxes.bound.min(initial=math.inf)))


def _attempted(problem: _Problem, boxes: Boxes, attempt: Attempt, aim: float) -> float:
    """The cost to aim at after a solver's attempt from where the best of boxes may be had."""
    k = int(boxes.bound.argmin())
    if not np.isfinite(boxes.start[k]).all():
        return aim
    stepped = problem.wish.lens.rotation_step > 0.0 and problem.wish.lens.movement > 0.0
    better = attempt(boxes.start[k], float(boxes.turn[k]) if stepped else math.nan, boxes.sides[k])
    return aim if better is None else problem.aim(better)


def _better(problem: _Problem, boxes: Boxes, aim: float) -> Boxes:
    """What of boxes may have less cost than is aimed at: bounded, trimmed, and cut."""
    wish = problem.wish
    boxes = boxes.only(~boxes.outside(math.sin(wish.lens.movement)))
    if len(boxes) == 0:
        return boxes
    points = problem.points if wish.framing is None else np.concatenate([problem.points, wish.framing.points])
    held = enclose(wish, points, boxes, problem.f_number)
    if held.open.any():
        halves = boxes.only(held.open).halves(wish.lens.focal_length)
        return joined(halves, _better(problem, boxes.only(~held.open), aim))
    rows = limits(wish, boxes, held)
    if wish.framing is not None:
        rows = rows.and_also(*in_framing(wish, boxes, rows, held.of_last(len(wish.framing.points))))
    rows = problem.rows(rows, boxes, held, aim)
    cost = np.zeros(rows.low.shape[1])
    cost[COST] = problem.cost
    found = lowest(cost, rows.rows, rows.right, rows.low, rows.high)
    left = np.flatnonzero(found.bound < aim)
    if len(left) == 0:
        return boxes.only(left)
    bound, start = np.maximum(found.bound, boxes.bound), _starts(wish, boxes, held, found.x)
    rest = boxes.knowing(bound, start).only(left)
    trimmed = _trimmed(wish, rest, held, rows, left)
    return trimmed.only(~trimmed.outside(math.sin(wish.lens.movement))).halves(wish.lens.focal_length)


def _starts(wish: Wish, boxes: Boxes, held: Enclosure, x: Array) -> Array:
    """States (B, 5), film axes, of unknowns (B, n). [m]"""
    f = wish.lens.focal_length
    d = (x[:, OFFSET] - (held.kappa.low + held.kappa.high)[:, 0] / 2)[:, None]
    hinge = (boxes.low + boxes.high)[:, 3:] / 2
    if wish.corrects:
        hinge = hinge + x[:, 5:]
    c, s = np.cos(boxes.turn)[:, None], np.sin(boxes.turn)[:, None]
    back = [
        np.concatenate([c * v[:, :1] - s * v[:, 1:], s * v[:, :1] + c * v[:, 1:]], axis=1)
        for v in (f * x[:, :2], hinge)
    ]
    return np.concatenate([back[0], d, back[1]], axis=1)


def _trimmed(wish: Wish, boxes: Boxes, held: Enclosure, rows: Rows, left: NDArray[np.int64]) -> Boxes:
    """What of boxes, those at `left` of the rows and enclosures, can hold anything better: the ends of the unknowns
    under the same rows tell; empty where nothing can."""
    f, p = wish.lens.focal_length, wish.lens.pivot
    ends = _ends(rows, left)
    low, high = boxes.low.copy(), boxes.high.copy()
    kappa = Interval(held.kappa.low[left, 0], held.kappa.high[left, 0])
    d = Interval(held.d.low[left, 0], held.d.high[left, 0])
    d = Interval(
        np.maximum(d.low, ends.low[:, OFFSET] - kappa.high), np.minimum(d.high, ends.high[:, OFFSET] - kappa.low)
    )
    axis = [Interval(ends.low[:, k], ends.high[:, k]) / d * f for k in range(2)]
    for k in range(2):
        low[:, k], high[:, k] = axis[k].low, axis[k].high
    forward = Interval(held.axis[2].low[left, 0], held.axis[2].high[left, 0])
    extension = (d - f + p) / forward - p
    low[:, 2], high[:, 2] = extension.low, extension.high
    if wish.corrects:
        middle = (boxes.low + boxes.high)[:, 3:] / 2
        low[:, 3:], high[:, 3:] = middle + ends.low[:, 5:], middle + ends.high[:, 5:]
    return boxes.trimmed(low, high)


def _ends(rows: Rows, left: NDArray[np.int64]) -> Interval:
    """The ends (L, n) between which the unknowns keep under the rows of the programmes at `left`; those of V forward
    and of t are not looked for. Low over high where nothing fulfils the rows."""
    n = rows.low.shape[1]
    looked = [k for k in range(n) if k not in (2, COST)]
    ways = np.concatenate([np.eye(n)[looked], -np.eye(n)[looked]])
    each = np.repeat(left, len(ways))
    found = lowest(np.tile(ways, (len(left), 1)), rows.rows[each], rows.right[each], rows.low[each], rows.high[each])
    bound = found.bound.reshape(len(left), 2, len(looked))
    low, high = rows.low[left].copy(), rows.high[left].copy()
    low[:, looked], high[:, looked] = bound[:, 0], -bound[:, 1]
    return Interval(low, high)

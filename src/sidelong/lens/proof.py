"""A bound that no setting of the lens undercuts, by branch and bound over the movement and the ring.

In a box of axes and ring positions the exact major axis of a point is at least w |g| / (N Z), w the least ratio of
exact to first-order blur over the box (closed form below), and g / f = d' - W.q is linear in W = (d a - f z)/f and
d' = d + x (d - f a_z)/f once the small second term is known to an interval. Relaxing |W + z| f = d to <= leaves a
second-order cone programme, whose dual value bounds the box. Boxes are split where the bound is loosest, until the
bound is near enough to the value found or the budget of boxes is spent; what is returned is valid either way.

Ratio: f Z u / ((u - h) w) |M l| for any unit l in the pupil's plane; |M l| is 1 with l square to the tilt, and with l
along it |a_z t + s p|, t the tilt's direction, s = sin(movement), p = (f P_xy + k B_xy)/w. Field curvature adds to
W.q - d' a sag (curvature.py) that is linear in W + z but for a remainder known to an interval over the box; the bound
is taken at the interval's better end.

Source: derived, docs/computed/focus.md; tests sample settings against the bounds.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import count

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.cone import minimise
from sidelong.lens.geometry import hinge
from sidelong.lens.interval import Interval, interval
from sidelong.lens.ring import ring_range
from sidelong.lens.values import Movement
from sidelong.lens.wish import Wish

Array = NDArray[np.float64]

SAFETY = 1e-8
"""Taken off a bound for the cone solver's own tolerance, relative. [-]"""
_MOST_SOFT = 8
"""More soft points than this are left out of the bound, which stays true: without them more can be had."""
_CURVED = 3
"""A curved field is looser over a box and may spend so many times the boxes."""


@dataclass(frozen=True)
class Box:
    """Axes with a_x, a_y in intervals, extensions likewise [m]; `rotation` [rad] holds a stepped mount to a ray;
    `sides` of the soft points that still matter in it, None for all."""

    x: tuple[float, float]
    y: tuple[float, float]
    extension: tuple[float, float]
    rotation: float | None = None
    sides: tuple[tuple[float, ...], ...] | None = None

    def halves(self, scale: tuple[float, float, float]) -> tuple[Box, Box]:
        """Cut across the side that is longest in units of `scale`."""
        sides = [self.x, self.y, self.extension]
        widths = [(hi - lo) / s for (lo, hi), s in zip(sides, scale, strict=True)]
        k = int(np.argmax(widths))
        lo, hi = sides[k]
        first, second = list(sides), list(sides)
        first[k], second[k] = (lo, (lo + hi) / 2), ((lo + hi) / 2, hi)
        return (
            Box(first[0], first[1], first[2], self.rotation, self.sides),
            Box(second[0], second[1], second[2], self.rotation, self.sides),
        )


@dataclass(frozen=True)
class Sag:
    """What field curvature takes off g / f, for each point: slope . (W + z) (N, 3) and something in `low` to `high`
    (N,) [m]; `bulge` is c of curvature.py. [m]"""

    slope: Array
    low: Array
    high: Array
    bulge: Interval


@dataclass(frozen=True)
class Enclosure:
    """What holds over a box. For every point (N,): ratio of exact to first-order blur, depth Z [m]; common to all:
    kappa = x (d - f a_z)/f [m], and d [m]; as (least, most)."""

    ratio_low: Array
    ratio_high: Array
    depth_low: Array
    depth_high: Array
    kappa: tuple[float, float]
    d: tuple[float, float]
    forward: tuple[float, float]
    """a_z. [-]"""
    sag: Sag


def whole(wish: Wish) -> list[Box]:
    """The boxes that together hold every setting the lens has."""
    most = math.sin(wish.lens.movement)
    reach = ring_range(wish.lens)
    step = wish.lens.rotation_step
    if step <= 0.0 or most == 0.0:
        return [Box((-most, most), (-most, most), reach)]
    turns = [2 * math.pi * k / max(1, round(2 * math.pi / step)) for k in range(max(1, round(2 * math.pi / step)))]
    return [Box(*_ray(most, r), reach, r) for r in turns]


def _ray(most: float, rotation: float) -> tuple[tuple[float, float], tuple[float, float]]:
    x, y = most * math.cos(rotation), most * math.sin(rotation)
    return (min(0.0, x), max(0.0, x)), (min(0.0, y), max(0.0, y))


def enclose(wish: Wish, points: Array, box: Box, f_number: float) -> Enclosure | None:
    """The enclosure of a box; None where it holds no setting, or a point may leave the front of the lens in it."""
    lens = wish.lens
    f, h, p = lens.focal_length, lens.entrance_pupil, lens.pivot
    ax, ay = interval(*box.x), interval(*box.y)
    sideways = (ax.square() + ay.square()).clipped(0.0, math.sin(lens.movement) ** 2 * (1 + 1e-12))
    if sideways is None:
        return None
    az = (1.0 - sideways).root()
    s = sideways.root()
    arm = p + interval(*box.extension)
    d = f - p + arm * az
    kappa = arm * (d - f * az) * (1 / f)
    q = points - hinge(lens, Movement(0.0, 0.0, wish.rise, wish.shift))
    depth = q[:, 2] - arm * az
    px, py = q[:, 0] - arm * ax, q[:, 1] - arm * ay
    u = ax * q[:, 0] + ay * q[:, 1] + az * q[:, 2] - arm
    reach = u - h
    if np.min(depth.low) <= 0 or np.min(reach.low) <= 0 or np.min(u.low) <= 0:
        return None
    back = h * (u * az - depth) / reach
    k = u - f
    w = f * depth + k * back
    if np.min(w.low) <= 0:
        return None
    lean_x = (f * px + k * (h * (u * ax - px) / reach)) / w
    lean_y = (f * py + k * (h * (u * ay - py) / reach)) / w
    base = f * depth * u / (reach * w)
    along = az.square() + 2.0 * az * (ax * lean_x + ay * lean_y) + sideways * (lean_x.square() + lean_y.square())
    low = base.low * np.sqrt(np.maximum(1.0, along.low))
    cross = (s * (lean_x.square() + lean_y.square()).root()).high
    spread = (along - 1.0).magnitude()
    top = 0.5 * (1.0 + np.maximum(along.high, 0.0) + np.hypot(spread, 2.0 * cross))
    radius = f / (2.0 * f_number) * (u / reach).high
    sag = _sag(wish, q, (ax, ay, az), u, (d, back))
    bend = np.minimum(((k + sag.bulge) / w).magnitude() * radius * s.high, 0.999)
    high = base.high * np.sqrt(top) / (1.0 - bend**2)
    return Enclosure(low, high, depth.low, depth.high, _ends(kappa), _ends(d), _ends(az), sag)


def _sag(
    wish: Wish, q: Array, axis: tuple[Interval, Interval, Interval], u: Interval, film: tuple[Interval, Interval]
) -> Sag:
    """The sag over a box, for points q (N, 3) from the hinge, `film` being d and C_z.

    With V = W + z = d a/f it is m |q x V|^2, m = kappa f (C_z + d)/(d^2 u): q x a does not change while the glass
    slides along the axis. |q x V|^2 is its tangent at the box's middle V0, and |q x (V - V0)|^2 >= 0.
    """
    f, kappa = wish.lens.focal_length, wish.lens.field_curvature
    if kappa == 0.0:
        none = np.zeros(len(q))
        return Sag(np.zeros((len(q), 3)), none, none, interval(none, none))
    d, crossing = film
    moved = [d * a * (1 / f) for a in axis]
    middle = np.array([float(v.low + v.high) / 2 for v in moved])
    m = (kappa * f) * (1.0 + crossing / d) / (d * u)
    at_middle = (m.low + m.high) / 2
    square = _squared_product(q, axis)
    rest = _squared_product(q, [v - float(c) for v, c in zip(moved, middle, strict=True)])
    along = q @ middle
    touching = 2.0 * (np.sum(q * q, axis=1)[:, None] * middle - along[:, None] * q)
    constant = -np.sum(np.cross(q, middle) ** 2, axis=1)
    uneven = (m - at_middle) * square * d.square() * (1 / f**2)
    offset = at_middle * (rest + constant) + uneven
    return Sag(touching * at_middle[:, None], offset.low, offset.high, kappa * square / u)


def _squared_product(q: Array, v: Sequence[Interval]) -> Interval:
    """|q x v|^2 for points (N, 3) and a vector known to intervals; which hand the frame has does not matter."""
    x, y, z = v
    return (
        (q[:, 1] * z - q[:, 2] * y).square()
        + (q[:, 2] * x - q[:, 0] * z).square()
        + (q[:, 0] * y - q[:, 1] * x).square()
    )


def widest_bound(wish: Wish, found: float, budget: int = 48, near_enough: float = 2e-3) -> float:
    """A true f-number below which no setting of the lens keeps all the sharp points within the limit.

    `found` is the value that a solver reached; the search stops when the bound is within `near_enough` of it,
    relative, or after `budget` boxes.
    """

    def bound(box: Box) -> tuple[float, Box]:
        return _widest_over(wish, box), box

    if found <= 1e-9:
        return 0.0
    return max(0.0, _branch(wish, bound, found, budget, near_enough))


def softest_bound(wish: Wish, found: float, f_number: float, budget: int = 48, near_enough: float = 2e-3) -> float:
    """A major axis [m] that the least of the soft points' cannot exceed at a stop while the sharp ones stay sharp."""

    enough = found * (1.0 + near_enough)

    def bound(box: Box) -> tuple[float, Box]:
        most, sides = _softest_over(wish, box, f_number, enough)
        return -max(most, enough), replace(box, sides=sides)

    return -_branch(wish, bound, -found, budget, near_enough)


def _branch(
    wish: Wish, bound: Callable[[Box], tuple[float, Box]], found: float, budget: int, near_enough: float
) -> float:
    """Least of the bounds of boxes that together hold every setting, split best-first."""
    lens = wish.lens
    scale = (0.02, 0.02, 0.05 * lens.focal_length)
    order = count()
    heap = []
    for box in whole(wish):
        value, kept = bound(box)
        heap.append((value, next(order), kept))
    heapq.heapify(heap)
    stop_at = found - near_enough * abs(found)
    budget *= 1 if lens.field_curvature == 0.0 else _CURVED
    spent = 0
    while heap and heap[0][0] < stop_at and spent < budget:
        _, _, box = heapq.heappop(heap)
        for half in box.halves(scale):
            value, kept = bound(half)
            heapq.heappush(heap, (value, next(order), kept))
            spent += 1
    lowest = heap[0][0] if heap else found
    return lowest - SAFETY * abs(lowest)


def _widest_over(wish: Wish, box: Box) -> float:
    held = enclose(wish, wish.sharp, box, wish.marks[0])
    if held is None:
        return math.inf if _empty(wish, box) else 0.0
    rows, constant = _rows(wish, wish.sharp, held)
    k = len(rows)
    weight = held.ratio_low / held.depth_high
    left = np.zeros((2 * k, 5))
    left[:k, :4], left[k:, :4] = rows * weight[:, None], -rows * weight[:, None]
    left[:, 4] = -1.0
    right = np.concatenate([-(constant + held.sag.low) * weight, (constant + held.sag.high) * weight])
    solution = minimise(np.array([0.0, 0, 0, 0, 1.0]), *_box_limits(wish, box, held, left, right))
    return math.inf if solution is None else wish.lens.focal_length * solution.bound / wish.blur_limit


def _softest_over(
    wish: Wish, box: Box, f_number: float, enough: float
) -> tuple[float, tuple[tuple[float, ...], ...] | None]:
    """Most that the least of the soft points can have in a box [m], and the sides on which it is more than `enough`
    [m]: within the box the others never matter again."""
    soft = wish.soft[:_MOST_SOFT]
    held = enclose(wish, np.concatenate([wish.sharp, soft]), box, f_number)
    if held is None:
        return (0.0, ()) if _empty(wish, box) else (math.inf, box.sides)
    k, f = len(wish.sharp), wish.lens.focal_length
    rows, constant = _rows(wish, np.concatenate([wish.sharp, soft]), held)
    room = wish.blur_limit * f_number / f * held.depth_high[:k] / held.ratio_low[:k]
    fixed = np.zeros((2 * k, 5))
    fixed[:k, :4], fixed[k:, :4] = rows[:k], -rows[:k]
    fixed_right = np.concatenate([room - constant[:k] - held.sag.low[:k], room + constant[:k] + held.sag.high[:k]])
    reach = held.ratio_high[k:] / held.depth_low[k:]
    best, kept = 0.0, []
    for sides in itertools.product((1.0, -1.0), repeat=len(soft)) if box.sides is None else box.sides:
        turned = np.array(sides) * reach
        more = np.ones((len(soft), 5))
        more[:, :4] = -turned[:, None] * rows[k:]
        further = constant[k:] + np.where(turned > 0, held.sag.high[k:], held.sag.low[k:])
        left, right = np.vstack([fixed, more]), np.concatenate([fixed_right, turned * further])
        solution = minimise(np.array([0.0, 0, 0, 0, -1.0]), *_box_limits(wish, box, held, left, right))
        if solution is not None:
            most = -solution.bound * f / f_number
            best = max(best, most)
            kept += [sides] if most > enough else []
    return best, tuple(kept)


def _rows(wish: Wish, points: Array, held: Enclosure) -> tuple[Array, Array]:
    """W.q - d', and the sag's linear part, as rows . (W_x, W_y, W_z + 1, d') + constant, for each point."""
    q = points - hinge(wish.lens, Movement(0.0, 0.0, wish.rise, wish.shift))
    return np.column_stack([q + held.sag.slope, -np.ones(len(q))]), -q[:, 2]


def _box_limits(
    wish: Wish, box: Box, held: Enclosure, left: Array, right: Array
) -> tuple[tuple[Array, Array], list[tuple[Array, Array]]]:
    """What (W_x, W_y, W_z + 1, d', t) keeps to in a box (f (W + z) = d a, d = d' - kappa), added to left <= right."""
    f, (least, most), (d_low, d_high) = wish.lens.focal_length, held.kappa, held.d
    rows: list[list[float]] = [[0, 0, 0, -1, 0], [0, 0, 0, 1, 0]]
    ends = [-(d_low + least), d_high + most]
    for axis, (low, high) in enumerate((box.x, box.y, held.forward)):
        for bound, sign in ((high, 1.0), (low, -1.0)):
            # sign (f V - bound d) <= 0 for some d in d' - [least, most]: the d that leaves most room
            kappa = least if sign * bound > 0 else most
            row = [0.0, 0.0, 0.0, -sign * bound, 0.0]
            row[axis] = sign * f
            rows.append(row)
            ends.append(-sign * bound * kappa)
    if box.rotation is not None:
        c, s = math.cos(box.rotation), math.sin(box.rotation)
        rows += [[-s, c, 0, 0, 0], [s, -c, 0, 0, 0], [-c, -s, 0, 0, 0]]
        ends += [0.0] * 3
    sideways = math.sin(wish.lens.movement)
    length = np.array([[0, 0, 0, -1 / f, 0], [-1, 0, 0, 0, 0], [0, -1, 0, 0, 0], [0, 0, -1, 0, 0]], float)
    across = np.array([[0, 0, 0, -sideways / f, 0], [-1, 0, 0, 0, 0], [0, -1, 0, 0, 0]], float)
    cones = [(length, np.array([-least / f, 0, 0, 0])), (across, np.array([-least * sideways / f, 0, 0]))]
    return (np.vstack([left, np.array(rows, float)]), np.concatenate([right, ends])), cones


def _ends(value: Interval) -> tuple[float, float]:
    return float(value.low), float(value.high)


def _empty(wish: Wish, box: Box) -> bool:
    """Whether the whole box lies outside the lens's movement."""
    nearest = [min(max(0.0, lo), hi) if lo <= 0 <= hi else min(abs(lo), abs(hi)) for lo, hi in (box.x, box.y)]
    return math.hypot(*nearest) > math.sin(wish.lens.movement) * (1 + 1e-12)

"""What holds over whole boxes of settings: the ratio of exact to first-order blur, depths, the film's distance.

The exact major axis of a point is ratio x |g| / (N Z), and g / f = D - W.q - sag with q from the middle of the box's
hinges, W = (d a - f z)/f and D = d + kappa: what the plane's offset is beside the film's distance, known to an
interval. The ratio is f Z u / ((u - h) w) |M l| for any unit l in the pupil's plane: |M l| is 1 with l square to the
tilt, with l along it the square root of (a_z + a.p)^2 + |a x p|^2, p = (f P_xy + k B_xy)/w, and the two images have
the product |a x p|: the ratio is what the larger eigenvalue makes of it, and more by the cone's bend. Field
curvature's sag (curvature.py) is linear in W + z but for a remainder, an interval.

Source: derived, docs/computed/focus.md; tests sample settings against it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.boxes import Boxes, turned
from sidelong.lens.interval import Interval, interval
from sidelong.lens.wish import Wish

Array = NDArray[np.float64]

_MOST_BEND = 0.999
"""A cone that is cut nearly in an open curve bounds nothing. [-]"""


@dataclass(frozen=True)
class Sag:
    """What field curvature takes off g / f: slope . (W + z), slope (B, N, 3), and something from `low` to `high`
    (B, N) [m]; `bulge` is c of curvature.py. [m]"""

    slope: Array
    low: Array
    high: Array
    bulge: Interval


@dataclass(frozen=True)
class Enclosure:
    """What holds over B boxes for N points. Points `q` (B, N, 3) from the middle hinge: along, across, forward [m];
    `ratio_low`, `ratio_high` [-], `depth_low`, `depth_high` (B, N) [m]; columns (B, 1): the film's distance `d` and
    `kappa` [m], `v` the parts of d a / f [-], `axis` those of a [-], `arm` [m]. `lean` holds, for each point, what
    turns g / f times depth into the part of the image that the pupil's place makes, along and across (B, N) [m].
    `open` (B,): a point may leave the front of the lens in the box, and none of it holds."""

    q: Array
    ratio_low: Array
    ratio_high: Array
    depth_low: Array
    depth_high: Array
    d: Interval
    kappa: Interval
    v: tuple[Interval, Interval, Interval]
    axis: tuple[Interval, Interval, Interval]
    arm: Interval
    lean: tuple[Interval, Interval] | None
    sag: Sag
    open: NDArray[np.bool_]

    def of_last(self, count: int) -> Enclosure:
        """The same for the last points alone."""
        n = -count
        sag, lean = self.sag, self.lean
        return replace(
            self,
            q=self.q[:, n:],
            ratio_low=self.ratio_low[:, n:],
            ratio_high=self.ratio_high[:, n:],
            depth_low=self.depth_low[:, n:],
            depth_high=self.depth_high[:, n:],
            lean=None if lean is None else (lean[0].of_last(count), lean[1].of_last(count)),
            sag=Sag(sag.slope[:, n:], sag.low[:, n:], sag.high[:, n:], sag.bulge),
        )


@np.errstate(all="ignore")
def enclose(wish: Wish, points: Array, boxes: Boxes, f_number: float) -> Enclosure:
    """The enclosures of boxes, none of them empty, for points (N, 3), body frame [m], at a stop."""
    lens = wish.lens
    f, h, p = lens.focal_length, lens.entrance_pupil, lens.pivot
    most = math.sin(lens.movement) ** 2 * (1 + 1e-12)
    ax, ay, extension = boxes.side(0), boxes.side(1), boxes.side(2)
    square = ax.square() + ay.square()
    sideways = Interval(np.minimum(square.low, most), np.minimum(square.high, most))
    az, s = (1.0 - sideways).root(), sideways.root()
    arm = p + extension
    d = f - p + arm * az
    v = ax * d * (1 / f), ay * d * (1 / f), az * d * (1 / f)
    kappa = arm * ((f - p) * (1.0 - az) + extension * az) * (1 / f)
    q, aside = _from_hinge(wish, points, boxes)
    qx, qy = interval(q[:, :, 0], q[:, :, 0]), interval(q[:, :, 1], q[:, :, 1])
    if aside is not None:
        kappa = kappa + v[0] * aside[0] + v[1] * aside[1]
        qx, qy = qx - aside[0], qy - aside[1]
    qz = q[:, :, 2]
    depth = qz - arm * az
    px, py = qx - arm * ax, qy - arm * ay
    u = ax * qx + ay * qy + az * qz - arm
    k = u - f
    share, base, lean = interval(1.0, 1.0), interval(1.0, 1.0), None
    lean_x, lean_y = px / depth, py / depth
    crossing, fronts = interval(0.0, 0.0), [depth.low, u.low]
    gain = interval(1.0, 1.0)
    if h != 0.0:
        gain = 1.0 / (1.0 - h / u)
        back = h / (u - h)
        crossing = back * (u * az - depth)
        into = 1.0 + k * crossing / (f * depth)
        share = 1.0 / into
        lean_x = (lean_x + k * (back * (u * ax - px)) / (f * depth)) * share
        lean_y = (lean_y + k * (back * (u * ay - py)) / (f * depth)) * share
        base = gain * share
        lean = (ax * depth - az * px) * h * base / depth, (ay * depth - az * py) * h * base / depth
        fronts += [u.low - h, into.low]
    cross = ax * lean_y - ay * lean_x
    along = (az + (ax * lean_x + ay * lean_y)).square() + cross.square()
    near = np.maximum(0.0, np.maximum(cross.low, -cross.high))
    low = base.low * np.sqrt(_larger(along.low, near))
    sag = _sag(wish, (q, aside), (ax, ay, az), u, (d, crossing))
    bend = ((k + sag.bulge) * share / (f * depth)).magnitude() * (f / (2.0 * f_number)) * gain.high * s.high
    high = base.high * np.sqrt(_larger(along.high, cross.magnitude())) / (1.0 - np.minimum(bend, _MOST_BEND) ** 2)
    unbounded = np.any([front <= 0.0 for front in fronts], axis=0) | ~np.isfinite(low) | ~np.isfinite(high)
    unbounded |= ~(bend < _MOST_BEND)
    shape = unbounded.shape
    return Enclosure(
        q, np.broadcast_to(low, shape), np.broadcast_to(high, shape),
        np.broadcast_to(depth.low, shape), np.broadcast_to(depth.high, shape),
        d, kappa, v, (ax, ay, az), arm, lean, sag, unbounded.any(axis=1),
    )  # fmt: skip


def _larger(along: Array, cross: Array) -> Array:
    """The larger eigenvalue of [[1, cross], [cross, along]], which rises with |cross| and `along`. [-]"""
    return np.asarray(0.5 * (1.0 + along + np.hypot(along - 1.0, 2.0 * cross)))


def _from_hinge(wish: Wish, points: Array, boxes: Boxes) -> tuple[Array, tuple[Interval, Interval] | None]:
    """Points (B, N, 3) from the middle of each box's hinges, in its directions [m]; and how far from that middle the
    hinge may be, along and across, columns (B, 1), None where it stays put. [m]"""
    middle, reach = (boxes.low + boxes.high)[:, 3:] / 2, (boxes.high - boxes.low)[:, 3:] / 2
    flat = turned(points[:, :2], boxes.turn) - middle[:, None, :]
    forward = np.broadcast_to(points[:, 2] + wish.lens.pivot, flat.shape[:2])
    q = np.concatenate([flat, forward[:, :, None]], axis=2)
    if not reach.any():
        return q, None
    return q, (interval(-reach[:, :1], reach[:, :1]), interval(-reach[:, 1:], reach[:, 1:]))


def _sag(
    wish: Wish,
    seen: tuple[Array, tuple[Interval, Interval] | None],
    axis: tuple[Interval, Interval, Interval],
    u: Interval,
    film: tuple[Interval, Interval],
) -> Sag:
    """The sag over boxes, for points (B, N, 3) `seen` from the middle hinge, and how far that may be off; `film` is d
    and C_z.

    With V = W + z = d a/f it is m |q x V|^2, m = kappa f (C_z + d)/(d^2 u): q x a does not change while the glass
    slides along the axis. |q x V|^2 is its tangent at the box's middle V0, and |q x (V - V0)|^2 >= 0.
    """
    f, kappa = wish.lens.focal_length, wish.lens.field_curvature
    q, aside = seen
    if kappa == 0.0:
        none = np.zeros(q.shape[:2])
        return Sag(np.zeros(q.shape), none, none, interval(0.0, 0.0))
    d, crossing = film
    moved = [d * a * (1 / f) for a in axis]
    middle = np.concatenate([(v.low + v.high) / 2 for v in moved], axis=1)
    m = (kappa * f) * (1.0 + crossing / d) / (d * u)
    at_middle = (m.low + m.high) / 2
    zero = interval(0.0, 0.0)
    exact = [interval(q[:, :, k], q[:, :, k]) for k in range(3)]
    held = exact if aside is None else [exact[0] - aside[0], exact[1] - aside[1], exact[2]]
    square = _dot(*[_product(held, axis)] * 2)
    off = [v - middle[:, k : k + 1] for k, v in enumerate(moved)]
    rest = _dot(*[_product(exact, off)] * 2)
    along = (q * middle[:, None, :]).sum(axis=2)
    touching = 2.0 * ((q * q).sum(axis=2)[:, :, None] * middle[:, None, :] - along[:, :, None] * q)
    constant = along**2 - (q * q).sum(axis=2) * (middle * middle).sum(axis=1)[:, None]
    uneven = (m - at_middle) * square * d.square() * (1 / f**2)
    if aside is not None:
        # |(q - b) x V|^2 - |q x V|^2 = -(b x V).((2 q - b) x V)
        carried = [aside[0], aside[1], zero]
        both = [one + two for one, two in zip(exact, held, strict=True)]
        rest = rest - _dot(_product(carried, moved), _product(both, moved))
    offset = at_middle * (rest + constant) + uneven
    return Sag(touching * at_middle[:, :, None], offset.low, offset.high, kappa * square / u)


def _product(q: Sequence[Interval], v: Sequence[Interval]) -> list[Interval]:
    """q x v; which hand the frame has does not matter."""
    return [q[1] * v[2] - q[2] * v[1], q[2] * v[0] - q[0] * v[2], q[0] * v[1] - q[1] * v[0]]


def _dot(one: Sequence[Interval], two: Sequence[Interval]) -> Interval:
    """one . two, tight where both are the same."""
    if one is two:
        return one[0].square() + one[1].square() + one[2].square()
    return one[0] * two[0] + one[1] * two[1] + one[2] * two[2]

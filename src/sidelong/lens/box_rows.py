"""What the settings in a box fulfil, as rows of small linear programmes, many boxes at once.

The unknowns are V = d a/f along, across and forward, D, a cost t, and, where shift may correct the framing, how far
the hinge lies from the middle of the box's hinges, along and across. d = D - kappa with kappa in an interval, and
f |V| = d and f |V_xy| <= d sin(most movement) are relaxed to tangents at the box.

With O off the middle hinge by (o_x, o_y), Z0 = depth + d, the image of a point times its depth is
d (q_x + hinge_x) - (o_x + hinge_x) Z0 + hinge_x d - lean g/f, in which only the last term is not linear: it is
enclosed. Field curvature moves no image.

Source: derived, docs/computed/focus.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.boxes import Boxes
from sidelong.lens.enclosure import Enclosure
from sidelong.lens.interval import Interval, interval
from sidelong.lens.wish import Wish

Array = NDArray[np.float64]

OFFSET, COST = 3, 4
_FAN = np.array([0.0, 0.1, -0.1, 0.35, -0.35, 0.9, -0.9, 1.8, -1.8, math.pi])
"""Angles, from that of the box's middle, of the tangents that stand for a circle. [rad]"""
_CORNERS = np.array([[0.5, 0.5], [0.0, 0.0], [0.0, 1.0], [1.0, 0.0], [1.0, 1.0]])


@dataclass(frozen=True)
class Rows:
    """rows (B, m, n) . unknowns <= right (B, m), with low and high (B, n) of the unknowns; those of t are left 0."""

    rows: Array
    right: Array
    low: Array
    high: Array

    def and_also(self, rows: Array, right: Array) -> Rows:
        """With more rows."""
        return Rows(
            np.concatenate([self.rows, rows], axis=1),
            np.concatenate([self.right, right], axis=1),
            self.low,
            self.high,
        )

    def with_cost_in(self, low: Array, high: Array) -> Rows:
        """With t from low to high, (B,)."""
        least, most = self.low.copy(), self.high.copy()
        least[:, COST], most[:, COST] = low, high
        return Rows(self.rows, self.right, least, most)


def limits(wish: Wish, boxes: Boxes, held: Enclosure) -> Rows:
    """What the lens's limits leave in boxes: the ends of the unknowns and the rows that tie V to D."""
    f, count, n = wish.lens.focal_length, len(boxes), 7 if wish.corrects else 5
    least = held.kappa.low
    offset = held.d + held.kappa
    low, high = np.zeros((count, n)), np.zeros((count, n))
    for k, part in enumerate((*held.v, offset)):
        low[:, k : k + 1], high[:, k : k + 1] = part.low, part.high
    rim = math.sin(wish.lens.movement)
    rows = [_between(f, k, axis, held.kappa, n) for k, axis in enumerate(held.axis)]
    spread = (boxes.high - boxes.low)[:, None, :2]
    normals = _onto_sphere(boxes.low[:, None, :2] + _CORNERS * spread, rim)
    sphere = np.zeros((count, len(_CORNERS), n))
    sphere[:, :, :3], sphere[:, :, OFFSET] = f * normals, -1.0
    rows.append((sphere, np.broadcast_to(-least, (count, len(_CORNERS)))))
    if (np.maximum(boxes.high[:, :2], -boxes.low[:, :2]).min(axis=1) > 0.0).any() and rim > 0.0:
        middle = (boxes.low + boxes.high)[:, :2] / 2
        around = np.zeros((count, len(_FAN), n))
        around[:, :, :2], around[:, :, OFFSET] = f * _fan(middle), -rim
        rows.append((around, np.broadcast_to(-rim * least, (count, len(_FAN)))))
    if wish.corrects:
        reach = (boxes.high - boxes.low)[:, 3:] / 2
        low[:, 5:], high[:, 5:] = -reach, reach
        hinge = (boxes.low + boxes.high)[:, 3:] / 2
        disc, ways = np.zeros((count, len(_FAN), n)), _fan(hinge)
        disc[:, :, 5:] = ways
        rows.append((disc, wish.lens.shift - (ways @ hinge[:, :, None])[:, :, 0]))
    return Rows(np.concatenate([r for r, _ in rows], axis=1), np.concatenate([r for _, r in rows], axis=1), low, high)


def _between(f: float, k: int, axis: Interval, kappa: Interval, n: int) -> tuple[Array, Array]:
    """f V_k <= most d and f V_k >= least d, for some d in D - kappa: the one that leaves most room."""
    rows, right = np.zeros((len(axis.low), 2, n)), np.zeros((len(axis.low), 2))
    for row, (end, sign) in enumerate(((axis.high, 1.0), (axis.low, -1.0))):
        rows[:, row, k], rows[:, row, OFFSET] = sign * f, -sign * end[:, 0]
        right[:, row] = (-sign * end * np.where(sign * end > 0.0, kappa.low, kappa.high))[:, 0]
    return rows, right


def _onto_sphere(sideways: Array, most: float) -> Array:
    """Unit vectors (B, C, 3) whose parts along and across are near (B, C, 2), no longer than `most`. [-]"""
    size = np.linalg.norm(sideways, axis=2, keepdims=True)
    kept = sideways * np.where(size > most, most / np.where(size > 0.0, size, 1.0), 1.0)
    forward = np.sqrt(np.maximum(0.0, 1.0 - (kept * kept).sum(axis=2, keepdims=True)))
    return np.concatenate([kept, forward], axis=2)


def _fan(middle: Array) -> Array:
    """Unit vectors (B, F, 2) about the directions of (B, 2)."""
    angles = np.arctan2(middle[:, 1], middle[:, 0])[:, None] + _FAN
    return np.stack([np.cos(angles), np.sin(angles)], axis=2)


def blur_rows(held: Enclosure, n: int) -> tuple[Array, Array]:
    """W.q - D, and the sag's linear part, as rows (B, N, n) . unknowns + constant (B, N), for each point: what lies
    beyond the plane of focus is > 0. [m]"""
    rows = np.zeros((*held.q.shape[:2], n))
    rows[:, :, :3], rows[:, :, OFFSET] = held.q + held.sag.slope, -1.0
    return rows, -held.q[:, :, 2]


def in_framing(wish: Wish, boxes: Boxes, rows: Rows, held: Enclosure) -> tuple[Array, Array]:
    """Rows (B, 4 F, n) and right sides (B, 4 F) for the images of F points to stay in the framing, `held` being the
    enclosures of these points. [m^2]"""
    framing = wish.framing
    assert framing is not None
    along, across = (_image(wish, boxes, rows, held, k) for k in (0, 1))
    c, s = np.cos(boxes.turn)[:, None], np.sin(boxes.turn)[:, None]
    x = _sum(_scaled(along, c), _scaled(across, -s))
    y = _sum(_scaled(along, s), _scaled(across, c))
    total = held.q[:, :, 2] + wish.lens.focal_length - wish.lens.pivot
    made, ends = [], []
    for image, at in ((x, framing.images[:, 0]), (y, framing.images[:, 1])):
        for sign in (1.0, -1.0):
            # sign (image - at) depth <= room depth, depth = total - D + kappa
            edge = sign * at + framing.room
            row = sign * image.rows
            row[:, :, OFFSET] += edge
            made.append(row)
            rest = sign * image.constant + (sign * image.per_kappa - edge) * held.kappa
            ends.append(edge * total - (rest + sign * image.rest).low)
    return np.concatenate(made, axis=1), np.concatenate(ends, axis=1)


@dataclass(frozen=True)
class _Image:
    """A part of an image times depth: rows . unknowns + constant + per_kappa kappa + rest."""

    rows: Array
    constant: Array
    per_kappa: Array
    rest: Interval


def _image(wish: Wish, boxes: Boxes, rows: Rows, held: Enclosure, k: int) -> _Image:
    """The image's part along (0) or across (1), upright, times depth, of the points of `held`. [m^2]"""
    f, n = wish.lens.focal_length, rows.low.shape[1]
    hinge = ((boxes.low + boxes.high)[:, 3:] / 2)[:, k : k + 1]
    q = held.q
    total = q[:, :, 2] + f - wish.lens.pivot
    made = np.zeros((*q.shape[:2], n))
    made[:, :, OFFSET] = q[:, :, k] + hinge
    carried = held.arm / held.d * f
    mean = (carried.low + carried.high) / 2
    made[:, :, k] -= total * mean
    if n > OFFSET + 2:
        made[:, :, 5 + k] -= total
    rest = -1.0 * (carried - mean) * held.v[k] * total
    constant = -hinge * total
    if held.lean is not None:
        lean = held.lean[k]
        middle = (lean.low + lean.high) / 2
        made[:, :, :3] += middle[:, :, None] * q
        made[:, :, OFFSET] -= middle
        constant = constant - middle * q[:, :, 2]
        rest = rest - (lean - middle) * _defocus(held)
    return _Image(made, constant, -(q[:, :, k] + hinge), rest)


def _defocus(held: Enclosure) -> Interval:
    """g / f of the flat field over the box, (B, N). [m]"""
    q = [interval(held.q[:, :, k], held.q[:, :, k]) for k in range(3)]
    v = held.v
    return held.d + held.kappa - (q[0] * v[0] + q[1] * v[1] + q[2] * (v[2] - 1.0))


def _scaled(image: _Image, by: Array) -> _Image:
    return _Image(by[:, :, None] * image.rows, by * image.constant, by * image.per_kappa, by * image.rest)


def _sum(one: _Image, two: _Image) -> _Image:
    return _Image(
        one.rows + two.rows, one.constant + two.constant, one.per_kappa + two.per_kappa, one.rest + two.rest
    )

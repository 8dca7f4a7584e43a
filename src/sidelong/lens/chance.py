"""The chance that each of the sharp ones, and all of them, are sharp in one frame, and how many frames to take.

People sway and hands err: each error is normal, independent, and small enough that signed blur times depth answers
linearly (tests sample the exact blur against it). A point is sharp when |signed blur| <= limit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.normal import above, below
from sidelong.lens.response import Response, response
from sidelong.lens.values import Setting

Array = NDArray[np.float64]

DRAWS = 1 << 14
"""Draws for the chance of all together, which is then good to 0.001 (tests)."""


@dataclass(frozen=True)
class Sway:
    """One-sigma motion between focusing and the frame: fore and aft, sideways, up. [m]"""

    fore: float
    side: float
    up: float


@dataclass(frozen=True)
class Hand:
    """One-sigma errors of setting: swing and tilt [rad], the ring as extension [m]; and how far the camera moves
    between focusing and the frame, along its film's normal, to the side and up [m], and how far it turns to the side
    and up about its front principal point [rad]."""

    swing: float
    tilt: float
    ring: float
    camera: Sway = Sway(0.0, 0.0, 0.0)
    yaw: float = 0.0
    pitch: float = 0.0


SWAY = {
    "standing": Sway(0.012, 0.007, 0.003),
    "sitting": Sway(0.008, 0.005, 0.003),
    "kneeling": Sway(0.010, 0.008, 0.003),
}
"""Heads by pose. Standing: the sway of the centre of pressure of healthy adults with open eyes over 20 s, root mean
square about 5 mm fore and aft and 3 mm sideways (prieto1996, from memory), carried to the head by an inverted
pendulum (times 1.7) and widened for the seconds between focusing and the frame; sitting and kneeling are our own
estimates."""

_SCALE, _RING = math.radians(0.10), 10e-6
SUPPORTS = {
    "tripod": Hand(_SCALE, _SCALE, _RING),
    "monopod": Hand(_SCALE, _SCALE, _RING, Sway(0.010, 0.010, 0.001), math.radians(0.3), math.radians(0.3)),
    "hand": Hand(_SCALE, _SCALE, _RING, SWAY["standing"], math.radians(0.5), math.radians(0.5)),
}
"""By what carries the camera. A scale is read to a tenth of a degree and a ring set at the magnified view to ten
micrometres: our own estimates. A tripod does not move. In the hand the camera sways as a standing head does, and is
aimed again to half a degree; on a monopod it keeps its height: our own estimates."""


@dataclass(frozen=True)
class Chance:
    """`each` (N,) and `together`: chance in one frame; frames for 95 and for 99 chances in a hundred, None when over
    `MOST_FRAMES`; `spread` (N,) one-sigma of the signed blur [m]; `culprit` which error matters most for the least
    likely one: "movement", "ring", "lean" or "camera"."""

    each: Array
    together: float
    frames_95: int | None
    frames_99: int | None
    spread: Array
    culprit: str


MOST_FRAMES = 999


def chance(setting: Setting, points: Array, moves: Sequence[Array], hand: Hand, limit: float) -> Chance:
    """The chances for points (N, 3), body frame [m].

    `moves`: for each point a (3, 3) matrix whose columns are the one-sigma moves along three independent ways, body
    frame [m]. `limit`: full major axis on the film [m]. Deterministic. A point that has no blur, since it lies behind
    the lens or too near to it, is sharp in no frame.
    """
    at = response(setting, points)
    has = (points[:, 2] > 0.0) & np.isfinite(at.signed) & np.isfinite(at.where).all(axis=1) & np.isfinite(at.ring)
    if not has.all():
        return _without(setting, points, moves, (hand, limit), has)
    lean = np.stack([at.where[i] @ np.asarray(moves[i]) for i in range(len(points))])
    common = np.stack([at.swing * hand.swing, at.tilt * hand.tilt, at.ring * hand.ring], axis=1)
    camera = _carried(at.where, points, hand)
    spread = np.sqrt(np.sum(lean**2, axis=1) + np.sum(common**2, axis=1) + np.sum(camera**2, axis=1))
    edges = [_edge(at, points, moves, hand, side * limit) for side in (1.0, -1.0)]
    each = _between(*((e.past, np.hypot(e.own, np.linalg.norm(e.common, axis=1))) for e in edges))
    together = _together(*edges)
    together = min(together, float(np.min(each))) if len(each) else together  # the draws' own error aside
    least = int(np.argmin(each)) if len(each) else 0
    parts = {
        "movement": float(np.hypot(*common[least, :2])),
        "ring": float(abs(common[least, 2])),
        "lean": float(np.linalg.norm(lean[least])),
        "camera": float(np.linalg.norm(camera[least])),
    }
    culprit = max(parts, key=lambda k: parts[k])
    return Chance(each, together, frames_for(together, 0.95), frames_for(together, 0.99), spread, culprit)


def _without(
    setting: Setting, points: Array, moves: Sequence[Array], how: tuple[Hand, float], has: NDArray[np.bool_]
) -> Chance:
    """The chances where only some points have a blur."""
    of = chance(setting, points[has], [move for move, one in zip(moves, has, strict=True) if one], *how)
    each, spread = np.zeros(len(points)), np.full(len(points), np.inf)
    each[has], spread[has] = of.each, of.spread
    return Chance(each, 0.0, None, None, spread, of.culprit)


@dataclass(frozen=True)
class _Edge:
    """How far each signed blur is past one edge of the limit (N,), and its one-sigma changes: of each one's own
    leans together (N,), and of each error that all share (N, D). [m]"""

    past: Array
    own: Array
    common: Array


def _edge(at: Response, points: Array, moves: Sequence[Array], hand: Hand, edge: float) -> _Edge:
    """Signed blur less `edge` [m], times depth over depth now: nearly linear in what errs, since blur goes as one
    over depth, and of the same sign."""
    past = at.signed - edge
    where = at.where.copy()
    where[:, 2] += past / points[:, 2]
    own = np.array([np.linalg.norm(where[i] @ np.asarray(moves[i])) for i in range(len(points))])
    set_ = np.stack([at.swing * hand.swing, at.tilt * hand.tilt, at.ring * hand.ring], axis=1)
    return _Edge(past, own, np.concatenate([set_, _carried(where, points, hand)], axis=1))


def _carried(where: Array, points: Array, hand: Hand) -> Array:
    """Signed blur for one sigma of each motion of the camera (N, 5): to the side, up, forward, yaw, pitch. [m]

    A camera that moves leaves the points behind: they move the other way in its frame. One that turns right carries
    a point (x, y, z) by (-z, 0, x) a radian, one that turns up by (0, -z, y).
    """
    x, y, z = points.T
    moved = -where * np.array([hand.camera.side, hand.camera.up, hand.camera.fore])
    yaw = (where[:, 2] * x - where[:, 0] * z) * hand.yaw
    pitch = (where[:, 2] * y - where[:, 1] * z) * hand.pitch
    return np.column_stack([moved, yaw, pitch])


def frames_for(once: float, wanted: float) -> int | None:
    """Frames so that at least one succeeds with a chance, independent of one another; None when over MOST_FRAMES."""
    if once >= wanted:
        return 1
    if once <= 1e-12:
        return None
    frames = math.ceil(math.log1p(-wanted) / math.log1p(-once) - 1e-9)
    return frames if frames <= MOST_FRAMES else None


def _between(upper: tuple[Array, Array], lower: tuple[Array, Array]) -> Array:
    """Chance that normal values are under the upper edge and over the lower, from how far past each they are and the
    spread there (...)."""
    (above, spread_above), (below_, spread_below) = upper, lower
    inside = below(-above / np.maximum(spread_above, 1e-15)) - below(-below_ / np.maximum(spread_below, 1e-15))
    return np.asarray(np.maximum(inside, 0.0))


def _together(upper: _Edge, lower: _Edge) -> float:
    """Chance that all hold at once: their own leans are independent, so given the common errors it is a product; the
    common errors are drawn, evenly spread rather than at random, in as few directions as they act in."""
    if not len(upper.past):
        return 1.0
    left, sizes, _ = np.linalg.svd(np.concatenate([upper.common, lower.common]), full_matrices=False)
    some = sizes > 1e-6 * max(float(sizes[0]), 1e-15)
    common = (_spread_draws(int(np.sum(some))) @ (left[:, some] * sizes[some]).T).reshape(-1, 2, len(upper.past))
    each = _between((upper.past + common[:, 0], upper.own), (lower.past + common[:, 1], lower.own))
    return float(np.mean(np.prod(each, axis=1)))


@cache
def _spread_draws(directions: int) -> Array:
    """Normal draws (DRAWS, directions) that fill the space evenly: a Kronecker sequence whose steps are the powers of
    the root of x^(d + 1) = x + 1, folded (a tent) so that it is smooth around, by the normal's inverse."""
    root = 2.0
    for _ in range(60):
        root = (1.0 + root) ** (1.0 / (directions + 1))
    steps = root ** -np.arange(1.0, directions + 1)
    even = np.mod(0.5 + np.outer(np.arange(1, DRAWS + 1), steps), 1.0)
    return above(1.0 - np.abs(2.0 * even - 1.0))

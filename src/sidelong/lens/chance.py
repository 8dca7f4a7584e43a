"""The chance that each of the sharp ones, and all of them, are sharp in one frame, and how many frames to take.

People sway and hands err: each error is normal, independent, and small enough that the signed blur answers linearly
(tests sample the exact blur against it). A point is sharp when |signed blur| <= limit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.normal import below
from sidelong.lens.response import response
from sidelong.lens.values import Setting

Array = NDArray[np.float64]

DRAWS = 1 << 15
"""Draws for the chance of all together; its standard error is under 0.003."""


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
    frame [m]. `limit`: full major axis on the film [m]. Deterministic: the draws are seeded.
    """
    at = response(setting, points)
    lean = np.stack([at.where[i] @ np.asarray(moves[i]) for i in range(len(points))])
    common = np.stack([at.swing * hand.swing, at.tilt * hand.tilt, at.ring * hand.ring], axis=1)
    camera = _carried(at.where, points, hand)
    spread = np.sqrt(np.sum(lean**2, axis=1) + np.sum(common**2, axis=1) + np.sum(camera**2, axis=1))
    each = _within(at.signed, spread, limit)
    together = _together(at.signed, lean, np.concatenate([common, camera], axis=1), limit)
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


def _within(mean: Array, spread: Array, limit: float) -> Array:
    """Chance that normal values (...) lie within -limit and limit."""
    sound = np.maximum(spread, 1e-15)
    return np.asarray(below((limit - mean) / sound) - below((-limit - mean) / sound))


def _together(mean: Array, lean: Array, common: Array, limit: float) -> float:
    """Chance that all hold at once: their own leans are independent, so given the common errors it is a product; the
    common errors are drawn."""
    if not len(mean):
        return 1.0
    draws = np.random.default_rng(20260314).standard_normal((DRAWS, common.shape[1]))
    centre = mean + draws @ common.T
    own = np.broadcast_to(np.linalg.norm(lean, axis=1), centre.shape)
    return float(np.mean(np.prod(_within(centre, own, limit), axis=1)))

"""Nobody is wanted soft: the least movement that serves, and the ring in the middle of the sharp ones."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.linear import Rotations, allowed, blurs, linearise, solved, state_of, ways
from sidelong.lens.many import within_reach
from sidelong.lens.ring import ring_range
from sidelong.lens.values import Setting
from sidelong.lens.wish import Wish

Array = NDArray[np.float64]

_ROUNDS = 6
_WITHIN = 1e-6
_DIRECTIONS = np.linspace(0.0, 2.0 * math.pi, 24, endpoint=False)
_BESIDE = np.array([0.0, 1e-3, -1e-3, 0.01, -0.01, 0.05, -0.05])
"""Angles of the rows that stand for a length. [rad]"""


def least_movement(
    wish: Wish, start: Array, f_number: float, limit: float, rotations: Rotations, near: bool = False
) -> Array | None:
    """The state (q,) of the smallest movement that keeps the sharp ones within a limit [m] at a stop, over all
    rotations; None where none does. `start` (q,) is near it, and so `near` that no first order is needed. [m]"""
    turn = np.array([math.nan if r is None else r for r in rotations])
    states = np.tile(start, (len(turn), 1))
    stop = np.full(len(turn), f_number)
    best: tuple[float, Array] | None = None
    for round_ in range(_ROUNDS):
        states = _smallest(wish, states, stop, limit, turn, exactly=near or round_ > 0)
        sound = np.isfinite(states[:, 0])
        if not sound.any():
            break
        states, turn, stop = within_reach(wish.lens, states[sound]), turn[sound], stop[sound]
        worst = np.max(blurs(wish, states, stop, wish.sharp), axis=1)
        length = np.hypot(states[:, 0], states[:, 1])
        length = np.where((worst <= limit * (1.0 + _WITHIN)) & allowed(wish, states), length, np.inf)
        k = int(np.argmin(length))
        if math.isfinite(length[k]) and (best is None or length[k] < best[0]):
            settled = best is not None and length[k] > best[0] * (1.0 - (1e-4 if near else 1e-5))
            best = float(length[k]), states[k]
            if settled or length[k] == 0.0:
                break
    return None if best is None else best[1]


def _smallest(wish: Wish, states: Array, stop: Array, limit: float, turn: Array, exactly: bool) -> Array:
    linear = linearise(wish, states, stop, exactly)
    count, _, q = linear.sharp.shape
    angles = np.concatenate(
        [np.tile(_DIRECTIONS, (count, 1)), np.arctan2(states[:, 1], states[:, 0])[:, None] + _BESIDE], axis=1
    )
    length = np.zeros((count, angles.shape[1], q))
    length[:, :, 0], length[:, :, 1] = np.cos(angles), np.sin(angles)
    allowed_blur = (limit * stop / wish.lens.focal_length)[:, None]
    rows = np.concatenate([linear.sharp, -linear.sharp, linear.more, length], axis=1)
    right = np.concatenate(
        [
            allowed_blur - linear.sharp_constant,
            allowed_blur + linear.sharp_constant,
            linear.more_right,
            np.zeros(angles.shape),
        ],
        axis=1,
    )
    column = np.zeros(right.shape)
    column[:, -angles.shape[1] :] = -1.0
    most = 2.0 * states[:, 2] * math.sin(wish.lens.movement) + 1e-9
    found = solved(1.0, ways(wish, states, turn), rows, right, column, most)
    return found.x[:, :-1]


def ring_in_the_middle(wish: Wish, setting: Setting) -> Setting:
    """The same movement with the ring where the softest of the sharp ones is sharpest, framing and image circle kept.

    A hundred and more places at once, forty times closer each time about the best one.
    """
    low, high = ring_range(wish.lens)
    here = min(max(setting.extension, low), high)
    state = state_of(wish, setting)
    az = math.sqrt(1.0 - (math.hypot(state[0], state[1]) / state[2]) ** 2)
    lens = wish.lens

    def at(extensions: Array) -> Array:
        d = lens.focal_length - lens.pivot + (lens.pivot + extensions) * az
        states = np.tile(state, (len(extensions), 1))
        states[:, :2] *= (d / state[2])[:, None]
        states[:, 2] = d
        worst = np.max(blurs(wish, states, np.full(len(d), setting.f_number), wish.sharp), axis=1)
        return np.where(allowed(wish, states), worst, np.inf)

    reach = (high - low) / 2
    best, width = here, reach
    for _ in range(8):
        places = np.clip(np.concatenate([[best], best + width * np.linspace(-1.0, 1.0, 129)]), low, high)
        best = float(places[int(np.argmin(at(places)))])
        width /= 40.0
        if width < 1e-10:
            break
    return replace(setting, extension=best)

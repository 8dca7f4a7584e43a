"""Blur made linear in (d a_x, d a_y, d) around a state of the lens, and the lens's limits as rows and cones.

With W = (d a - f z)/f, relative to the moved principal point O, a point's first-order blur is (f/N) |W.P - d| / Z,
linear in these once a_z is held. Far from the answer it is scaled to the exact ellipse; near it the exact ellipse's
own tangent is used. Source: derived, docs/computed/focus.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.axis import swing_and_tilt
from sidelong.lens.blur import blur
from sidelong.lens.curvature import curved_part
from sidelong.lens.geometry import geometry_of
from sidelong.lens.response import signed_blur
from sidelong.lens.ring import ring_range
from sidelong.lens.values import Movement, Setting
from sidelong.lens.wish import Wish

Array = NDArray[np.float64]

_UNMOVED = 1e-9
"""A movement under this is none: what is left of it is the solver's rounding. [rad]"""
ROUNDS = 6
FIRST_ORDER_ROUNDS = 3
"""Rounds of re-weighting before tangents take over."""


@dataclass(frozen=True)
class State:
    """Where the linearisation stands: d a_x, d a_y, d [m], seen as a setting at a stop."""

    x: float
    y: float
    d: float

    @property
    def array(self) -> Array:
        """(3,) [m]"""
        return np.array([self.x, self.y, self.d])

    def setting(self, wish: Wish, f_number: float, held: bool = True) -> Setting:
        """The setting, `held` within the lens's movement and ring unless it only serves a derivative."""
        lens = wish.lens
        sideways = math.hypot(self.x, self.y) / self.d
        if held:
            sideways = 0.0 if sideways < _UNMOVED else sideways
            sideways = min(sideways, math.sin(lens.movement) if lens.movement else 0.0)
        turn = math.atan2(self.y, self.x)
        forward = math.sqrt(max(0.0, 1.0 - sideways**2))
        swing, tilt = swing_and_tilt(np.array([sideways * math.cos(turn), sideways * math.sin(turn), forward]))
        extension = (self.d - lens.focal_length + lens.pivot) / forward - lens.pivot
        if held:
            least, most = ring_range(lens)
            extension = min(max(least, extension), most)
        return Setting(lens, Movement(swing, tilt, wish.rise, wish.shift), extension, f_number)


@dataclass(frozen=True)
class Linear:
    """First-order signed blur times N/f of every point as rows . (d a_x, d a_y, d) + constant, already over Z and
    weighted by exact over first-order; and the bounds on d."""

    sharp: Array
    sharp_constant: Array
    soft: Array
    soft_constant: Array
    d_range: tuple[float, float]


def linearise(wish: Wish, state: State, f_number: float, exactly: bool = False) -> Linear:
    """Blur around a state: first order scaled to the exact ellipse, good far away; or `exactly` to first order at
    the state itself, which converges."""
    glass = geometry_of(state.setting(wish, f_number))
    lens, z = wish.lens, float(glass.axis[2])
    low, high = (lens.focal_length - lens.pivot + (lens.pivot + e) * z for e in ring_range(lens))
    points = np.concatenate([wish.sharp.reshape(-1, 3), wish.soft.reshape(-1, 3)])
    rows, constant = (_tangent if exactly else _first_order)(wish, state, f_number, points)
    k = len(wish.sharp)
    return Linear(rows[:k], constant[:k], rows[k:], constant[k:], (low, high))


def _first_order(wish: Wish, state: State, f_number: float, points: Array) -> tuple[Array, Array]:
    glass = geometry_of(state.setting(wish, f_number))
    p, f = glass.relative(points), wish.lens.focal_length
    depth = p[:, 2]
    rows = np.stack([p[:, 0] / f, p[:, 1] / f, glass.axis[2] * depth / f - 1.0], axis=1) / depth[:, None]
    constant = -np.ones(len(p))
    if glass.field_curvature != 0.0:
        # the sag at this state, held over the step; the tangents that follow turn it with the state
        constant = constant + curved_part(glass, p) / (f * depth)
    first_order = np.abs(rows @ state.array + constant) * f / f_number
    sound = first_order > 1e-9
    ratio = np.where(sound, blur(glass, points).major / np.where(sound, first_order, 1.0), 1.0)
    return rows * ratio[:, None], constant * ratio


def _tangent(wish: Wish, state: State, f_number: float, points: Array) -> tuple[Array, Array]:
    here = state.array
    step = 1e-6 * state.d
    columns = []
    for k in range(3):
        ahead, behind = here.copy(), here.copy()
        ahead[k] += step
        behind[k] -= step
        columns.append(
            (_signed(wish, ahead, f_number, points) - _signed(wish, behind, f_number, points)) / (2 * step)
        )
    rows = np.stack(columns, axis=1)
    return rows, _signed(wish, here, f_number, points) - rows @ here


def _signed(wish: Wish, at: Array, f_number: float, points: Array) -> Array:
    """Exact major axis times N/f, negative for points nearer than the plane of focus, as the rows have it. [-]"""
    glass = geometry_of(State(*at).setting(wish, f_number, held=False))
    return -signed_blur(glass, points) * f_number / glass.focal_length


def near(rows: Array, right: Array, state: State, radius: float) -> tuple[Array, Array]:
    """Rows that keep a step within `radius` of d sideways and of the ring's travel, added."""
    box = np.vstack([np.eye(4)[:3], -np.eye(4)[:3]])
    room = radius * np.array([state.d, state.d, 0.2 * state.d])
    return np.vstack([rows, box]), np.concatenate([right, state.array + room, room - state.array])


def limits(
    wish: Wish, rotation: float | None, linear: Linear, rows: Array, right: Array
) -> tuple[tuple[Array, Array], list[tuple[Array, Array]]]:
    """The lens's own limits added to `rows` . x <= `right`, x = (d a_x, d a_y, d, t)."""
    low, high = linear.d_range
    more: list[list[float]] = [[0, 0, -1, 0], [0, 0, 1, 0]]
    more_right = [-low, high]
    most = math.sin(wish.lens.movement)
    cones: list[tuple[Array, Array]] = []
    if wish.lens.movement <= 0.0:
        more += [[1, 0, 0, 0], [-1, 0, 0, 0], [0, 1, 0, 0], [0, -1, 0, 0]]
        more_right += [0.0] * 4
    elif rotation is None:
        cone = np.array([[0, 0, -most, 0], [-1, 0, 0, 0], [0, -1, 0, 0]], float)
        cones.append((cone, np.zeros(3)))
    else:
        c, s = math.cos(rotation), math.sin(rotation)
        more += [[-s, c, 0, 0], [s, -c, 0, 0], [-c, -s, 0, 0], [c, s, -most, 0]]
        more_right += [0.0] * 4
    return (np.vstack([rows, np.array(more, float)]), np.concatenate([right, more_right])), cones

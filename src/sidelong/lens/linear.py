"""Blur made linear around states of the lens, many at once, and the lens's limits as rows of small linear programmes.

A state is (d a_x, d a_y, d), with shift and rise behind where those may correct the framing. With W = (d a - f z)/f,
relative to the moved principal point O, a point's first-order blur is (f/N) |W.P - d| / Z, linear in these once a_z
is held. Far from the answer it is scaled to the exact ellipse; near it the exact ellipse's own tangent is used.

Source: derived, docs/computed/focus.md.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.axis import swing_and_tilt
from sidelong.lens.curvature import curved_part
from sidelong.lens.geometry import geometry_of
from sidelong.lens.many import Stands, darkness, images, signed_blurs, stands, within_reach
from sidelong.lens.ring import ring_range
from sidelong.lens.simplex import Corners, lowest
from sidelong.lens.values import Movement, Setting
from sidelong.lens.wish import Wish

Array = NDArray[np.float64]
Rotations = Sequence[float | None]

_STEP = 1e-6
"""Of central differences, in film distances. [-]"""
ROOM = 1e-7
"""By so much of its room a framing, and of a hundredth of a cosine an image circle, may be exceeded. [-]"""
_AROUND = np.linspace(0.0, 2.0 * math.pi, 12, endpoint=False)
_BESIDE = np.array([0.0, 0.0005, 0.002, 0.008, 0.03, 0.1, 0.3])
_FAN = np.concatenate([_AROUND, _BESIDE, -_BESIDE[1:]])
"""Angles, from that of the state, of the tangents that stand for a circle. [rad]"""


def setting_of(wish: Wish, state: Array, f_number: float) -> Setting:
    """The setting of a state (3,) or (5,) brought within the lens's limits. [m]"""
    lens = wish.lens
    inside = within_reach(lens, state[None])[0]
    d, sideways, turn = inside[2], math.hypot(inside[0], inside[1]) / inside[2], math.atan2(inside[1], inside[0])
    forward = math.sqrt(max(0.0, 1.0 - sideways**2))
    swing, tilt = swing_and_tilt(np.array([sideways * math.cos(turn), sideways * math.sin(turn), forward]))
    shift, rise = (float(inside[3]), float(inside[4])) if len(inside) > 3 else (wish.shift, wish.rise)
    least, most = ring_range(lens)
    extension = (d - lens.focal_length + lens.pivot) / forward - lens.pivot
    return Setting(lens, Movement(swing, tilt, rise, shift), float(min(max(least, extension), most)), f_number)


def state_of(wish: Wish, setting: Setting) -> Array:
    """The state (3,), or (5,) where the wish corrects its framing, of a setting. [m]"""
    glass = geometry_of(setting)
    d = glass.film_distance
    state = [d * float(glass.axis[0]), d * float(glass.axis[1]), d]
    return np.array([*state, setting.movement.shift, setting.movement.rise] if wish.corrects else state)


def stand(wish: Wish, states: Array) -> Stands:
    """Where states (G, q) put the lens."""
    return stands(wish.lens, wish.rise_shift, states)


def blurs(wish: Wish, states: Array, f_numbers: Array, points: Array) -> Array:
    """Major axes (G, N) of points (N, 3) [m] in states (G, q) [m] at stops (G,); infinite where there is none. [m]"""
    majors = np.abs(signed_blurs(stand(wish, states), f_numbers, points))
    return np.where(np.isnan(majors), np.inf, majors)


def extras(wish: Wish, states: Array) -> Array:
    """What must not exceed 0, (G, E): image displacements over their room, less 1; the image circle's darkness over
    a hundredth. Scaled so that all count alike. [-]"""
    at = stand(wish, states)
    parts = []
    if wish.framing is not None:
        off = (images(at, wish.framing.points) - wish.framing.images).reshape(len(states), -1) / wish.framing.room
        parts += [off - 1.0, -off - 1.0]
    if len(wish.lit) and wish.lens.image_circle is not None:
        parts.append(darkness(at, images(at, wish.lit)) * 100.0 + ROOM)
    return np.concatenate(parts, axis=1) if parts else np.zeros((len(states), 0))


def allowed(wish: Wish, states: Array) -> NDArray[np.bool_]:
    """Whether states (G, q) hold framing and image circle. [-]"""
    return np.asarray((extras(wish, states) <= ROOM).all(axis=1))


@dataclass(frozen=True)
class Linear:
    """Signed blur times N/f of every point around B states, as rows . state + constant: `sharp` (B, S, q) and
    `sharp_constant` (B, S), likewise soft; the rows (B, E, q) of what else must not exceed `more_right` (B, E). And
    what holds at the states themselves, exactly: the major axes `sharp_here`, `soft_here` [m], nan where there is no
    image, and `more_here`, as extras."""

    sharp: Array
    sharp_constant: Array
    soft: Array
    soft_constant: Array
    more: Array
    more_right: Array
    sharp_here: Array
    soft_here: Array
    more_here: Array

    @property
    def held(self) -> NDArray[np.bool_]:
        """Whether the states (B,) hold framing and image circle. [-]"""
        return np.asarray((self.more_here <= ROOM).all(axis=1))


def linearise(wish: Wish, states: Array, f_numbers: Array, exactly: bool = True) -> Linear:
    """Blur around states (B, q) at stops (B,): first order at the state itself, or, unless `exactly`, first order in
    W scaled to the exact ellipse, which is good far away."""
    points = np.concatenate([wish.sharp.reshape(-1, 3), wish.soft.reshape(-1, 3)])
    rows, constant, here = (_tangents if exactly else _first_order)(wish, states, f_numbers, points)
    more, more_here = _more(wish, states)
    k = len(wish.sharp)
    return Linear(
        rows[:, :k], constant[:, :k], rows[:, k:], constant[:, k:],
        more, (more @ states[:, :, None])[:, :, 0] - more_here,
        here[:, :k], here[:, k:], more_here,
    )  # fmt: skip


def chosen(first: NDArray[np.bool_], one: Linear, two: Linear) -> Linear:
    """Of each programme the lines of `one` where `first`, else of `two`."""
    if first.all():
        return one
    pairs = zip(vars(one).values(), vars(two).values(), strict=True)
    return Linear(*(np.where(first.reshape(-1, *[1] * (a.ndim - 1)), a, b) for a, b in pairs))


def _more(wish: Wish, states: Array) -> tuple[Array, Array]:
    if not _has_more(wish):
        return np.zeros((len(states), 0, states.shape[1])), np.zeros((len(states), 0))
    return _slopes(lambda s: extras(wish, s), states)


def _has_more(wish: Wish) -> bool:
    return wish.framing is not None or (len(wish.lit) > 0 and wish.lens.image_circle is not None)


def _first_order(wish: Wish, states: Array, f_numbers: Array, points: Array) -> tuple[Array, Array, Array]:
    at, f = stand(wish, states), wish.lens.focal_length
    x, y, z = points[:, 0] - at.ox, points[:, 1] - at.oy, points[:, 2] - at.oz
    rows = np.zeros((len(states), len(points), states.shape[1]))
    rows[:, :, 0], rows[:, :, 1], rows[:, :, 2] = x / (f * z), y / (f * z), at.az / f - 1.0 / z
    constant = np.full(x.shape, -1.0)
    if wish.lens.field_curvature != 0.0:
        # the sag at this state, held over the step; the tangents that follow turn it with the state
        constant = constant + _sags(wish, states, points) / (f * z)
    first_order = (rows @ states[:, :, None])[:, :, 0] + constant
    here = np.abs(signed_blurs(at, f_numbers, points))
    sound = np.abs(first_order) > 1e-9
    ratio = here * (f_numbers / f)[:, None] / np.where(sound, np.abs(first_order), 1.0)
    ratio = np.where(sound & np.isfinite(ratio), ratio, 1.0)
    return rows * ratio[:, :, None], constant * ratio, here


def _sags(wish: Wish, states: Array, points: Array) -> Array:
    parts = []
    for state in states:
        glass = geometry_of(setting_of(wish, state, wish.marks[0]))
        parts.append(curved_part(glass, glass.relative(points)))
    return np.stack(parts)


def _tangents(wish: Wish, states: Array, f_numbers: Array, points: Array) -> tuple[Array, Array, Array]:
    each = np.repeat(f_numbers, 2 * states.shape[1] + 1)
    rows, at = _slopes(lambda s: signed_blurs(stand(wish, s), each, points), states)
    scale = (f_numbers / wish.lens.focal_length)[:, None]
    rows = rows * scale[:, :, None]
    return rows, at * scale - (rows @ states[:, :, None])[:, :, 0], np.abs(at)


def _slopes(of: Callable[[Array], Array], states: Array) -> tuple[Array, Array]:
    """Slopes (B, R, q) and values (B, R) at states (B, q) of a function from states (G, q) to values (G, R)."""
    count, q = states.shape
    step = _STEP * states[:, 2]
    ways = np.concatenate([np.zeros((1, q)), np.eye(q), -np.eye(q)])
    values = of((states[:, None, :] + step[:, None, None] * ways).reshape(-1, q)).reshape(count, 2 * q + 1, -1)
    slopes = (values[:, 1 : q + 1] - values[:, q + 1 :]) / (2.0 * step)[:, None, None]
    return np.swapaxes(slopes, 1, 2), values[:, 0]


@dataclass(frozen=True)
class Ways:
    """The unknowns v of B programmes: state = v @ basis, with basis (B, v, q): all of a state for a mount that turns
    freely, a length along its ray for each step of another, the ring alone for a lens without movement."""

    basis: Array
    low: Array
    high: Array
    rows: Array
    right: Array


def ways(wish: Wish, states: Array, rotations: Array, radius: Array | None = None) -> Ways:
    """The unknowns around states (B, q), mounts at `rotations` (B,), nan where free [rad], within the lens's limits
    and, if given, within `radius` (B,) film distances sideways and a fifth of it along the ring. [-]"""
    lens, (count, q) = wish.lens, states.shape
    most, (least_e, most_e) = math.sin(lens.movement), ring_range(lens)
    ends = [(lens.pivot + e) * z for e in (least_e, most_e) for z in (1.0, math.cos(lens.movement))]
    low_d, high_d = (np.full(count, lens.focal_length - lens.pivot + end) for end in (min(ends), max(ends)))
    unit = np.eye(q)
    far = np.full(count, most) * high_d
    if most <= 0.0:
        turns, low, high = np.zeros((count, 0, q)), np.zeros((count, 0)), np.zeros((count, 0))
        cuts = np.zeros((count, 0, q))
    elif np.isnan(rotations[0]):
        turns = np.broadcast_to(unit[:2], (count, 2, q))
        low, high = np.stack([-far, -far], axis=1), np.stack([far, far], axis=1)
        angles = np.arctan2(states[:, 1], states[:, 0])[:, None] + _FAN
        cuts = np.zeros((count, len(_FAN), q))
        cuts[:, :, 0], cuts[:, :, 1], cuts[:, :, 2] = np.cos(angles), np.sin(angles), -most
    else:
        turns = np.zeros((count, 1, q))
        turns[:, 0, 0], turns[:, 0, 1] = np.cos(rotations), np.sin(rotations)
        low, high = np.zeros((count, 1)), far[:, None]
        cuts = turns.copy()
        cuts[:, :, 2] = -most
    basis = np.concatenate([turns, np.broadcast_to(unit[2:], (count, q - 2, q))], axis=1)
    low, high = np.column_stack([low, low_d]), np.column_stack([high, high_d])
    right = np.zeros(cuts.shape[:2])
    if q > 3:
        edge = np.full((count, 2), lens.shift)
        low, high = np.concatenate([low, -edge], axis=1), np.concatenate([high, edge], axis=1)
        angles = np.arctan2(states[:, 4], states[:, 3])[:, None] + _FAN
        disc = np.zeros((count, len(_FAN), q))
        disc[:, :, 3], disc[:, :, 4] = np.cos(angles), np.sin(angles)
        cuts = np.concatenate([cuts, disc], axis=1)
        right = np.concatenate([right, np.full((count, len(_FAN)), lens.shift)], axis=1)
    ring, ring_right = _ring_rows(wish, states)
    cuts, right = np.concatenate([cuts, ring], axis=1), np.concatenate([right, ring_right], axis=1)
    if radius is not None:
        here = (basis @ states[:, :, None])[:, :, 0]
        room = np.broadcast_to((radius * states[:, 2])[:, None], here.shape).copy()
        room[:, turns.shape[1]] *= 0.2
        low, high = np.maximum(low, here - room), np.minimum(high, here + room)
        high = np.maximum(high, low)
    return Ways(basis, low, high, cuts, right)


def _ring_rows(wish: Wish, states: Array) -> tuple[Array, Array]:
    """The ring's ends as rows (B, 2, q) . state <= (B, 2): d - f + pivot from (pivot + e) a_z, which is taken along
    its tangent at states (B, q) [m]. Held still it would stop a step along the end of the ring short."""
    lens, most = wish.lens, math.sin(wish.lens.movement)
    d, size = states[:, 2], np.hypot(states[:, 0], states[:, 1])
    az = np.sqrt(1.0 - np.minimum(size / d, most) ** 2)
    slope = np.zeros_like(states)
    slope[:, :2] = -states[:, :2] / (d * d * az)[:, None]
    slope[:, 2] = size * size / (d**3 * az)
    rest = az - (slope * states).sum(axis=1)
    rows, right = np.zeros((len(states), 2, states.shape[1])), np.zeros((len(states), 2))
    for k, (extension, sign) in enumerate(zip(ring_range(lens), (-1.0, 1.0), strict=True)):
        arm = lens.pivot + extension
        rows[:, k] = -sign * arm * slope
        rows[:, k, 2] += sign
        right[:, k] = sign * (lens.focal_length - lens.pivot + arm * rest)
    return rows, right


def solved(
    cost: float, way: Ways, rows: Array, right: Array, t_column: Array, t_high: Array,
    guess: NDArray[np.int64] | None = None,
) -> Corners:  # fmt: skip
    """Least `cost` x t (cost +1 or -1) over states and t, with rows (B, m, q) . state + t_column (B, m) t <= right
    (B, m) and t from 0 to t_high (B,), in the lens's limits; `x` of the answer is (states, t), (B, q + 1)."""
    count, v = way.low.shape
    all_rows = np.zeros((count, rows.shape[1] + way.rows.shape[1], v + 1))
    turned = np.swapaxes(way.basis, 1, 2)
    all_rows[:, : rows.shape[1], :v], all_rows[:, rows.shape[1] :, :v] = rows @ turned, way.rows @ turned
    all_rows[:, : rows.shape[1], v] = t_column
    aim = np.zeros(v + 1)
    aim[v] = cost
    low = np.concatenate([way.low, np.zeros((count, 1))], axis=1)
    high = np.concatenate([way.high, t_high[:, None]], axis=1)
    found = lowest(aim, all_rows, np.concatenate([right, way.right], axis=1), low, high, guess)
    states = (found.x[:, None, :v] @ way.basis)[:, 0]
    return Corners(np.concatenate([states, found.x[:, v:]], axis=1), found.bound, found.active)

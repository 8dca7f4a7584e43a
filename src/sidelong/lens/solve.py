"""Finding the movement: the widest stop at which the wanted ones are sharp, and there the softest others.

With W = (d a - f z)/f, relative to the moved principal point O, a point's first-order blur is
(f/N) |W.P - d| / Z. "All sharp at the widest stop" is then a second-order cone programme in (W, d); "the others as
soft as can be" is one more for each choice of in front or behind. Both are solved again a few times with O, a_z and
the ratio of the exact ellipse to the first-order blur taken from the answer before, which lands on the exact ellipse.

Source: derived, docs/computed/focus.md; tests hold it against a general optimiser.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from sidelong.errors import Impossible
from sidelong.lens.axis import swing_and_tilt
from sidelong.lens.blur import blur
from sidelong.lens.cone import minimise
from sidelong.lens.geometry import geometry_of
from sidelong.lens.proof import softest_bound, widest_bound
from sidelong.lens.ring import extension_for, largest_extension
from sidelong.lens.stop import FASTEST, stop_needed
from sidelong.lens.values import Movement, Setting
from sidelong.lens.wish import Answer, Wish

Array = NDArray[np.float64]

_ROUNDS = 6
_FIRST_ORDER_ROUNDS = 3
_MOST_SOFT_SIGNS = 8


@dataclass(frozen=True)
class _State:
    """Where the linearisation stands: d a_x, d a_y, d [m], seen as a setting at a stop."""

    x: float
    y: float
    d: float

    @property
    def array(self) -> Array:
        return np.array([self.x, self.y, self.d])

    def setting(self, wish: Wish, f_number: float, held: bool = True) -> Setting:
        """The setting, `held` within the lens's movement and ring unless it only serves a derivative."""
        lens = wish.lens
        sideways = math.hypot(self.x, self.y) / self.d
        if held:
            sideways = min(sideways, math.sin(lens.movement) if lens.movement else 0.0)
        turn = math.atan2(self.y, self.x)
        forward = math.sqrt(max(0.0, 1.0 - sideways**2))
        swing, tilt = swing_and_tilt(np.array([sideways * math.cos(turn), sideways * math.sin(turn), forward]))
        extension = (self.d - lens.focal_length + lens.pivot) / forward - lens.pivot
        if held:
            extension = min(max(0.0, extension), largest_extension(lens))
        return Setting(lens, Movement(swing, tilt, wish.rise, wish.shift), extension, f_number)


@dataclass(frozen=True)
class _Linear:
    """First-order signed blur times N/f of every point as rows . (d a_x, d a_y, d) + constant, already over Z and
    weighted by exact over first-order; and the bounds on d."""

    sharp: Array
    sharp_constant: Array
    soft: Array
    soft_constant: Array
    d_range: tuple[float, float]


def solve_movement(wish: Wish) -> Answer:
    """The movement, ring and stop that serve a wish.

    Raises
    ------
    OutOfReach
        A point wanted sharp lies behind the camera or nearer than the lens can focus.
    Impossible
        The stop asked for, or the smallest that the lens has, is too wide for all the sharp ones at once.
    """
    _check_reach(wish)
    best: tuple[float, _State] | None = None
    for direction in _rotations(wish):
        found = _widest(wish, direction)
        if found is not None and (best is None or found[0] < best[0] * (1 - 1e-9)):
            best = found
    if best is None:
        raise Impossible("no setting of this lens brings the sharp ones together", {}, "ask less to be sharp at once")
    widest_f, state = best
    stops = _stops(wish, widest_f)
    return _choose(wish, widest_f, state, stops)


def _check_reach(wish: Wish) -> None:
    if len(wish.sharp) == 0:
        raise Impossible("nobody is wanted sharp", {}, "name someone under `sharp`, or give the movement")
    for point in wish.sharp:
        extension_for(wish.lens, Movement(0.0, 0.0, wish.rise, wish.shift), point)


def _rotations(wish: Wish) -> list[float | None]:
    """The rotations to try: None for a mount that turns freely, else each stepped half of the circle's directions."""
    step = wish.lens.rotation_step
    if step <= 0.0 or wish.lens.movement <= 0.0:
        return [None]
    count = max(1, round(2 * math.pi / step))
    return [2 * math.pi * k / count for k in range(count)]


def _widest(wish: Wish, rotation: float | None) -> tuple[float, _State] | None:
    """Least true f-number (it may lie under the lens's widest) with its state, for one rotation or a free one."""
    state, f_number, radius = _straight(wish), wish.marks[0], math.inf
    best: tuple[float, _State] | None = None
    for round_ in range(_ROUNDS + 6):
        exactly = round_ >= _FIRST_ORDER_ROUNDS
        linear = _linearise(wish, state, f_number, exactly)
        k = len(linear.sharp)
        rows = np.zeros((2 * k, 4))
        rows[:k, :3], rows[k:, :3], rows[:, 3] = linear.sharp, -linear.sharp, -1.0
        right = np.concatenate([-linear.sharp_constant, linear.sharp_constant])
        if exactly:
            radius = min(radius, 0.02)
            rows, right = _near(rows, right, state, radius)
        solution = minimise(np.array([0.0, 0.0, 1e-9, 1.0]), *_limits(wish, rotation, linear, rows, right))
        if solution is None:
            return best
        tried = _State(*(float(v) for v in solution.x[:3]))
        value = stop_needed(tried.setting(wish, wish.marks[0]), wish.sharp, wish.blur_limit)
        settled = best is not None and abs(value / best[0] - 1) < 1e-11
        if best is None or value < best[0]:
            best, state = (value, tried), tried
            f_number = max(value, FASTEST)
        elif exactly:
            state, radius = best[1], radius / 4
        else:
            state = tried
        if exactly and (settled or radius < 1e-7 or value < 1e-6):
            break
    return best


def _near(rows: Array, right: Array, state: _State, radius: float) -> tuple[Array, Array]:
    """Rows that keep a step within `radius` of d sideways and of the ring's travel, added."""
    box = np.vstack([np.eye(4)[:3], -np.eye(4)[:3]])
    room = radius * np.array([state.d, state.d, 0.2 * state.d])
    return np.vstack([rows, box]), np.concatenate([right, state.array + room, room - state.array])


def _straight(wish: Wish) -> _State:
    lens = wish.lens
    middle = wish.sharp.mean(axis=0)
    extension = extension_for(lens, Movement(0.0, 0.0, wish.rise, wish.shift), middle)
    return _State(0.0, 0.0, lens.focal_length + extension)


def _linearise(wish: Wish, state: _State, f_number: float, exactly: bool = False) -> _Linear:
    """Blur around a state: first order scaled to the exact ellipse, good far away; or `exactly` to first order at
    the state itself, which converges."""
    glass = geometry_of(state.setting(wish, f_number))
    lens, z = wish.lens, float(glass.axis[2])
    low = lens.focal_length - lens.pivot + lens.pivot * z
    high = lens.focal_length - lens.pivot + (lens.pivot + largest_extension(lens)) * z
    points = np.concatenate([wish.sharp.reshape(-1, 3), wish.soft.reshape(-1, 3)])
    rows, constant = (_tangent if exactly else _first_order)(wish, state, f_number, points)
    k = len(wish.sharp)
    return _Linear(rows[:k], constant[:k], rows[k:], constant[k:], (low, high))


def _first_order(wish: Wish, state: _State, f_number: float, points: Array) -> tuple[Array, Array]:
    glass = geometry_of(state.setting(wish, f_number))
    p, f = glass.relative(points), wish.lens.focal_length
    depth = p[:, 2]
    rows = np.stack([p[:, 0] / f, p[:, 1] / f, glass.axis[2] * depth / f - 1.0], axis=1) / depth[:, None]
    constant = -np.ones(len(p))
    first_order = np.abs(rows @ state.array + constant) * f / f_number
    sound = first_order > 1e-9
    ratio = np.where(sound, blur(glass, points).major / np.where(sound, first_order, 1.0), 1.0)
    return rows * ratio[:, None], constant * ratio


def _tangent(wish: Wish, state: _State, f_number: float, points: Array) -> tuple[Array, Array]:
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
    """Exact major axis times N/f, positive for points in front of which the plane of focus lies. [-]"""
    glass = geometry_of(_State(*at).setting(wish, f_number, held=False))
    p = glass.relative(points)
    defocus = glass.film_distance * (p @ glass.axis - glass.focal_length) - glass.focal_length * p[:, 2]
    return np.asarray(blur(glass, points).major * np.sign(defocus) * f_number / glass.focal_length)


def _limits(
    wish: Wish, rotation: float | None, linear: _Linear, rows: Array, right: Array
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


def _stops(wish: Wish, widest_f: float) -> tuple[float, ...]:
    fits = 1 - 1e-9
    if wish.f_number is not None:
        if widest_f * fits > wish.f_number:
            raise Impossible(
                f"at f/{wish.f_number:.3g} no movement of this lens keeps all the sharp ones within "
                f"{wish.blur_limit * 1e6:.0f} micrometres",
                {"widest_f": widest_f},
                f"f/{widest_f:.3g} is the widest stop that does, or ask fewer to be sharp",
            )
        return (wish.f_number,)
    stops = tuple(n for n in wish.marks if n >= widest_f * fits)
    if not stops:
        raise Impossible(
            f"the sharp ones need f/{widest_f:.3g}, and the lens closes only to f/{wish.marks[-1]:.3g}",
            {"widest_f": widest_f},
            "ask fewer to be sharp, allow more blur, or step back",
        )
    return stops


def _choose(wish: Wish, widest_f: float, state: _State, stops: tuple[float, ...]) -> Answer:
    best: tuple[float, float, _State] | None = None
    for n in stops if len(wish.soft) else stops[:1]:
        for found in _softest(wish, state, n) if len(wish.soft) else _least_movement(wish, state, n):
            value, candidate = found
            if best is None or value > best[0] * (1 + 1e-9):
                best = value, n, candidate
        if best is not None and n > 2.0 * best[1]:
            break  # two stops down from the softest so far: blur only shrinks with the stop from here
    value, n, chosen = best if best is not None else (0.0, stops[0], state)
    setting = chosen.setting(wish, n)
    if not len(wish.soft):
        setting = _ring_in_the_middle(wish, setting)
    residuals = blur(geometry_of(setting), wish.sharp).major / wish.blur_limit
    soft = value if len(wish.soft) and best is not None else None
    proved = widest_bound(wish, widest_f)
    soft_proved = None if soft is None else softest_bound(wish, soft, n)
    return Answer(setting, widest_f, proved, soft, soft_proved, residuals, _sentence(widest_f, proved, n))


def _sentence(widest_f: float, proved: float, chosen: float) -> str:
    """The bound in words."""
    if widest_f <= chosen * 0.5:
        return f"the sharp ones would stay within the limit down to f/{widest_f:.2g}"
    gap = 100 * (1 - proved / widest_f)
    return f"no setting of this lens does better than f/{proved:.3g} (found f/{widest_f:.3g}, {gap:.1f} % from proof)"


def _ring_in_the_middle(wish: Wish, setting: Setting) -> Setting:
    """The same movement with the ring where the softest of the sharp ones is sharpest."""
    if len(wish.sharp) == 1:
        return replace(setting, extension=extension_for(wish.lens, setting.movement, wish.sharp[0]))
    reach = [extension_for(wish.lens, setting.movement, p) for p in wish.sharp]

    def softest(extension: float) -> float:
        return float(np.max(blur(geometry_of(replace(setting, extension=extension)), wish.sharp).major))

    span = (min(reach), max(reach))
    if span[1] - span[0] < 1e-12:
        return replace(setting, extension=span[0])
    found = minimize_scalar(softest, bounds=span, method="bounded", options={"xatol": 1e-10})
    best = min((float(found.x), setting.extension), key=softest)
    return replace(setting, extension=best)


def _softest(wish: Wish, start: _State, f_number: float) -> list[tuple[float, _State]]:
    """Least blur among the soft ones [m] with its state, for each choice of in front or behind that can be had."""
    signs = itertools.product((1.0, -1.0), repeat=min(len(wish.soft), _MOST_SOFT_SIGNS))
    found = []
    for sign in signs:
        side = np.array(list(sign) + [sign[-1]] * (len(wish.soft) - len(sign)))
        for rotation in _rotations(wish):
            answer = _pushed_apart(wish, start, f_number, side, rotation)
            if answer is not None:
                found.append(answer)
    return found


def _pushed_apart(
    wish: Wish, start: _State, f_number: float, side: Array, rotation: float | None
) -> tuple[float, _State] | None:
    allowed = wish.blur_limit * f_number / wish.lens.focal_length
    state, best = start, None
    for round_ in range(_ROUNDS):
        linear = _linearise(wish, state, f_number, exactly=round_ >= _FIRST_ORDER_ROUNDS)
        k, j = len(linear.sharp), len(linear.soft)
        rows = np.zeros((2 * k + j, 4))
        rows[:k, :3], rows[k : 2 * k, :3] = linear.sharp, -linear.sharp
        rows[2 * k :, :3], rows[2 * k :, 3] = -side[:, None] * linear.soft, 1.0
        right = np.concatenate(
            [allowed - linear.sharp_constant, allowed + linear.sharp_constant, side * linear.soft_constant]
        )
        solution = minimise(np.array([0.0, 0.0, 0.0, -1.0]), *_limits(wish, rotation, linear, rows, right))
        if solution is None or solution.x[3] <= 0:
            break
        state = _State(*(float(v) for v in solution.x[:3]))
        glass = geometry_of(state.setting(wish, f_number))
        if np.max(blur(glass, wish.sharp).major) <= wish.blur_limit * (1 + 1e-6):
            value = float(np.min(blur(glass, wish.soft).major))
            best = (value, state) if best is None or value > best[0] else best
    return best


def _least_movement(wish: Wish, start: _State, f_number: float) -> list[tuple[float, _State]]:
    """Nobody is wanted soft: the smallest movement that keeps the sharp ones within the limit; value -angle [rad]."""
    allowed = wish.blur_limit * f_number / wish.lens.focal_length
    found = []
    for rotation in _rotations(wish):
        state, good = start, None
        for round_ in range(_ROUNDS):
            linear = _linearise(wish, state, f_number, exactly=round_ >= _FIRST_ORDER_ROUNDS)
            k = len(linear.sharp)
            rows = np.zeros((2 * k, 4))
            rows[:k, :3], rows[k:, :3] = linear.sharp, -linear.sharp
            right = np.concatenate([allowed - linear.sharp_constant, allowed + linear.sharp_constant])
            below, cones = _limits(wish, rotation, linear, rows, right)
            length = np.array([[0, 0, 0, -1], [-1, 0, 0, 0], [0, -1, 0, 0]], float)
            solution = minimise(np.array([0.0, 0.0, 1e-6, 1.0]), below, [*cones, (length, np.zeros(3))])
            if solution is None:
                break
            state = _State(*(float(v) for v in solution.x[:3]))
            if (
                np.max(blur(geometry_of(state.setting(wish, f_number)), wish.sharp).major)
                <= wish.blur_limit * 1.000001
            ):
                good = state
        if good is not None:
            found.append((1.0 / (1e-12 + math.hypot(good.x, good.y)), good))
    return found

"""The best setting of a moved lens, sought without the product: differential evolution, then sequential quadratic
programming on the epigraph from the best of it. Slow and general; it knows only ray_lens.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import differential_evolution, minimize

from ray_lens import RayLens, axis_turned, major_axes, stops_needed

Array = NDArray[np.float64]
_FAR = 1e9
_STEP = 1e-7


@dataclass(frozen=True)
class Found:
    """A setting: movement and rotation [rad], true extension [m], and the value that was sought."""

    movement: float
    rotation: float
    extension: float
    value: float


@dataclass(frozen=True)
class _Box:
    """Unknowns between 0 and 1: the movement as two components of a disc, or as one along a step of the mount; then
    the ring."""

    lens: RayLens
    rotation: float | None

    @property
    def size(self) -> int:
        return 1 if self.lens.movement <= 0 else 3 if self.rotation is None else 2

    def settings(self, x: Array) -> tuple[Array, Array, Array]:
        """Movement, rotation, extension of unknowns (M, size)."""
        low, high = self.lens.ring
        extension = low + (high - low) * x[:, -1]
        if self.size == 1:
            return np.zeros(len(x)), np.zeros(len(x)), extension
        if self.rotation is None:
            right, up = 2 * x[:, 0] - 1, 2 * x[:, 1] - 1
            return self.lens.movement * np.minimum(np.hypot(right, up), 1.0), np.arctan2(up, right), extension
        return self.lens.movement * x[:, 0], np.full(len(x), self.rotation), extension

    def unknowns(self, at: Found) -> Array:
        low, high = self.lens.ring
        ring = [(at.extension - low) / (high - low)]
        part = at.movement / self.lens.movement if self.lens.movement else 0.0
        if self.size == 1:
            return np.array(ring)
        if self.rotation is None:
            return np.array([(1 + part * math.cos(at.rotation)) / 2, (1 + part * math.sin(at.rotation)) / 2, *ring])
        return np.array([part, *ring])

    def majors(self, x: Array, f_number: float, points: Array) -> Array:
        movement, rotation, extension = self.settings(x)
        axis = axis_turned(movement, rotation)
        return major_axes(self.lens, axis, extension, np.full(len(x), f_number), points)

    def stops(self, x: Array, points: Array, limit: float) -> Array:
        movement, rotation, extension = self.settings(x)
        with np.errstate(all="ignore"):
            n = stops_needed(self.lens, axis_turned(movement, rotation), extension, points, limit)
        return np.clip(np.nan_to_num(n, nan=_FAR, posinf=_FAR), 1e-4, _FAR)

    def found(self, x: Array, value: float) -> Found:
        movement, rotation, extension = (float(v[0]) for v in self.settings(x[None]))
        return Found(movement, rotation, extension, value)


def _boxes(lens: RayLens) -> list[_Box]:
    if lens.rotation_step <= 0 or lens.movement <= 0:
        return [_Box(lens, None)]
    count = max(1, round(2 * math.pi / lens.rotation_step))
    return [_Box(lens, 2 * math.pi * k / count) for k in range(count)]


def widest_stop(lens: RayLens, sharp: Array, limit: float, seed: int = 1) -> Found:
    """The least f-number, over every setting, at which points (S, 3) are all within a limit [m]."""
    tried = []
    for box in _boxes(lens):

        def worst(x: Array, box: _Box = box) -> Array:
            return np.log(np.max(box.stops(x, sharp, limit), axis=1))

        tried += [(float(worst(x[None])[0]), box, x) for x in _evolved(worst, box, seed)]
    tried.sort(key=lambda t: t[0])
    best = Found(0.0, 0.0, 0.0, math.inf)
    for value, box, x in tried[:4]:
        if value < math.log(1e-2):
            return box.found(x, math.exp(value))
        at = _polished_stop(box, x, sharp, limit)
        n = float(np.max(box.stops(at[None], sharp, limit)))
        best = min(best, box.found(at, n), key=lambda f: f.value)
    return best


def softest(
    lens: RayLens,
    sharp: Array,
    soft: Array,
    limit: float,
    f_number: float,
    starts: Sequence[Found] = (),
    seed: int = 1,
) -> Found | None:
    """The setting at a stop with the largest least major axis among the soft (K, 3), all sharp within the limit."""
    points, k = np.concatenate([sharp, soft]), len(sharp)
    tried = []
    for box in _boxes(lens):

        def score(x: Array, box: _Box = box) -> Array:
            majors = np.minimum(box.majors(x, f_number, points), 10.0)
            over = np.max(majors[:, :k], axis=1) / limit - 1
            return np.where(over > 0, over, -np.log1p(np.min(majors[:, k:], axis=1) / limit) / 50)

        known = [box.unknowns(s) for s in starts if box.rotation is None or abs(_turn(s, box.rotation)) < 1e-6]
        tried += [(float(score(x[None])[0]), box, x) for x in [*_evolved(score, box, seed), *known]]
    tried.sort(key=lambda t: t[0])
    best: Found | None = None
    for _, box, x in tried[:5]:
        for y in (x, _polished_softness(box, x, points, k, limit, f_number)):
            majors = box.majors(y[None], f_number, points)[0]
            value = float(np.min(majors[k:]))
            if np.max(majors[:k]) <= limit * (1 + 1e-9) and (best is None or value > best.value):
                best = box.found(y, value)
    return best


def _turn(at: Found, rotation: float) -> float:
    return math.remainder(at.rotation - rotation, 2 * math.pi)


def _evolved(of: Callable[[Array], Array], box: _Box, seed: int) -> list[Array]:
    """The best that evolution finds, from two seeds where there are three unknowns."""
    free = box.size == 3
    found = []
    for again in range(2 if free else 1):
        result = differential_evolution(
            lambda x: of(x.T if x.ndim == 2 else x[None]),
            [(0.0, 1.0)] * box.size,
            seed=seed + again,
            popsize=20,
            maxiter=140 if free else 70,
            tol=1e-10,
            mutation=(0.4, 1.0),
            polish=False,
            vectorized=True,
            updating="deferred",
        )
        found.append(np.asarray(result.x))
    return found


def _slopes(of: Callable[[Array], Array], size: int) -> Callable[[Array], Array]:
    """The Jacobian of the rows of `of` (M, size) -> (M, R), by forward differences in one call, the last unknown of a
    programme aside."""

    def at(x: Array) -> Array:
        steps = np.where(x[:size] < 0.5, _STEP, -_STEP)
        rows = of(np.vstack([x[:size], x[:size] + np.diag(steps)]))
        return np.asarray(((rows[1:] - rows[0]) / steps[:, None]).T)

    return at


def _programme(box: _Box, x: Array, last: float, room: Callable[[Array], Array], upwards: bool) -> Array:
    """SLSQP over (x, t): t as small (or large) as can be with room(x) - t >= 0 (or <= 0) row by row, where `room`
    takes (M, size) and gives (M, R), its last column meaning whether t is to be counted."""
    size, sign = box.size, -1.0 if upwards else 1.0
    slopes = _slopes(lambda y: room(np.clip(y, 0, 1))[:, :, 0], size)

    def rows(y: Array) -> Array:
        both = room(np.clip(y[None, :size], 0, 1))[0]
        return np.asarray(both[:, 0] + sign * y[-1] * both[:, 1])

    def jacobian(y: Array) -> Array:
        counted = room(np.clip(y[None, :size], 0, 1))[0][:, 1]
        return np.column_stack([slopes(np.clip(y, 0, 1)[:size]), sign * counted])

    constraints = [{"type": "ineq", "fun": rows, "jac": jacobian}]
    if size == 3:
        constraints.append({"type": "ineq", "fun": lambda y: 1.0 - (2 * y[0] - 1) ** 2 - (2 * y[1] - 1) ** 2})
    try:
        result = minimize(
            lambda y: sign * y[-1],
            np.append(x, last),
            jac=lambda y: np.append(np.zeros(size), sign),
            constraints=constraints,
            bounds=[(0.0, 1.0)] * size + [(0.0, None)],
            method="SLSQP",
            options={"ftol": 1e-13, "maxiter": 120},
        )
    except (ValueError, OverflowError):
        return x
    y = np.clip(result.x[:size], 0, 1)
    return y if np.all(np.isfinite(y)) else x


def _polished_stop(box: _Box, x: Array, sharp: Array, limit: float) -> Array:
    """Least N with every point's own stop at most N, counted in the first value."""
    for _ in range(2):
        first = float(np.max(box.stops(x[None], sharp, limit)))

        def room(y: Array, first: float = first) -> Array:
            needed = box.stops(y, sharp, limit) / first
            return np.stack([-needed, np.ones_like(needed)], axis=2)

        y = _programme(box, x, 1.0, room, upwards=False)
        if not np.max(box.stops(y[None], sharp, limit)) < first:
            break
        x = y
    return x


def _polished_softness(box: _Box, x: Array, points: Array, k: int, limit: float, f_number: float) -> Array:
    """Largest t with every soft major axis at least t and every sharp one within the limit."""
    scale = max(float(np.min(box.majors(x[None], f_number, points)[0, k:])), 1e-6)
    counted = np.append(np.zeros(k), np.ones(len(points) - k))

    def room(y: Array) -> Array:
        majors = np.minimum(box.majors(y, f_number, points), 1.0)
        rows = np.concatenate([(1 - 1e-9) - majors[:, :k] / limit, majors[:, k:] / scale], axis=1)
        return np.stack([rows, np.broadcast_to(counted, rows.shape)], axis=2)

    return _programme(box, x, 1.0, room, upwards=True)

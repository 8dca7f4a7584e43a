"""How the signed blur of each point answers to small changes: of where someone is, of the movement, of the ring."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.lens.blur import blur
from sidelong.lens.curvature import defocus
from sidelong.lens.geometry import LensGeometry, geometry_of
from sidelong.lens.values import Setting

Array = NDArray[np.float64]

_STEP = 1e-5
_RING_STEP = 1e-7


@dataclass(frozen=True)
class Response:
    """Signed major axis on the film of N points, and its slopes.

    `signed` (N,) [m]: positive where the plane of focus lies behind the point (the point is too near). `where`
    (N, 3): per metre that the point moves along the body's x, y, z [m/m]; `swing`, `tilt` (N,) per radian [m/rad];
    `ring` (N,) per metre of extension [m/m].
    """

    signed: Array
    where: Array
    swing: Array
    tilt: Array
    ring: Array


def signed_blur(glass: LensGeometry, points: ArrayLike) -> Array:
    """Major axis (N,) of points (N, 3), body frame [m], positive for points nearer than the surface of best
    focus. [m]"""
    p = np.asarray(points, float)
    return np.asarray(np.sign(defocus(glass, p)) * blur(glass, p).major)


def response(setting: Setting, points: ArrayLike) -> Response:
    """The signed blurs and slopes of points (N, 3), body frame [m], by central differences on the exact ellipse."""
    p = np.asarray(points, float)
    glass = geometry_of(setting)
    where = [(signed_blur(glass, p + w) - signed_blur(glass, p - w)) / (2 * _STEP) for w in _STEP * np.eye(3)]
    movement = setting.movement

    def swung(s: float) -> Array:
        return signed_blur(geometry_of(replace(setting, movement=replace(movement, swing=movement.swing + s))), p)

    def tilted(s: float) -> Array:
        return signed_blur(geometry_of(replace(setting, movement=replace(movement, tilt=movement.tilt + s))), p)

    def turned(s: float) -> Array:
        return signed_blur(geometry_of(replace(setting, extension=setting.extension + s)), p)

    return Response(
        signed_blur(glass, p),
        np.stack(where, axis=-1),
        _slope(swung, _STEP),
        _slope(tilted, _STEP),
        _slope(turned, _RING_STEP),
    )


def _slope(of: Callable[[float], Array], step: float) -> Array:
    return np.asarray((of(step) - of(-step)) / (2 * step))


def room(of: Callable[[float], float], limit: float, furthest: float) -> float:
    """How far a change may go, from 0 up to `furthest`, before a blur it makes exceeds a limit; 0 if it does at 0.

    By doubling and halving on the first crossing that a doubling meets.
    """
    if of(0.0) > limit:
        return 0.0
    inside, outside = 0.0, furthest / 1024
    while outside < furthest and of(outside) <= limit:
        inside, outside = outside, outside * 2
    if outside >= furthest:
        if of(furthest) <= limit:
            return furthest
        outside = furthest
    for _ in range(40):
        middle = (inside + outside) / 2
        if of(middle) <= limit:
            inside = middle
        else:
            outside = middle
    return inside

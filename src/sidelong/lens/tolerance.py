"""How far the sharp ones may lean, and how far off the lens may be set, before one of them is soft."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.response import room
from sidelong.lens.values import Setting

Array = NDArray[np.float64]

FURTHEST = 3.0
"""Leans are not followed further than this. [m]"""


@dataclass(frozen=True)
class Lean:
    """How far a point may move before its blur exceeds the limit: `nearer` to the camera and `farther` along the line
    of sight, to the picture's `left` and `right`, `up` and `down`. [m]"""

    nearer: float
    farther: float
    left: float
    right: float
    up: float
    down: float


@dataclass(frozen=True)
class Slack:
    """How far the setting may be off, less and more, while all sharp points stay within the limit. Swing and tilt
    [rad], ring as extension [m]; and how far the camera may be carried back or forward [m] and turned left or right
    [rad] after focusing. Each as (towards less, towards more)."""

    swing: tuple[float, float]
    tilt: tuple[float, float]
    ring: tuple[float, float]
    camera: tuple[float, float]
    yaw: tuple[float, float]


def lean_of(setting: Setting, point: Array, limit: float) -> Lean:
    """The leans of one point (3,), body frame [m], under a limit on the film [m]."""
    glass = geometry_of(setting)
    sight = point - glass.principal
    sight = sight / np.linalg.norm(sight)
    x, y = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])

    def along(way: Array) -> float:
        def softened(s: float) -> float:
            major = float(blur(glass, point + s * way).major)
            return major if math.isfinite(major) else math.inf

        return room(softened, limit, FURTHEST)

    return Lean(along(-sight), along(sight), along(-x), along(x), along(-y), along(y))


def slack_of(setting: Setting, points: Array, limit: float) -> Slack:
    """The slack of a setting for points (N, 3), body frame [m], under a limit on the film [m]."""
    movement = setting.movement

    def worst(changed: Setting) -> float:
        major = float(np.max(blur(geometry_of(changed), points).major))
        return major if math.isfinite(major) else math.inf

    def both(blurred: Callable[[float], float], furthest: float) -> tuple[float, float]:
        return room(lambda s: blurred(-s), limit, furthest), room(blurred, limit, furthest)

    glass = geometry_of(setting)

    def seen(where: Array) -> float:
        major = float(np.max(blur(glass, where).major))
        return major if math.isfinite(major) else math.inf

    def turned(angle: float) -> Array:
        c, s = math.cos(angle), math.sin(angle)
        return np.asarray(points @ np.array([[c, 0.0, s], [0.0, 1.0, 0.0], [-s, 0.0, c]]))

    return Slack(
        both(
            lambda s: worst(replace(setting, movement=replace(movement, swing=movement.swing + s))), math.radians(20)
        ),
        both(lambda s: worst(replace(setting, movement=replace(movement, tilt=movement.tilt + s))), math.radians(20)),
        both(lambda s: worst(replace(setting, extension=setting.extension + s)), 0.2 * setting.lens.focal_length),
        both(lambda s: seen(points - np.array([0.0, 0.0, s])), FURTHEST),
        both(lambda s: seen(turned(s)), math.radians(20)),
    )

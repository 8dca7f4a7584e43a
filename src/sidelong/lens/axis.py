"""The lens's axis from the movement, in both forms, and back. Body frame: x right, y up, z forward."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.values import Movement, Setting


def lens_axis(swing: float, tilt: float) -> NDArray[np.float64]:
    """Unit axis (3,), body frame: (sin s cos t, sin t, cos s cos t); swing to the right and tilt up > 0. [rad in]

    Worked: swing 90 degrees gives (1, 0, 0), the camera's right; tilt 90 degrees gives (0, 1, 0), up.
    """
    return np.array([math.sin(swing) * math.cos(tilt), math.sin(tilt), math.cos(swing) * math.cos(tilt)])


def swing_and_tilt(axis: NDArray[np.float64]) -> tuple[float, float]:
    """Swing and tilt of a unit axis (3,), body frame. [rad]"""
    return math.atan2(axis[0], axis[2]), math.asin(min(1.0, max(-1.0, float(axis[1]))))


def from_movement_and_rotation(movement: float, rotation: float) -> tuple[float, float]:
    """Swing and tilt of a lens with one hinge moved by `movement` in a mount turned by `rotation`. [rad]

    Rotation 0 is a pure swing to the right, 90 degrees a pure tilt up.
    """
    sideways = math.sin(movement)
    axis = np.array([sideways * math.cos(rotation), sideways * math.sin(rotation), math.cos(movement)])
    return swing_and_tilt(axis)


def movement_and_rotation(swing: float, tilt: float) -> tuple[float, float]:
    """Movement angle (>= 0) and rotation in (-pi, pi] of a swing and a tilt; rotation 0 when unmoved. [rad]"""
    x, y, z = lens_axis(swing, tilt)
    sideways = math.hypot(x, y)
    if sideways == 0.0:
        return 0.0, 0.0
    return math.atan2(sideways, z), math.atan2(y, x)


def engraved(setting: Setting) -> Movement:
    """The movement that a lens's own scale must show for a set lens's true one: movement_zero more along the same
    rotation; rise and shift as they are. A straight lens shows its movement_zero as a swing.

    Worked: movement_zero = 0.30 degrees. For a true swing of 4 degrees the scale must show 4.30; for 4 degrees to the
    left, which is the movement 4 degrees with the mount turned by 180, it must show 4.30 to the left.
    """
    zero, movement = setting.lens.movement_zero, setting.movement
    if zero == 0.0:
        return movement
    angle, rotation = movement_and_rotation(movement.swing, movement.tilt)
    swing, tilt = from_movement_and_rotation(angle + zero, rotation)
    return replace(movement, swing=swing, tilt=tilt)


def axis_of(movement: Movement) -> NDArray[np.float64]:
    """Unit axis (3,), body frame, of a movement. [-]"""
    return lens_axis(movement.swing, movement.tilt)

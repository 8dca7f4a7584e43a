"""The lens, the film and the movement as plain values. SI inside; frames and signs as in frames_of_reference."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Lens:
    """A lens whose glass can be swung, tilted, shifted. Lengths [m], angles [rad], f-numbers true."""

    id: str
    focal_length: float
    widest: float
    smallest: float = 22.627416997969522
    movement: float = 0.0
    """Largest movement angle the lens has. [rad]"""
    rotation_step: float = 0.0
    """Step of the rotating mount; 0 turns freely. [rad]"""
    shift: float = 0.0
    """Largest displacement along the film, any direction. [m]"""
    image_circle: float | None = None
    """Diameter of the image circle at infinity; None if not stated. [m]"""
    closest: float | None = None
    """Closest distance on the ring, measured from the film, lens straight; None if not stated. [m]"""
    pupil_ratio: float = 1.0
    """Exit pupil over entrance pupil. [-]"""
    pivot: float = 0.0
    """How far the hinge lies behind the front principal point at infinity. [m]"""
    blades: int = 0
    """Blades of the iris; 0 is a round opening."""
    field_curvature: float = 0.0
    """kappa: away from the axis the best focus lies kappa |q|^2 / f nearer the lens, |q| from the axis. [-]"""
    movement_zero: float = 0.0
    """What the scale of movement shows when the lens is truly straight: engraved = true + this. [rad]"""
    ring_error: float = 0.0
    """How far the ring's marks run ahead: a mark shows the extension true + this. [m]"""

    @property
    def entrance_pupil(self) -> float:
        """How far the entrance pupil lies in front of the principal point, along the axis. [m]"""
        return self.focal_length * (1.0 - 1.0 / self.pupil_ratio)


@dataclass(frozen=True)
class Film:
    """The sensor: width and height [m], and its pixels across and down."""

    width: float
    height: float
    pixels: tuple[int, int] = (6000, 4000)

    @property
    def diagonal(self) -> float:
        """[m]"""
        return math.hypot(self.width, self.height)


@dataclass(frozen=True)
class Movement:
    """Swing > 0 points the lens to the camera's right, tilt > 0 up [rad]; rise and shift move it up, right [m]."""

    swing: float = 0.0
    tilt: float = 0.0
    rise: float = 0.0
    shift: float = 0.0


@dataclass(frozen=True)
class Setting:
    """A lens set for one frame: the movement, the extension of the ring [m] and the true f-number."""

    lens: Lens
    movement: Movement
    extension: float
    f_number: float

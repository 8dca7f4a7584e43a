"""A person as plain values. Place frame, SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Vector = tuple[float, float, float]

Pose = Literal["standing", "sitting", "kneeling"]


@dataclass(frozen=True)
class Person:
    """Someone who stands, sits or kneels. `at` is the point of the floor (or of whatever carries the feet) under
    the middle of the two eyes; `facing` is the direction of body and face in the plan, anticlockwise from +x
    [rad]; `height` is the standing stature [m]; `seat` the seat's height above the feet, when sitting [m]."""

    name: str
    at: Vector
    facing: float
    pose: Pose = "standing"
    height: float = 1.72
    skin: str = "medium"
    clothes: str = "workwear"
    seat: float = 0.45
    build: str = "average"
    moves: float = 0.0
    """How fast, across the view. [m/s]"""

"""What a shot states beforehand and its lens does not have: movement, shift, a stop."""

from __future__ import annotations

import math

from sidelong.errors import BeyondMovement, Impossible
from sidelong.lens.axis import movement_and_rotation
from sidelong.shoot.values import Shot
from sidelong.units import f_mark

_SLACK = 1e-6


def check_limits(shot: Shot) -> None:
    """Nothing if the lens has what the shot states.

    Raises
    ------
    BeyondMovement
        More movement or more shift is stated than the lens has.
    Impossible
        A stop is stated that the lens does not have.
    """
    lens, movement = shot.lens, shot.movement
    angle = 0.0 if movement is None else movement_and_rotation(movement.swing, movement.tilt)[0]
    if angle > lens.movement + _SLACK:
        asked, most = math.degrees(angle), math.degrees(lens.movement)
        raise BeyondMovement(
            f'a movement of {asked:.2f} degrees is asked of "{lens.id}", which has {most:.2f}',
            {"movement_deg": asked, "most_deg": most},
            f"{most:.2f} degrees is the most",
        )
    rise, shift = (movement.rise, movement.shift) if movement is not None else shot.rise_shift
    if math.hypot(rise, shift) > lens.shift + 1e-9:
        asked, most = math.hypot(rise, shift) * 1e3, lens.shift * 1e3
        raise BeyondMovement(
            f'a displacement of {asked:.1f} mm is asked of "{lens.id}", which has {most:.1f}',
            {"displacement_mm": asked, "most_mm": most},
            f"{most:.1f} mm is the most",
        )
    if shot.f_number is None:
        return
    if shot.f_number < lens.widest * (1 - _SLACK):
        raise _stop(shot, f"only to f/{f_mark(lens.widest)}", "opens")
    if shot.f_number > lens.smallest * (1 + 1e-3):
        raise _stop(shot, f"only to f/{f_mark(lens.smallest)}", "closes")


def _stop(shot: Shot, most: str, verb: str) -> Impossible:
    asked = shot.f_number or 0.0
    return Impossible(
        f'f/{f_mark(asked)} is asked of "{shot.lens.id}", which {verb} {most}', {"f_number": asked}, "take that stop"
    )

"""The words for a blur, a movement, a set of stops."""

from __future__ import annotations

import math

from sidelong.lens.axis import engraved, movement_and_rotation
from sidelong.lens.values import Movement, Setting

_BLUR_WORDS = (
    (0.5, "sharp"),
    (1.0, "sharp enough"),
    (2.0, "just soft"),
    (6.0, "soft"),
    (20.0, "very soft"),
    (math.inf, "dissolved"),
)
"""Blur over the limit, and the word up to it: our own scale."""


SUPPORT_IN_WORDS = {"tripod": "on a tripod", "monopod": "on a monopod", "hand": "in the hand"}


def blur_in_words(blur: float | None, limit: float) -> str:
    """The word for a blur [m] against the limit [m]; "behind the camera" for None."""
    if blur is None:
        return "behind the camera"
    return next(word for most, word in _BLUR_WORDS if blur <= most * limit * (1 + 1e-6))


def movement_in_words(movement: Movement) -> str:
    """How to move the lens: ``swing 4.2° to the right, tilt 1.0° up`` or ``lens straight``."""
    parts = []
    swing, tilt = math.degrees(movement.swing), math.degrees(movement.tilt)
    if abs(swing) >= 0.005:
        parts.append(f"swing {abs(swing):.2f}° to the {'right' if swing > 0 else 'left'}")
    if abs(tilt) >= 0.005:
        parts.append(f"tilt {abs(tilt):.2f}° {'up' if tilt > 0 else 'down'}")
    if abs(movement.rise) >= 5e-6:
        parts.append(f"{'rise' if movement.rise > 0 else 'fall'} {abs(movement.rise) * 1e3:.1f} mm")
    if abs(movement.shift) >= 5e-6:
        parts.append(f"shift {abs(movement.shift) * 1e3:.1f} mm to the {'right' if movement.shift > 0 else 'left'}")
    return ", ".join(parts) or "lens straight"


def movement_to_set(setting: Setting) -> str:
    """A set lens's movement as its own scale must show it: ``swing 4.30° to the right by its scale``, or ``lens
    straight, the scale of movement at 0.30°``; as movement_in_words where the scale is true."""
    true = setting.movement
    if setting.lens.movement_zero == 0.0:
        return movement_in_words(true)
    if movement_and_rotation(true.swing, true.tilt)[0] < 1e-6:
        zero = math.degrees(setting.lens.movement_zero)
        return f"{movement_in_words(true)}, the scale of movement at {zero:.2f}°"
    return f"{movement_in_words(engraved(setting))} by its scale"


def rotation_to_set(setting: Setting) -> str:
    """The same on a lens with one hinge in a rotating mount, as rotation_in_words."""
    true = setting.movement
    straight = movement_and_rotation(true.swing, true.tilt)[0] < 1e-6
    return rotation_in_words(true if straight else engraved(setting))


def rotation_in_words(movement: Movement) -> str:
    """The same movement on a lens with one hinge in a rotating mount: ``4.2° with the mount turned to 90°``."""
    angle, rotation = movement_and_rotation(movement.swing, movement.tilt)
    if angle < 1e-6:
        return "movement at zero"
    return f"movement {math.degrees(angle):.2f}° with the mount turned to {_turn(rotation)}"


def _turn(rotation: float) -> str:
    degrees = round(math.degrees(rotation)) % 360
    return f"{degrees}°"


def corners_in_words(dark: int) -> str:
    """What to know of film corners that the image circle leaves dark; "" when it lights all four."""
    if not dark:
        return ""
    which = (
        "all four corners" if dark == 4 else "one corner" if dark == 1 else f"{('two', 'three')[dark - 2]} corners"
    )
    return f"The image circle leaves {which} of the film dark: less rise, shift or movement, or a crop."


def stops_in_words(stops: float) -> str:
    """Stops with a sign, ``+0.3``; ``none`` where no light arrives."""
    return "none" if stops == -math.inf else f"{stops:+.1f}"


_WARMTH = ((12.0, "neutral"), (40.0, "a little {}"), (90.0, "{}"), (math.inf, "strongly {}"))


def warmth_in_words(mired_from_balance: float) -> str:
    """How a light looks, from its mireds off the balance: ``neutral``, ``a little warm``, ``strongly blue``."""
    hue = "warm" if mired_from_balance > 0 else "blue"
    return next(words.format(hue) for most, words in _WARMTH if abs(mired_from_balance) <= most)

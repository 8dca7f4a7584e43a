"""How long a camera is held still enough: one over the focal length, as on 24 x 36 mm film.

Common practice, no source.
"""

from __future__ import annotations

import math

from sidelong.shoot.document import shown
from sidelong.shoot.values import Shot
from sidelong.units import shutter_mark

SMALL_FILM = math.hypot(0.036, 0.024)
"""The diagonal of the film that the rule was made for. [m]"""
_MONOPOD = 4.0
"""A monopod lets the shutter be so many times as long. Common practice, no source. [-]"""


def unsteady(shot: Shot, shutter: float) -> str | None:
    """Why a time [s] is slow for what carries the camera, in words; None where it is not."""
    support = shot.camera.support
    if support == "tripod":
        return None
    equivalent = shot.lens.focal_length * 1e3 * SMALL_FILM / shot.body.film.diagonal
    most = (_MONOPOD if support == "monopod" else 1.0) / equivalent
    if shutter <= most * 1.1:
        return None
    held = "in the hand" if support == "hand" else "on a monopod"
    text = f"the shutter, {shutter_mark(shutter)}, is slow for {shown(shot.lens.id)} {held}"
    lit = "; only what flash lights stays sharp" if shot.lights else ""
    return f"{text}: {shutter_mark(most)} or faster is the rule{lit}"

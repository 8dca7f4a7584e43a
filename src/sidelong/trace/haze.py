"""How haze turns light: the Henyey-Greenstein phase function.

Source
------
henyey_greenstein1941
"""

from __future__ import annotations

from typing import Any

from sidelong.trace.engine import load

mi, dr = load()


def phase(cosine: Any, g: Any) -> Any:
    """Density over directions that turn by the angle of that cosine. [1/sr]"""
    base = 1.0 + g * g - 2.0 * g * cosine
    return (1.0 - g * g) / (4.0 * dr.pi * base * dr.sqrt(base))


def phase_draw(forward: Any, pair: Any, g: Any) -> Any:
    """A direction drawn with `phase`'s density."""
    s = (1.0 - g * g) / (1.0 - g + 2.0 * g * pair.x)
    cosine = dr.clip((1.0 + g * g - s * s) / (2.0 * g), -1.0, 1.0)
    sine = dr.safe_sqrt(1.0 - cosine * cosine)
    sin_turn, cos_turn = dr.sincos(dr.two_pi * pair.y)
    return mi.Frame3f(forward).to_world(mi.Vector3f(sine * cos_turn, sine * sin_turn, cosine))

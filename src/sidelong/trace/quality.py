"""How much work a picture or a reading is worth: samples, depth of the light paths, size."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Quality:
    """`width` and `height` at most, in pixels; `samples` a pixel; `max_depth` vertices of a path."""

    name: str
    width: int
    height: int
    samples: int
    max_depth: int


DRAFT = Quality("draft", 480, 320, 2, 4)
DEFAULT = Quality("default", 1050, 700, 8, 6)
FINE = Quality("fine", 1800, 1200, 48, 12)

READING_SAMPLES = 8192
"""Paths a point's reflected light is averaged over, unless it is said how well it must be known."""
MOST_SAMPLES = 1 << 19
"""As many at most where it is said."""
DRAFT_SAMPLES = 512
"""As many for a draft of a picture, whose powers may be a tenth of a stop off."""
FIRST_SAMPLES = 8192
"""Paths by which it is judged how many a point needs: fewer miss what is rare and bright, and stop too early."""
READING_DEPTH = 64
"""Vertices after which a reading's paths end at the latest; roulette ends nearly all long before."""
PASS_PATHS = 1 << 18
"""Paths of a picture traced at once: what is reported, and done to the end when interrupted; a second or two."""
PASS_PATHS_GPU = 1 << 22
"""As many on a graphics card, which a small pass leaves mostly idle."""
READING_PASS = 1 << 16
"""Paths of readings traced at once: they are longer."""

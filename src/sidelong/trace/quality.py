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


DRAFT = Quality("draft", 480, 320, 3, 4)
DEFAULT = Quality("default", 1200, 800, 8, 6)
FINE = Quality("fine", 1800, 1200, 48, 12)

READING_SAMPLES = 16384
"""Paths a receptor's reflected light is averaged over."""
READING_DEPTH = 64
"""Vertices after which a reading's paths end at the latest; roulette ends nearly all long before."""
PASS_PATHS = 1 << 20
"""Paths traced at once: what can be interrupted and reported, and bounds the memory."""

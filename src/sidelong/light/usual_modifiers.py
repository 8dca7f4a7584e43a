"""The modifiers that everybody knows by a name: what one of each usually measures, passes and spreads to.

A new one is a row. A shoot file's `kind` may be any of these names; every key that it states goes before the row's.

Source
------
common practice, no source: round figures of things of their kind, not of a particular maker's. A diffuser's two
layers and the losses inside a box are in `transmission`; beams are full angles at half intensity.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from sidelong.light.values import Modifier

_ROWS = (
    Modifier("standard reflector", "reflector", "disc", (0.18, 0.18), math.radians(65), 0.85),
    Modifier("wide reflector", "reflector", "disc", (0.22, 0.22), math.radians(105), 0.85),
    Modifier("long reflector", "reflector", "disc", (0.22, 0.22), math.radians(40), 0.75),
    Modifier("snoot", "reflector", "disc", (0.07, 0.07), math.radians(18), 0.08),
    Modifier("square box", "front", "rectangle", (0.9, 0.9), transmission=0.5),
    Modifier("strip", "front", "rectangle", (0.35, 1.4), transmission=0.45),
    Modifier("octagon", "front", "octagon", (1.35, 1.35), transmission=0.5),
    Modifier("beauty dish", "dish", "disc", (0.55, 0.55), math.radians(85), 0.65, deflector=0.17),
    Modifier("white umbrella", "umbrella", "disc", (1.0, 1.0), math.radians(110), 0.6),
    Modifier("silver umbrella", "umbrella", "disc", (1.0, 1.0), math.radians(75), 0.7),
    Modifier("shoot-through umbrella", "umbrella", "disc", (1.0, 1.0), transmission=0.45, spill=0.3),
    Modifier("white panel", "panel", "rectangle", (1.0, 1.5), transmission=0.0, reflectance=0.8),
    Modifier("silver panel", "panel", "rectangle", (1.0, 1.5), transmission=0.0, finish="silver"),
    Modifier("gold panel", "panel", "rectangle", (1.0, 1.5), transmission=0.0, finish="gold"),
    Modifier("black cloth", "flag", "rectangle", (1.0, 1.5), transmission=0.0, finish="black cloth"),
    Modifier("quarter scrim", "scrim", "rectangle", (1.2, 1.2), transmission=0.75, reflectance=0.15),
    Modifier("half scrim", "scrim", "rectangle", (1.2, 1.2), transmission=0.55, reflectance=0.33),
    Modifier("full scrim", "scrim", "rectangle", (1.2, 1.2), transmission=0.35, reflectance=0.5),
    Modifier("single net", "net", "rectangle", (0.45, 0.6), transmission=0.71),
    Modifier("double net", "net", "rectangle", (0.45, 0.6), transmission=0.5),
)

USUAL: Final[Mapping[str, Modifier]] = MappingProxyType({row.id: row for row in _ROWS})
"""Each by its name."""

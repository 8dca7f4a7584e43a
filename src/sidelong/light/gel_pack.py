"""Which gels of the kit bring a light to a colour: every one of them alone, and every two together."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from sidelong.colour.temperature import temperature_of
from sidelong.light.gel import filtered
from sidelong.light.values import Gel
from sidelong.spectra.grids import on_grid
from sidelong.spectra.observer import tristimulus
from sidelong.spectra.values import Spectrum

MOST_GELS = 2
"""So many gels go on a head at most. Common practice."""
MIRED_OF_DUV = 3000.0
"""Mireds that a Duv of 1 counts for: near 5000 K so many mireds move the colour as far in the CIE 1960 diagram."""
WHITE = 0.005
"""Within this Duv of the locus a light has no tint that counts; daylight lies 0.003 beside it. Our own figure."""
AS_NEAR = 5.0
"""Packs that are no farther from the colour than this beside the nearest are as good. [mired] Our own figure."""


@dataclass(frozen=True)
class GelPack:
    """Gels on one light: its colour temperature [K] and Duv through them, the share of it that they pass, and how far
    that is from the colour wanted [mired], a tint of green or magenta included."""

    gels: tuple[Gel, ...]
    kelvin: float
    duv: float
    passed: float
    off: float


def gel_packs(light: Spectrum, gels: Sequence[Gel], kelvin: float) -> tuple[GelPack, ...]:
    """Every pack for a light, those nearest to a colour temperature [K] first; of those as near, the one of fewer
    gels and then the one that passes more."""
    packs = []
    for count in range(MOST_GELS + 1):
        for some in itertools.combinations(gels, count):
            through, passed = filtered(light, some)
            found, duv = temperature_of(tristimulus(on_grid(through)))
            tint = max(abs(duv) - WHITE, 0.0)
            off = math.hypot(1e6 / found - 1e6 / kelvin, MIRED_OF_DUV * tint)
            packs.append(GelPack(some, found, duv, passed, off))
    nearest = min(pack.off for pack in packs)
    return tuple(
        sorted(packs, key=lambda p: (0.0, len(p.gels), -p.passed) if p.off <= nearest + AS_NEAR else (p.off, 0, 0.0))
    )

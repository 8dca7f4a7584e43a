"""Cloth by its fibre and its dye: what the dye takes is added to what the fibre takes, as Kubelka and Munk have it.

An opaque cloth gives back R = 1 + q - sqrt(q^2 + 2 q), q = K / S, what it absorbs over what it scatters; absorptions
add: q = q of the undyed fibre + depth x q of the dye. "indigo wool", "pale weld linen", "deep madder cotton".

Source
------
kubelka1931 (the law, for a layer thick enough); the dyes' bands lie where the cloths' published spectra have them,
from memory (indigo 660 nm, alizarin of madder 500, carminic acid of cochineal 530 and 560, luteolin of weld 390,
haematein of logwood 580); their strengths, and the fibres, are estimates: common practice, no source
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sidelong.spectra.monotone import monotone

Values = NDArray[np.float64]

WAVELENGTHS: Final[Values] = np.arange(380.0, 781.0, 10.0)
"""[nm]"""
# absorption over scattering of a full bath, as bells: middle [nm], one sigma [nm], height
DYES: Final[Mapping[str, tuple[tuple[float, float, float], ...]]] = MappingProxyType(
    {
        "undyed": (),
        "indigo": ((660.0, 60.0, 9.0), (560.0, 60.0, 2.5), (380.0, 30.0, 2.0)),
        "madder": ((500.0, 45.0, 9.0), (420.0, 40.0, 4.0)),
        "cochineal": ((525.0, 32.0, 8.0), (560.0, 20.0, 6.0), (400.0, 40.0, 2.0)),
        "weld": ((390.0, 42.0, 12.0),),
        "walnut": ((380.0, 110.0, 6.0), (620.0, 160.0, 0.8)),
        "logwood": ((580.0, 85.0, 13.0), (430.0, 70.0, 9.0)),
        "woad green": ((660.0, 60.0, 7.0), (390.0, 42.0, 9.0)),
        "sulphur black": ((580.0, 400.0, 22.0),),
    }
)
# undyed reflectance at 380, 430, ... 780 nm; roughness of a sheen over it (None: matt), grain
FIBRES: Final[Mapping[str, tuple[tuple[float, ...], float | None, float]]] = MappingProxyType(
    {
        "wool": ((0.22, 0.33, 0.40, 0.46, 0.51, 0.54, 0.57, 0.60, 0.63), None, 0.25),
        "cotton": ((0.52, 0.68, 0.74, 0.77, 0.79, 0.80, 0.81, 0.81, 0.82), None, 0.15),
        "linen": ((0.26, 0.37, 0.45, 0.51, 0.56, 0.59, 0.61, 0.63, 0.65), None, 0.25),
        "silk": ((0.40, 0.54, 0.61, 0.65, 0.68, 0.70, 0.71, 0.72, 0.73), 0.45, 0.08),
    }
)
DEPTHS: Final[Mapping[str, float]] = MappingProxyType({"pale": 0.2, "": 1.0, "deep": 2.5})
"""Baths: how much of the dye's full strength. [-]"""
_KNOTS = np.linspace(380.0, 780.0, 9)


def parted(name: str) -> tuple[float, str, str] | None:
    """Depth, dye and fibre of a cloth by its name, None where it is no such name."""
    dye, _, fibre = name.rpartition(" ")
    bath, _, rest = dye.partition(" ")
    if bath in DEPTHS and bath and rest in DYES and rest != "undyed":
        return (DEPTHS[bath], rest, fibre) if fibre in FIBRES else None
    return (1.0, dye, fibre) if dye in DYES and fibre in FIBRES else None


def dyed(depth: float, dye: str, fibre: str) -> Values:
    """Reflectance (41,) over WAVELENGTHS of a fibre in a dye of that depth. [-]"""
    undyed = monotone(_KNOTS, FIBRES[fibre][0], WAVELENGTHS)
    taken = (1.0 - undyed) ** 2 / (2.0 * undyed)
    for middle, sigma, height in DYES[dye]:
        taken = taken + depth * height * np.exp(-0.5 * ((WAVELENGTHS - middle) / sigma) ** 2)
    return np.asarray(1.0 + taken - np.sqrt(taken**2 + 2.0 * taken))


def names() -> tuple[str, ...]:
    """Every cloth of a plain bath."""
    return tuple(f"{dye} {fibre}" for fibre in FIBRES for dye in DYES)

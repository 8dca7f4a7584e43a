"""Finishes of surfaces by name: diffuse reflectance over wavelength, coat, grain, what goes through.

Source
------
The luminous reflectances follow the tables of typical building surfaces in lighting handbooks (white paint 0.8,
lime wash 0.7, concrete 0.3, red brick 0.25, bare timber 0.35, asphalt 0.08, grass 0.1: from memory, common
practice). The shapes over wavelength are smooth curves through seven points, from memory of the classes of spectra
that reflectance libraries show: iron oxides rise beyond 560 nm, chlorophyll has its hump at 550 and its edge at
690, lignin and hemp rise steadily. The grey card's 18 % is common practice; fresnel's 8 % at a pane is exact for an
index of 1.5. Silver and gold are cloths coated with aluminium and gold, whose spectra follow from published indices
(mcpeak2015, johnson1972). No other value here was measured on a particular surface.
"""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from functools import lru_cache
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import InputFault
from sidelong.spectra.metals import ALUMINIUM, GOLD, reflectance
from sidelong.spectra.monotone import monotone
from sidelong.spectra.values import Finish, Spectrum

WAVELENGTHS: Final[NDArray[np.float64]] = np.arange(380.0, 781.0, 10.0)
"""[nm]"""
_KNOTS = np.array([380.0, 420.0, 470.0, 520.0, 570.0, 620.0, 680.0, 780.0])
_MEMORY = "from memory, common practice"

# name: reflectance at 380, 420, 470, 520, 570, 620, 680, 780 nm; then coat, metal, straight, diffuse, grain
_Row = tuple[tuple[float, ...], dict[str, float]]
_TABLE: Final[Mapping[str, _Row]] = MappingProxyType(
    {
        # walls
        "lime wash": ((0.48, 0.60, 0.67, 0.71, 0.73, 0.745, 0.75, 0.76), {"grain": 0.10}),
        "old lime wash": ((0.33, 0.44, 0.51, 0.555, 0.58, 0.595, 0.605, 0.615), {"grain": 0.20}),
        "whitewashed stone": ((0.42, 0.53, 0.60, 0.64, 0.66, 0.675, 0.68, 0.69), {"grain": 0.30}),
        "plaster": ((0.40, 0.50, 0.56, 0.61, 0.64, 0.66, 0.67, 0.68), {"grain": 0.08}),
        "brick": ((0.09, 0.11, 0.14, 0.18, 0.26, 0.34, 0.38, 0.41), {"grain": 0.30}),
        "red brick": ((0.055, 0.065, 0.08, 0.10, 0.19, 0.30, 0.35, 0.39), {"grain": 0.30}),
        "white tile": ((0.60, 0.72, 0.77, 0.79, 0.80, 0.80, 0.80, 0.80), {"roughness": 0.12, "grain": 0.05}),
        "concrete": ((0.20, 0.24, 0.27, 0.30, 0.32, 0.33, 0.34, 0.35), {"grain": 0.30}),
        "stone": ((0.17, 0.21, 0.25, 0.28, 0.31, 0.33, 0.34, 0.35), {"grain": 0.45}),
        "slate": ((0.075, 0.085, 0.095, 0.10, 0.105, 0.105, 0.105, 0.11), {"roughness": 0.5, "grain": 0.30}),
        "white": ((0.62, 0.78, 0.84, 0.86, 0.865, 0.87, 0.87, 0.87), {}),
        # timber
        "timber": ((0.12, 0.17, 0.23, 0.30, 0.38, 0.45, 0.50, 0.56), {"grain": 0.40}),
        "bare timber": ((0.16, 0.22, 0.30, 0.38, 0.46, 0.53, 0.58, 0.64), {"grain": 0.35}),
        "old planks": ((0.075, 0.10, 0.125, 0.155, 0.185, 0.215, 0.245, 0.30), {"grain": 0.45}),
        "driftwood": ((0.19, 0.23, 0.27, 0.305, 0.335, 0.36, 0.38, 0.41), {"grain": 0.40}),
        "dark beam": ((0.035, 0.045, 0.055, 0.07, 0.085, 0.10, 0.12, 0.16), {"grain": 0.50}),
        "painted timber white": (
            (0.45, 0.62, 0.70, 0.73, 0.745, 0.75, 0.75, 0.75), {"roughness": 0.35, "grain": 0.15}),
        "painted timber sea green": (
            (0.09, 0.13, 0.205, 0.26, 0.20, 0.125, 0.10, 0.14), {"roughness": 0.35, "grain": 0.25}),
        "painted timber ochre": (
            (0.06, 0.085, 0.12, 0.25, 0.42, 0.48, 0.50, 0.53), {"roughness": 0.35, "grain": 0.25}),
        "painted timber blue": (
            (0.13, 0.20, 0.255, 0.175, 0.095, 0.07, 0.07, 0.12), {"roughness": 0.35, "grain": 0.25}),
        "painted timber red": (
            (0.04, 0.045, 0.045, 0.05, 0.085, 0.32, 0.42, 0.46), {"roughness": 0.35, "grain": 0.25}),
        "tar black": ((0.030, 0.031, 0.033, 0.035, 0.037, 0.039, 0.041, 0.045), {"roughness": 0.45, "grain": 0.20}),
        # metal
        "rusty steel": ((0.045, 0.055, 0.065, 0.085, 0.14, 0.20, 0.23, 0.27), {"grain": 0.60}),
        "galvanised steel": (
            (0.36, 0.40, 0.43, 0.45, 0.46, 0.465, 0.47, 0.48), {"roughness": 0.45, "metal": 1.0, "grain": 0.25}),
        "polished steel": (
            (0.50, 0.53, 0.555, 0.57, 0.58, 0.59, 0.60, 0.62), {"roughness": 0.18, "metal": 1.0, "grain": 0.10}),
        "bare steel": (
            (0.42, 0.45, 0.47, 0.485, 0.495, 0.505, 0.515, 0.53), {"roughness": 0.4, "metal": 1.0, "grain": 0.20}),
        "copper": ((0.33, 0.38, 0.44, 0.49, 0.62, 0.83, 0.87, 0.90), {"roughness": 0.3, "metal": 1.0, "grain": 0.15}),
        "brass": ((0.33, 0.37, 0.44, 0.62, 0.74, 0.78, 0.80, 0.83), {"roughness": 0.25, "metal": 1.0, "grain": 0.15}),
        "painted metal": ((0.20, 0.24, 0.27, 0.28, 0.28, 0.28, 0.28, 0.29), {"roughness": 0.25, "grain": 0.10}),
        "painted metal green": (
            (0.045, 0.06, 0.095, 0.145, 0.105, 0.06, 0.05, 0.12), {"roughness": 0.25, "grain": 0.15}),
        "painted metal red": (
            (0.035, 0.04, 0.04, 0.045, 0.075, 0.30, 0.40, 0.45), {"roughness": 0.22, "grain": 0.10}),
        "painted metal cream": ((0.30, 0.43, 0.53, 0.66, 0.72, 0.74, 0.75, 0.76), {"roughness": 0.22, "grain": 0.10}),
        # ground
        "earth": ((0.045, 0.06, 0.08, 0.11, 0.15, 0.185, 0.21, 0.25), {"grain": 0.45}),
        "sand": ((0.13, 0.18, 0.24, 0.30, 0.36, 0.40, 0.43, 0.46), {"grain": 0.25}),
        "grass": ((0.025, 0.030, 0.038, 0.085, 0.085, 0.060, 0.055, 0.42), {"grain": 0.55}),
        "foliage": (
            (0.030, 0.035, 0.042, 0.085, 0.105, 0.062, 0.050, 0.46),
            {"diffuse": 0.04, "roughness": 0.6, "grain": 0.4},
        ),
        "dry foliage": ((0.05, 0.065, 0.09, 0.14, 0.21, 0.27, 0.31, 0.42), {"grain": 0.45}),
        "moss": ((0.025, 0.030, 0.038, 0.075, 0.085, 0.055, 0.045, 0.32), {"grain": 0.55}),
        "bark": ((0.045, 0.06, 0.08, 0.105, 0.135, 0.165, 0.19, 0.26), {"grain": 0.60}),
        "asphalt": ((0.065, 0.070, 0.075, 0.080, 0.085, 0.09, 0.093, 0.10), {"grain": 0.30}),
        "cobbles": ((0.12, 0.14, 0.16, 0.18, 0.195, 0.205, 0.21, 0.22), {"grain": 0.60}),
        "water": ((0.020, 0.026, 0.032, 0.034, 0.026, 0.018, 0.014, 0.012), {"roughness": 0.08}),
        "snow": ((0.86, 0.88, 0.89, 0.90, 0.90, 0.89, 0.88, 0.86), {"grain": 0.05}),
        # cloth, rope, gear
        "canvas": ((0.25, 0.34, 0.42, 0.48, 0.53, 0.56, 0.58, 0.60), {"diffuse": 0.12, "grain": 0.12}),
        "sailcloth": ((0.45, 0.58, 0.64, 0.67, 0.69, 0.70, 0.70, 0.71), {"diffuse": 0.20, "grain": 0.08}),
        "oilcloth": ((0.05, 0.065, 0.09, 0.30, 0.52, 0.58, 0.60, 0.62), {"roughness": 0.3, "grain": 0.10}),
        "black cloth": ((0.018, 0.019, 0.020, 0.020, 0.021, 0.022, 0.024, 0.04), {}),
        "rope hemp": ((0.12, 0.17, 0.23, 0.30, 0.37, 0.42, 0.46, 0.52), {"grain": 0.35}),
        "wicker": ((0.10, 0.14, 0.19, 0.26, 0.34, 0.40, 0.45, 0.52), {"grain": 0.40}),
        "net twine green": ((0.040, 0.060, 0.115, 0.175, 0.115, 0.065, 0.055, 0.14), {"grain": 0.25}),
        "net twine blue": ((0.10, 0.175, 0.235, 0.165, 0.085, 0.060, 0.060, 0.13), {"grain": 0.25}),
        "net twine orange": ((0.045, 0.050, 0.060, 0.11, 0.36, 0.56, 0.62, 0.66), {"grain": 0.25}),
        "net twine tarred": ((0.040, 0.045, 0.055, 0.065, 0.080, 0.095, 0.11, 0.15), {"grain": 0.30}),
        "cork": ((0.10, 0.14, 0.18, 0.24, 0.31, 0.37, 0.42, 0.48), {"grain": 0.45}),
        "float orange": ((0.040, 0.045, 0.055, 0.10, 0.40, 0.62, 0.67, 0.70), {"roughness": 0.3, "grain": 0.20}),
        "float white": ((0.42, 0.58, 0.66, 0.69, 0.70, 0.71, 0.71, 0.72), {"roughness": 0.3, "grain": 0.15}),
        "float yellow": ((0.045, 0.06, 0.09, 0.38, 0.63, 0.68, 0.70, 0.72), {"roughness": 0.3, "grain": 0.20}),
        "black rubber": ((0.038, 0.039, 0.040, 0.041, 0.042, 0.043, 0.044, 0.05), {"roughness": 0.5}),
    }
)  # fmt: skip
_NUMBERED: Final = ("grey", "ground", "glass")
_METALS: Final = {"silver": ("mcpeak2015", ALUMINIUM), "gold": ("johnson1972", GOLD)}
_CLOTH_OF_METAL = 0.85
"""What an aluminised or gilt cloth gives back of what its metal does, polished: common practice, no source. [-]"""
_CLOTH_ROUGHNESS = 0.5
FINISHES: Final[tuple[str, ...]] = (
    *sorted(_TABLE),
    *sorted(_METALS),
    "grey card",
    "black",
    "glass",
    "ground",
    "grey",
)
"""The names that a finish may have. ``grey`` and ``ground`` may be followed by a reflectance, ``glass`` by a
transmission (``grey 0.5``, ``glass 0.85``), and any name may be preceded by ``dark`` (two fifths of it)."""


@lru_cache(maxsize=256)
def finish(name: str) -> Finish:
    """A finish by its name; reflectance (41,) over 380..780 nm in steps of 10. [-]

    ``grey 0.5``, ``ground 0.2``: a neutral surface of that reflectance. ``glass 0.85``: a pane that lets that
    fraction through unscattered, whatever the wavelength, with a mirror's gloss. ``dark old planks``: two fifths
    of the finish's reflectance (wet, or in a fold).

    Raises
    ------
    InputFault
        No finish has this name (the message names the nearest), or its number is not between 0 and 1.
    """
    words = name.split()
    if len(words) > 1 and words[0] == "dark" and name not in _TABLE:
        lighter = finish(" ".join(words[1:]))
        shade = Spectrum(lighter.reflectance.wavelengths, 0.4 * lighter.reflectance.values)
        return Finish(
            name, shade, lighter.roughness, lighter.metal, lighter.straight, lighter.diffuse, lighter.grain, _MEMORY
        )
    if len(words) == 2 and words[0] in _NUMBERED and name not in FINISHES:
        return _numbered(words[0], words[1], name)
    if name in _TABLE:
        return _tabled(name)
    if name in _METALS:
        source, metal = _METALS[name]
        values = _CLOTH_OF_METAL * reflectance(metal, WAVELENGTHS)
        return Finish(name, Spectrum(WAVELENGTHS, values), roughness=_CLOTH_ROUGHNESS, metal=True, source=source)
    plain = {"grey card": "0.18", "black": "0", "grey": "0.5", "ground": "0.2", "glass": "0.85"}
    if name in plain:
        return _numbered(name if name in ("ground", "glass") else "grey", plain[name], name)
    near = get_close_matches(name, FINISHES, n=1, cutoff=0.0)
    hint = f'; nearest is "{near[0]}"' if near else ""
    raise InputFault(f'found the finish "{name[:60]}"; expected one of {", ".join(FINISHES)}, or "grey 0.5"{hint}')


def is_finish(name: str) -> bool:
    """Whether `finish` knows the name."""
    try:
        finish(name)
    except InputFault:
        return False
    return True


def luminous_reflectance(spectrum: Spectrum) -> float:
    """Reflectance weighted by the eye's V(lambda) under equal energy, a Gaussian in place of V. [-]

    Source
    ------
    V(lambda) = 1.019 exp(-285.4 (lambda/um - 0.559)^2): a fit in common use, from memory; good to about 1 %
    """
    weight = np.exp(-285.4 * (WAVELENGTHS / 1000 - 0.559) ** 2)
    return float((spectrum.at(WAVELENGTHS) * weight).sum() / weight.sum())


def _tabled(name: str) -> Finish:
    knots, more = _TABLE[name]
    curve = np.clip(monotone(_KNOTS, knots, WAVELENGTHS), 0.0, 1.0)
    return Finish(
        name,
        Spectrum(WAVELENGTHS, curve),
        roughness=more.get("roughness"),
        metal=bool(more.get("metal", 0.0)),
        straight=more.get("straight", 0.0),
        diffuse=more.get("diffuse", 0.0),
        grain=more.get("grain", 0.0),
        source=_MEMORY,
    )


def _numbered(kind: str, number: str, name: str) -> Finish:
    try:
        value = float(number)
    except ValueError:
        value = np.nan
    if not 0.0 <= value <= 1.0:
        raise InputFault(f'found "{name[:60]}"; expected a number from 0 to 1 after "{kind}", as in "{kind} 0.5"')
    if kind == "glass":
        return Finish(name, _flat(0.0), roughness=0.0, straight=value, source="the transmission is the user's")
    return Finish(name, _flat(value), source="neutral by definition")


def _flat(value: float) -> Spectrum:
    return Spectrum(WAVELENGTHS, np.full(len(WAVELENGTHS), value))

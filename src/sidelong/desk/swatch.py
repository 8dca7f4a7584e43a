"""What colour a finish, a cloth or a light has on the page."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from sidelong.colour.adapt import balance_matrix, spectrum_xyz
from sidelong.colour.encode import eight_bit, linear_rgb
from sidelong.errors import InputFault
from sidelong.people.cloth import finish as cloth
from sidelong.spectra.finishes import finish
from sidelong.spectra.grids import WAVELENGTHS
from sidelong.spectra.illuminants import D65, by_temperature
from sidelong.spectra.values import Spectrum

WHITE_CARD = 0.85
"""Luminance of a light's swatch: bright, and yet with room for its colour. [-]"""


@lru_cache(maxsize=1024)
def finish_colour(name: str) -> str:
    """A surface's finish in daylight, #rrggbb; middle grey for one that is not known."""
    try:
        return _in_daylight(finish(name).reflectance)
    except InputFault:
        return "#808080"


@lru_cache(maxsize=256)
def cloth_colour(name: str) -> str:
    """A finish worn by people in daylight, #rrggbb."""
    return _in_daylight(cloth(name).reflectance)


def _in_daylight(reflectance: Spectrum) -> str:
    light = by_temperature(D65)
    return _hex(spectrum_xyz(Spectrum(WAVELENGTHS, light.at(WAVELENGTHS) * reflectance.at(WAVELENGTHS))), D65)


def light_colour(spectrum: Spectrum, balance: float) -> str:
    """A white card in a light under a balance [K], #rrggbb; colours outside sRGB are drawn towards it."""
    xyz = spectrum_xyz(spectrum)
    return _hex(xyz / xyz[1] * WHITE_CARD, balance)


def _hex(xyz: np.ndarray, balance: float) -> str:
    rgb = linear_rgb(balance_matrix(balance) @ xyz)
    red, green, blue = (int(v) for v in eight_bit(rgb / max(1.0, float(rgb.max()))))
    return f"#{red:02x}{green:02x}{blue:02x}"

"""The colour of one light under the balance, told by an 18 % grey card that it lights."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sidelong.colour.adapt import balance_matrix, balance_white, spectrum_xyz
from sidelong.colour.encode import eight_bit, linear_rgb
from sidelong.colour.temperature import temperature_of, uv_1976
from sidelong.spectra.values import Spectrum

GREY = 0.18
"""Reflectance of the card. [-]"""


@dataclass(frozen=True)
class LightColour:
    """The colour of one light under the balance: of an 18 % grey card it lights, developed.

    `cct` [K] and `duv` of the light; `mired_from_balance` its mireds less the balance's, positive when it looks
    warm; `grey_srgb` 8-bit; `delta_uv` its distance from the balance's white in the CIE 1976 u', v' diagram.
    """

    name: str
    cct: float
    duv: float
    mired_from_balance: float
    grey_srgb: tuple[int, int, int]
    delta_uv: float


def develop_grey(spectrum: Spectrum, balance: float) -> tuple[int, int, int]:
    """8-bit sRGB of an 18 % matt card lit by a spectrum (any scale), under a balance [K], without a tone curve.

    The card's Y is 0.18 before adaptation; a colour outside sRGB is clipped channel by channel.
    """
    xyz = spectrum_xyz(spectrum)
    adapted = balance_matrix(balance) @ (xyz / xyz[1] * GREY)
    red, green, blue = (int(v) for v in eight_bit(linear_rgb(adapted)))
    return red, green, blue


def light_colour(name: str, spectrum: Spectrum, balance: float) -> LightColour:
    """How a light of this spectrum (any scale) comes out under a balance [K]."""
    xyz = spectrum_xyz(spectrum)
    white = balance_white(balance)
    cct, duv = temperature_of(xyz)
    return LightColour(
        name=name,
        cct=cct,
        duv=duv,
        mired_from_balance=1e6 / cct - 1e6 / balance,
        grey_srgb=develop_grey(spectrum, balance),
        delta_uv=float(np.hypot(*(uv_1976(xyz) - uv_1976(white)))),
    )

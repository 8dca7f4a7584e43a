"""The film exposure in stops from middle grey, in colours that keep their order for every kind of colour vision.

The colours lie on one straight line through Oklab, from a dark blue to a light yellow, in equal steps: equally far
apart to the eye, lightness always rising (so that it also reads in black and white), hue along the one axis that
red-green blindness leaves alone. One colour a stop, each with its number.

Source: ottosson2020 (the space); the line and its ends are our own choice, checked against vienot1999 in tests.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sidelong.colour.encode import eight_bit
from sidelong.picture.develop import MIDDLE_GREY_TIMES_ISO
from sidelong.picture.gamut import from_oklab

LOWEST, HIGHEST = -6, 4
"""Whole stops from middle grey that have a colour of their own; beyond, the end colours hold. [stops]"""

_DARK, _LIGHT = (0.24, 0.12, 265.0), (0.965, 0.13, 103.0)
"""Oklab lightness, chroma and hue [degrees] of the ends."""


def stops_from_middle(exposure_y: NDArray[np.float32], iso: float) -> NDArray[np.float32]:
    """log2(H S / 10) of film exposures (...) [lx s] at a speed; -inf where nothing arrives. [stops]"""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.log2(np.maximum(exposure_y, 0.0) * (iso / MIDDLE_GREY_TIMES_ISO)), np.float32)


def stop_colours() -> NDArray[np.uint8]:
    """sRGB 8 bit (HIGHEST - LOWEST + 1, 3), one colour for each whole stop from LOWEST up."""
    ends = np.array([_lab(*end) for end in (_DARK, _LIGHT)])
    share = np.linspace(0.0, 1.0, HIGHEST - LOWEST + 1)[:, None]
    return eight_bit(from_oklab((ends[0] + share * (ends[1] - ends[0])).astype(np.float32)))


def stops_picture(stops: NDArray[np.float32]) -> NDArray[np.uint8]:
    """sRGB 8 bit (H, W, 3) of stops from middle grey (H, W), each pixel in its nearest whole stop's colour."""
    whole = np.clip(np.nan_to_num(np.rint(stops), nan=LOWEST, neginf=LOWEST, posinf=HIGHEST), LOWEST, HIGHEST)
    return np.asarray(stop_colours()[whole.astype(np.int64) - LOWEST])


def _lab(lightness: float, chroma: float, hue: float) -> tuple[float, float, float]:
    return lightness, chroma * math.cos(math.radians(hue)), chroma * math.sin(math.radians(hue))

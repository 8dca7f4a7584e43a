"""How different two colours look: CIELAB and the CIEDE2000 difference.

Source
------
cie15 (CIELAB), cie142, sharma2005 (CIEDE2000, hue angles and their means)
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.colour.encode import D65_WHITE

Values = NDArray[np.float64]

_SEVENTH = 25.0**7


def lab(xyz: ArrayLike, white: ArrayLike = D65_WHITE) -> Values:
    """L*, a*, b* (..., 3) of tristimulus values (..., 3) under a white (3,) at the same scale. [-]"""
    ratio = np.asarray(xyz, float) / np.asarray(white, float)
    root = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio * (29 / 6) ** 2 / 3 + 4 / 29)
    x, y, z = root[..., 0], root[..., 1], root[..., 2]
    return np.stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)], axis=-1)


def delta_e_2000(first: ArrayLike, second: ArrayLike) -> Values:
    """CIEDE2000 difference (...) of colours in CIELAB (..., 3), all weights 1. [-]"""
    one, two = np.asarray(first, float), np.asarray(second, float)
    chroma_7 = ((np.hypot(one[..., 1], one[..., 2]) + np.hypot(two[..., 1], two[..., 2])) / 2) ** 7
    stretch = 1.5 - 0.5 * np.sqrt(chroma_7 / (chroma_7 + _SEVENTH))
    c1, h1 = _polar(one, stretch)
    c2, h2 = _polar(two, stretch)
    grey = c1 * c2 == 0.0
    turn = np.where(grey, 0.0, (h2 - h1 + 180.0) % 360.0 - 180.0)
    turn = np.where(turn == -180.0, np.where(h2 > h1, 180.0, -180.0), turn)
    hue_apart = 2.0 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2))
    hue = _mean_hue(h1, h2, grey)
    lightness, chroma = (one[..., 0] + two[..., 0]) / 2, (c1 + c2) / 2
    wave = (
        1.0
        - 0.17 * np.cos(np.radians(hue - 30.0))
        + 0.24 * np.cos(np.radians(2.0 * hue))
        + 0.32 * np.cos(np.radians(3.0 * hue + 6.0))
        - 0.20 * np.cos(np.radians(4.0 * hue - 63.0))
    )
    squared = (lightness - 50.0) ** 2
    in_lightness = (two[..., 0] - one[..., 0]) / (1.0 + 0.015 * squared / np.sqrt(20.0 + squared))
    in_chroma = (c2 - c1) / (1.0 + 0.045 * chroma)
    in_hue = hue_apart / (1.0 + 0.015 * chroma * wave)
    blues = 30.0 * np.exp(-(((hue - 275.0) / 25.0) ** 2))
    twist = -np.sin(np.radians(2.0 * blues)) * 2.0 * np.sqrt(chroma**7 / (chroma**7 + _SEVENTH))
    total = in_lightness**2 + in_chroma**2 + in_hue**2 + twist * in_chroma * in_hue
    return np.asarray(np.sqrt(np.maximum(total, 0.0)))


def _polar(colour: Values, stretch: Values) -> tuple[Values, Values]:
    """Chroma, and hue in degrees 0..360, once a* is stretched."""
    a, b = colour[..., 1] * stretch, colour[..., 2]
    return np.hypot(a, b), np.degrees(np.arctan2(b, a)) % 360.0


def _mean_hue(h1: Values, h2: Values, grey: Values) -> Values:
    """Middle of two hues along the shorter way; their sum where one of the colours is grey. [degrees]"""
    total = h1 + h2
    near = np.abs(h1 - h2) <= 180.0
    far = np.where(total < 360.0, total + 360.0, total - 360.0) / 2
    return np.where(grey, total, np.where(near, total / 2, far))

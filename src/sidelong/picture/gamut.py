"""Colours that a screen cannot show, brought inside without turning their hue.

Linear sRGB goes to Oklab, whose hue stays put along straight lines to grey, and chroma alone is pressed together:
untouched up to `KNEE` of the greatest chroma that sRGB holds at that lightness and hue, and from there ever slower
towards all of it. So shapes lit by a strong gel keep their modelling, and blue does not go violet as it fades.

Source
------
ottosson2020 (Oklab, its matrices), csscolor4 (gamut mapping at constant Oklab hue); the knee is our own choice.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.float32]

KNEE = 0.9
"""Share of the greatest chroma up to which a colour is left exactly as it is. [-]"""

NEAR_EDGE = 0.08
"""A colour whose least channel is above this share of its greatest lies inside the knee for certain (measured)."""

# published for XYZ under D65 and folded with the sRGB primaries by the same author
_RGB_TO_CONES = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_ROOTS_TO_LAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)
# rows scaled, and the opponent rows centred, so that a grey's a and b are nothing to the last digit
_RGB_TO_CONES = _RGB_TO_CONES / _RGB_TO_CONES.sum(axis=1, keepdims=True)
_ROOTS_TO_LAB = _ROOTS_TO_LAB - np.array([[0.0], [1.0], [1.0]]) * _ROOTS_TO_LAB.mean(axis=1, keepdims=True)
_ROOTS_TO_LAB[0] /= _ROOTS_TO_LAB[0].sum()
_TO_CONES = _RGB_TO_CONES.T.astype(np.float32)
_TO_LAB = _ROOTS_TO_LAB.T.astype(np.float32)
_TO_ROOTS = np.linalg.inv(_ROOTS_TO_LAB).T.astype(np.float32)
_TO_RGB = np.linalg.inv(_RGB_TO_CONES).T.astype(np.float32)

_LIGHTNESSES, _HUES = 129, 541


def to_oklab(rgb: Pixels) -> Pixels:
    """Oklab (..., 3): lightness, a, b, of linear sRGB (..., 3); negative channels are allowed. [-]"""
    return np.asarray(np.cbrt(rgb @ _TO_CONES) @ _TO_LAB, np.float32)


def from_oklab(lab: Pixels) -> Pixels:
    """Linear sRGB (..., 3) of Oklab (..., 3); may lie outside 0..1. [-]"""
    roots = lab @ _TO_ROOTS
    return np.asarray((roots * roots * roots) @ _TO_RGB, np.float32)


def press_chroma(lab: Pixels) -> Pixels:
    """Oklab colours (N, 3) with lightness in 0..1 and a chroma that sRGB can show; hue as it was. [-]

    The share s of the greatest chroma becomes KNEE + (1 - KNEE) (1 - 1 / (1 + (s - KNEE) / (1 - KNEE))) above KNEE.
    """
    lightness = np.clip(lab[:, 0], 0.0, 1.0)
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    greatest = greatest_chroma(lightness, np.arctan2(lab[:, 2], lab[:, 1]))
    room = np.float32(1.0 - KNEE)
    share = chroma / np.maximum(greatest, np.float32(1e-6))
    over = np.maximum(share - np.float32(KNEE), 0.0) / room
    pressed = np.float32(KNEE) + room * over / (1.0 + over)
    gain = np.where(share > KNEE, pressed / np.maximum(share, np.float32(1e-6)), np.float32(1.0))
    return np.stack([lightness, lab[:, 1] * gain, lab[:, 2] * gain], axis=1).astype(np.float32)


def greatest_chroma(lightness: Pixels, hue: Pixels) -> Pixels:
    """Greatest Oklab chroma inside sRGB at a lightness in 0..1 and a hue [rad], all (N,); read off a table. [-]"""
    table = _chroma_table()
    row = lightness * np.float32(_LIGHTNESSES - 1)
    column = (hue + np.float32(np.pi)) * np.float32((_HUES - 1) / (2 * np.pi))
    i = np.clip(row.astype(np.int32), 0, _LIGHTNESSES - 2)
    j = np.clip(column.astype(np.int32), 0, _HUES - 2)
    u, v = row - i, column - j
    flat = i * _HUES + j
    upper = table[flat] * (1 - v) + table[flat + 1] * v
    lower = table[flat + _HUES] * (1 - v) + table[flat + _HUES + 1] * v
    return np.asarray(upper * (1 - u) + lower * u, np.float32)


@lru_cache(maxsize=1)
def _chroma_table() -> Pixels:
    """Greatest chroma over lightness and hue, row by row in one flat array, by halving."""
    lightness = np.repeat(np.linspace(0.0, 1.0, _LIGHTNESSES, dtype=np.float32), _HUES)
    hue = np.tile(np.linspace(-np.pi, np.pi, _HUES, dtype=np.float32), _LIGHTNESSES)
    direction = np.stack([np.cos(hue), np.sin(hue)], axis=1)
    inside, outside = np.zeros_like(lightness), np.full_like(lightness, 0.4)
    for _ in range(15):
        middle = 0.5 * (inside + outside)
        rgb = from_oklab(np.concatenate([lightness[:, None], middle[:, None] * direction], axis=1))
        fits = ((rgb >= -1e-6) & (rgb <= 1.0 + 1e-6)).all(axis=1)
        inside, outside = np.where(fits, middle, inside), np.where(fits, outside, middle)
    return inside

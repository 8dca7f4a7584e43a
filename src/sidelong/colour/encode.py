"""sRGB: linear light to and from tristimulus values, and the encoding.

Source
------
iec61966 (primaries, white, encoding)
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Values = NDArray[np.float64]

D65_WHITE: Values = np.array([0.3127 / 0.3290, 1.0, (1 - 0.3127 - 0.3290) / 0.3290])
"""Tristimulus values of sRGB's white, (3,), Y = 1."""
_PRIMARIES = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])


def _rgb_to_xyz() -> Values:
    columns = np.array([[x / y, 1.0, (1.0 - x - y) / y] for x, y in _PRIMARIES]).T
    return np.asarray(columns * np.linalg.solve(columns, D65_WHITE))


RGB_TO_XYZ: Values = _rgb_to_xyz()
"""(3, 3), linear sRGB to tristimulus values with Y = 1 for white. [-]"""
XYZ_TO_RGB: Values = np.asarray(np.linalg.inv(RGB_TO_XYZ))
"""(3, 3), the inverse. [-]"""


def linear_rgb(xyz: ArrayLike) -> Values:
    """Linear sRGB (..., 3) of tristimulus values (..., 3) under D65; may leave 0..1. [-]"""
    return np.asarray(np.asarray(xyz, float) @ XYZ_TO_RGB.T)


def xyz_of_rgb(rgb: ArrayLike) -> Values:
    """Tristimulus values (..., 3), white's Y = 1, of linear sRGB (..., 3)."""
    return np.asarray(np.asarray(rgb, float) @ RGB_TO_XYZ.T)


def encoded(linear: ArrayLike) -> Values:
    """Encoded sRGB 0..1 of linear values, clipped to 0..1. [-]"""
    value = np.clip(np.asarray(linear, float), 0.0, 1.0)
    return np.asarray(np.where(value <= 0.0031308, 12.92 * value, 1.055 * value ** (1 / 2.4) - 0.055))


def decoded(encoded_values: ArrayLike) -> Values:
    """Linear values of encoded sRGB 0..1. [-]"""
    value = np.asarray(encoded_values, float)
    return np.where(value <= 0.04045, value / 12.92, ((np.maximum(value, 0.0) + 0.055) / 1.055) ** 2.4)


def eight_bit(linear: ArrayLike) -> NDArray[np.uint8]:
    """8-bit sRGB of linear values, clipped and rounded to nearest."""
    return np.asarray(np.floor(encoded(linear) * 255.0 + 0.5), dtype=np.uint8)

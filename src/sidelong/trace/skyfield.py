"""The sky's luminance over the hemisphere as a table that kernels look up."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Pattern = Callable[[NDArray[np.float64]], NDArray[np.float64]]
"""Relative luminance of the sky in directions (..., 3), unit, place frame."""

_ROWS, _COLUMNS = 129, 257


@dataclass(frozen=True)
class SkyTable:
    """`luminance` (rows, columns) [cd/m2]: elevation 0 to 90 degrees down the rows, azimuth -180 to 180 (from +x
    towards +y) along the columns, both ends included."""

    luminance: NDArray[np.float64]


def sky_table(pattern: Pattern, horizontal: float) -> SkyTable:
    """Table of a sky with this relative pattern that gives `horizontal` lux on level ground. [lx]"""
    elevation = np.linspace(0.0, np.pi / 2, _ROWS)
    azimuth = np.linspace(-np.pi, np.pi, _COLUMNS)
    h, a = np.meshgrid(elevation, azimuth, indexing="ij")
    directions = np.stack([np.cos(h) * np.cos(a), np.cos(h) * np.sin(a), np.sin(h)], axis=-1)
    relative = np.maximum(np.nan_to_num(pattern(directions)), 0.0)
    return SkyTable(relative * (horizontal / horizontal_illuminance(relative)))


def horizontal_illuminance(luminance: NDArray[np.float64]) -> float:
    """Illuminance on level ground of a table, by Simpson's rule over elevation, trapezoids over azimuth. [lx]"""
    rows = len(luminance)
    elevation = np.linspace(0.0, np.pi / 2, rows)
    step = elevation[1]
    simpson = np.ones(rows)
    simpson[1:-1:2], simpson[2:-1:2] = 4.0, 2.0
    ring = luminance[:, :-1].mean(1) * 2 * np.pi
    return float((ring * np.sin(elevation) * np.cos(elevation) * simpson).sum() * step / 3)

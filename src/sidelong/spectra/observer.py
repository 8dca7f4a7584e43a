"""The eye: CIE 1931 2-degree colour matching functions, and V(lambda), which is their y.

Source
------
cie018 (V(lambda), 683 lm/W), cie15 (the observer), tables/observer_1931.csv
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.spectra.grids import STEP, read_table

LUMENS_PER_WATT = 683.0
"""Luminous efficacy of radiation at the peak of V(lambda). [lm/W]"""


@cache
def colour_matching() -> NDArray[np.float64]:
    """x, y, z of the observer on the grid, (95, 3). Read only. [-]"""
    table = read_table(Path(__file__).parent / "tables" / "observer_1931.csv")[:, 1:]
    table.setflags(write=False)
    return table


def luminosity() -> NDArray[np.float64]:
    """V(lambda) on the grid, (95,). [-]"""
    return colour_matching()[:, 1]


def tristimulus(values: ArrayLike) -> NDArray[np.float64]:
    """X, Y, Z (..., 3) of spectra (..., 95) on the grid, times 683 lm/W: W/m2/nm gives Y in lux, W/nm lumens."""
    return np.asarray(np.asarray(values, float) @ colour_matching() * (STEP * LUMENS_PER_WATT))


def luminous(values: ArrayLike) -> NDArray[np.float64]:
    """683 lm/W times the integral of values (..., 95) with V(lambda): W/m2/nm gives lux, W/nm gives lumens."""
    return np.asarray(np.asarray(values, float) @ luminosity() * (STEP * LUMENS_PER_WATT))

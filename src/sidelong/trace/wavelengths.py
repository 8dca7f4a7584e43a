"""The wavelengths that paths carry: four each, drawn by the observer's own sensitivity from the grid of spectra."""

from __future__ import annotations

from typing import Any

import numpy as np

from sidelong.spectra.grids import WAVELENGTHS
from sidelong.spectra.observer import LUMENS_PER_WATT, colour_matching
from sidelong.spectra.values import Spectrum
from sidelong.trace.engine import load

mi, dr = load()

GRID = WAVELENGTHS
"""Wavelengths at which reflectances and spectra are tabulated. [nm]"""
CARRIED = 4
_INVERSE = 4096


class WavelengthTable:
    """Draws wavelengths and turns what paths bring into tristimulus values.

    The density follows x + y + z of the observer; four wavelengths a path, a quarter of the cumulative apart.
    """

    def __init__(self, spectra: tuple[Spectrum, ...]) -> None:
        matching = colour_matching()
        # every row at least once, the rest in proportion; the finite table's own density makes sums come out exact
        share = matching.sum(1) / matching.sum() * (_INVERSE - 2 * len(GRID))
        counted = np.maximum(np.round(share), 1).astype(np.int64)
        counted[int(np.argmax(counted))] += _INVERSE - int(counted.sum())
        rows = np.repeat(np.arange(len(GRID)), counted)
        share = _INVERSE / counted
        self.rows = mi.UInt32(rows.astype(np.uint32))
        powers = np.stack([s.at(GRID) for s in spectra]) if spectra else np.zeros((0, len(GRID)))
        per_lumen = powers / np.maximum(LUMENS_PER_WATT * (powers @ matching[:, 1]), 1e-30)[:, None]
        weights = LUMENS_PER_WATT * per_lumen[:, :, None] * matching[None] * share[None, :, None] / CARRIED
        self.weights = mi.Float(weights.astype(np.float32).ravel())
        self.white = per_lumen @ matching * LUMENS_PER_WATT
        even = matching / matching.sum(0) * share[:, None] / CARRIED
        self.even = mi.Float(even.astype(np.float32).ravel())

    def draw(self, sample: Any) -> list[Any]:
        """Four rows of GRID for each number in [0, 1)."""
        rows = []
        for i in range(CARRIED):
            u = sample + i / CARRIED
            u = dr.select(u >= 1.0, u - 1.0, u)
            rows.append(dr.gather(mi.UInt32, self.rows, dr.minimum(mi.UInt32(u * _INVERSE), _INVERSE - 1)))
        return rows

    def reflected(self, value: Any, rows: list[Any]) -> Any:
        """XYZ of a reflectance under light of even power, 1 for a perfect white."""
        total = mi.Color3f(0.0)
        for i, row in enumerate(rows):
            total += value[i] * dr.gather(mi.Color3f, self.even, row)
        return total

    def tristimulus(self, light: Any, value: Any, rows: list[Any]) -> Any:
        """XYZ (Y in lux or the like) of what four wavelengths of unit-luminance light of one layer brought."""
        total = mi.Color3f(0.0)
        for i, row in enumerate(rows):
            total += value[i] * dr.gather(mi.Color3f, self.weights, row + light * len(GRID))
        return total

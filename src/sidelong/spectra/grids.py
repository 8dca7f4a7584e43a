"""The one grid of wavelengths that every spectrum is computed on: 360 to 830 nm, every 5 nm."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.spectra.values import Spectrum

STEP = 5.0
"""[nm]"""
WAVELENGTHS: NDArray[np.float64] = np.arange(360.0, 831.0, STEP)
"""(95,) [nm]. Read only."""
WAVELENGTHS.setflags(write=False)


def on_grid(spectrum: Spectrum) -> NDArray[np.float64]:
    """Values (95,) of a spectrum on the grid, in the spectrum's own unit."""
    if spectrum.wavelengths is WAVELENGTHS:
        return spectrum.values
    return spectrum.at(WAVELENGTHS)


def averaged(wavelengths: ArrayLike, values: ArrayLike) -> Spectrum:
    """A spectrum tabulated finer than the grid (N,) [nm], brought onto it without losing its integral.

    Each value is the mean under a triangle that falls to nothing at its neighbours; 0 outside the table.
    """
    fine = np.arange(WAVELENGTHS[0] - STEP, WAVELENGTHS[-1] + STEP + 0.05, 0.1)
    given = np.interp(fine, np.asarray(wavelengths, float), np.asarray(values, float), left=0.0, right=0.0)
    weight = np.maximum(1.0 - np.abs(fine - WAVELENGTHS[:, None]) / STEP, 0.0)
    return Spectrum(WAVELENGTHS, weight @ given / np.sum(weight, axis=-1))


def flat(value: float) -> Spectrum:
    """The same value at every wavelength, in whatever unit `value` is."""
    return Spectrum(WAVELENGTHS, np.full_like(WAVELENGTHS, value))


def integral(values: ArrayLike) -> NDArray[np.float64]:
    """Integral over wavelength of values (..., 95) on the grid, as the CIE sums: values times 5 nm. [unit nm]"""
    return np.asarray(np.sum(np.asarray(values, float), axis=-1) * STEP)


def read_table(path: Path) -> NDArray[np.float64]:
    """A shipped table of numbers (rows, columns); lines that start with # say what it is and where from."""
    return np.loadtxt(path, delimiter=",", comments="#", dtype=np.float64, ndmin=2)

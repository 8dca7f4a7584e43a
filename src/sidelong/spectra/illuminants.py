"""Spectra of light by its colour temperature, each normalised to one lumen.

`normalised` is what Emitter.spectrum and Daylight's spectra ask for: 683 lm/W times the integral with V(lambda)
is 1, so that lumens (or lux) times the spectrum are watts (per square metre) per nanometre.

Source
------
cie15 (daylight illuminants, illuminant A), planck1901 (c2 = 0.014 387 769 m K, exact since 2019)
"""

from __future__ import annotations

from functools import cache, lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.spectra.grids import WAVELENGTHS, read_table
from sidelong.spectra.observer import luminous
from sidelong.spectra.values import Spectrum

C2 = 1.438776877e7
"""Second radiation constant. [nm K]"""
DAYLIGHT_FROM = 4000.0
"""From this colour temperature up, a temperature means a phase of daylight; below it, a Planckian radiator. [K]"""
D50, D55, D65 = (1.4388 / 1.438 * nominal for nominal in (5000.0, 5500.0, 6500.0))
"""Temperatures of the standard daylight illuminants on today's temperature scale. [K]"""


def normalised(values: ArrayLike) -> Spectrum:
    """Values (95,) on the grid, scaled to one lumen. [1/(lm nm) W]

    Raises
    ------
    ValueError
        No visible light in it: nothing to scale to.
    """
    given = np.asarray(values, float)
    total = float(luminous(given))
    if not (np.isfinite(total) and total > 0):
        raise ValueError("a spectrum with some visible light in it was expected")
    return Spectrum(WAVELENGTHS, given / total)


def planck_values(kelvin: ArrayLike) -> NDArray[np.float64]:
    """Relative spectral radiance (..., 95) of Planckian radiators of temperatures (...) [K], about 1 at 560 nm."""
    temperature = np.asarray(kelvin, float)[..., None]
    at_560 = 560.0**-5 / np.expm1(C2 / (560.0 * temperature))
    return np.asarray(WAVELENGTHS**-5.0 / np.expm1(C2 / (WAVELENGTHS * temperature)) / at_560)


@lru_cache(maxsize=256)
def planck(kelvin: float) -> Spectrum:
    """Planckian radiator of a temperature [K], one lumen."""
    if not kelvin > 0:
        raise ValueError(f"a temperature above 0 K was expected, not {kelvin:g}")
    return normalised(planck_values(kelvin))


def daylight_chromaticity(kelvin: ArrayLike) -> NDArray[np.float64]:
    """x, y (..., 2) of phases of daylight of correlated colour temperatures (...), 4000 to 25 000 K. [K, -]"""
    t = np.asarray(kelvin, float)
    warm = ((-4.6070e9 / t + 2.9678e6) / t + 0.09911e3) / t + 0.244063
    cold = ((-2.0064e9 / t + 1.9018e6) / t + 0.24748e3) / t + 0.237040
    x = np.where(t <= 7000.0, warm, cold)
    return np.stack([x, (-3.000 * x + 2.870) * x - 0.275], axis=-1)


@cache
def _daylight_basis() -> NDArray[np.float64]:
    return read_table(Path(__file__).parent / "tables" / "daylight_basis.csv")[:, 1:]


@lru_cache(maxsize=256)
def daylight_phase(kelvin: float) -> Spectrum:
    """Phase of daylight of a correlated colour temperature, one lumen: S0 + M1 S1 + M2 S2.

    The CIE gives it from 4000 to 25 000 K.

    Raises
    ------
    ValueError
        Outside that range.
    """
    if not 4000.0 <= kelvin <= 25000.0:
        raise ValueError(f"daylight phases run from 4000 to 25000 K, not {kelvin:g}")
    x, y = daylight_chromaticity(kelvin)
    m = 0.0241 + 0.2562 * x - 0.7341 * y
    m1 = (-1.3515 - 1.7703 * x + 5.9114 * y) / m
    m2 = (0.0300 - 31.4424 * x + 30.0717 * y) / m
    return normalised(_daylight_basis() @ np.array([1.0, m1, m2]))


@cache
def illuminant_a() -> Spectrum:
    """CIE standard illuminant A (a filament at 2855.5 K), one lumen, by its defining formula."""
    ratio = np.expm1(1.435e7 / (2848 * 560)) / np.expm1(1.435e7 / (2848 * WAVELENGTHS))
    return normalised((560.0 / WAVELENGTHS) ** 5 * ratio)


def by_temperature(kelvin: float) -> Spectrum:
    """Light of a colour temperature as photographers mean it, one lumen.

    A phase of daylight from 4000 to 25 000 K, a Planckian radiator outside: 5500 K is daylight, 3200 K a
    filament. Source: docs/decisions/0007-colour-temperature.md
    """
    return daylight_phase(kelvin) if DAYLIGHT_FROM <= kelvin <= 25000.0 else planck(kelvin)


def flash(kelvin: float) -> Spectrum:
    """Light of a xenon flash tube rated at a colour temperature, one lumen.

    Taken as a phase of daylight of that temperature (Planckian under 4000 K). At the current densities of studio
    flash the visible spectrum is a continuum whose chromaticity lies by the daylight locus; xenon's lines at 460
    to 490 nm stand on it by some per cent and those beyond 800 nm are unseen. Which lines, and how strong,
    differs with tube and power, so none are invented here.
    """
    return by_temperature(kelvin)


def mired(kelvin: ArrayLike) -> NDArray[np.float64]:
    """Reciprocal colour temperature, a million over kelvin (inf gives 0), and back again. [1/MK]"""
    return np.asarray(1e6 / np.asarray(kelvin, float))

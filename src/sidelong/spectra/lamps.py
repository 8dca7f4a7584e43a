"""Spectra of lamps that burn steadily: filaments, and white LEDs of a colour temperature and a colour rendering.

A white LED is taken as a blue pump and two phosphors, three bell curves whose weights give it exactly the
chromaticity of its colour temperature; the farther into the red the second phosphor reaches, the better it renders.
Its middle is set by the index that is stated: 611 nm for Ra 80, 630 nm for Ra 95.

Source
------
widths and middles: estimates from memory of phosphor-converted LEDs' published spectra; measured on this model by
cie13: Ra within 4 of what is stated from 2700 to 6500 K (tests/spectra/test_lamps.py)
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sidelong.spectra.grids import WAVELENGTHS, on_grid
from sidelong.spectra.illuminants import by_temperature, normalised, planck
from sidelong.spectra.observer import tristimulus
from sidelong.spectra.values import Spectrum

_PUMP = (450.0, 22.0)
_GREEN = (530.0, 95.0)
_RED_WIDTH = 95.0
_RED_AT_80, _RED_AT_95 = 611.0, 630.0
LOWEST_CRI, HIGHEST_CRI = 70.0, 97.0


def filament(kelvin: float) -> Spectrum:
    """Light of a filament of a temperature [K], one lumen: a Planckian radiator's."""
    return planck(kelvin)


@lru_cache(maxsize=64)
def white_led(kelvin: float, cri: float) -> Spectrum:
    """Light of a white LED, one lumen: `kelvin` its colour temperature [K], `cri` its general index Ra.

    Raises
    ------
    ValueError
        An index outside 70 to 97, or a temperature at which these three colours cannot make white.
    """
    if not LOWEST_CRI <= cri <= HIGHEST_CRI:
        raise ValueError(f"a colour rendering index from {LOWEST_CRI:g} to {HIGHEST_CRI:g} was expected, not {cri:g}")
    red = _RED_AT_80 + (cri - 80.0) / 15.0 * (_RED_AT_95 - _RED_AT_80)
    parts = np.stack([_bell(*_PUMP), _bell(*_GREEN), _bell(red, _RED_WIDTH)])
    wanted = tristimulus(on_grid(by_temperature(kelvin)))
    weights = np.linalg.solve(np.stack([tristimulus(p) for p in parts], axis=1), wanted)
    if weights.min() < 0:
        raise ValueError(f"an LED of {kelvin:g} K and Ra {cri:g} is none that a blue pump and two phosphors make")
    return normalised(weights @ parts)


def is_white_led(kelvin: float, cri: float) -> bool:
    """Whether there is a white LED of that colour temperature [K] and index."""
    try:
        white_led(kelvin, cri)
    except ValueError:
        return False
    return True


def _bell(middle: float, width: float) -> NDArray[np.float64]:
    """A Gaussian of full width at half height. [nm]"""
    return np.asarray(np.exp(-4.0 * np.log(2.0) * ((WAVELENGTHS - middle) / width) ** 2))

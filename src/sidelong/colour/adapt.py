"""The balance: which light goes neutral, and what that does to every other (Bradford).

Source
------
lam1985, cie159 (the Bradford transform, linear and complete)
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.colour.encode import D65_WHITE
from sidelong.spectra.grids import on_grid
from sidelong.spectra.illuminants import by_temperature
from sidelong.spectra.observer import tristimulus
from sidelong.spectra.values import Spectrum

Values = NDArray[np.float64]

BRADFORD: Values = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
"""(3, 3), tristimulus values to sharpened cone responses. [-]"""


def adaptation(white: ArrayLike, to_white: ArrayLike = D65_WHITE) -> Values:
    """Matrix (3, 3) that takes tristimulus values seen under `white` (3,) to those under `to_white` (3,). [-]

    Apply as xyz @ matrix.T; `white` itself goes to `to_white` at its own Y.
    """
    source = np.asarray(white, float)
    target = np.asarray(to_white, float)
    gains = (BRADFORD @ (target / target[1])) / (BRADFORD @ (source / source[1]))
    return np.asarray(np.linalg.solve(BRADFORD, gains[:, None] * BRADFORD))


def spectrum_xyz(spectrum: Spectrum) -> Values:
    """Tristimulus values (3,) of a spectrum, scaled by 683 lm/W: Y is its lumens (1 for a normalised one)."""
    return tristimulus(on_grid(spectrum))


def balance_white(balance: float) -> Values:
    """Tristimulus values (3,), Y = 1, of the light that a balance [K] turns neutral.

    A phase of daylight from 4000 to 25 000 K, a Planckian radiator outside.
    """
    return spectrum_xyz(by_temperature(balance))


def balance_matrix(balance: float) -> Values:
    """Matrix (3, 3) from scene tristimulus values to those under sRGB's D65, for a balance [K]. [-]"""
    return adaptation(balance_white(balance))

"""A spectrum and a finish as plain values."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Spectrum:
    """A quantity over wavelength: `wavelengths` (N,) ascending [nm], `values` (N,) in the unit its user states."""

    wavelengths: NDArray[np.float64]
    values: NDArray[np.float64]

    def at(self, wavelengths: NDArray[np.float64]) -> NDArray[np.float64]:
        """Values at other wavelengths [nm], linear between the grid's points, the end values held outside."""
        return np.asarray(np.interp(wavelengths, self.wavelengths, self.values))


@dataclass(frozen=True)
class Finish:
    """How a surface answers light: diffuse `reflectance` over wavelength [-]; `roughness` of a clear coat over it,
    0 mirror to 1 none-at-all, None for a dead matt surface; `metal` when the reflectance is the metal's own;
    `straight` is the fraction that goes through unscattered (glass, a net's holes), `diffuse` the fraction
    transmitted and scattered (cloth, paper) [-]; `grain` in 0..1 mottles the reflectance in space so that a
    wall reads as a wall."""

    name: str
    reflectance: Spectrum
    roughness: float | None = None
    metal: bool = False
    straight: float = 0.0
    diffuse: float = 0.0
    grain: float = 0.0
    source: str = ""
    index: float | None = None
    """Refractive index of a clear pane: `straight` then holds at right angles and falls off aslant by Fresnel's
    equations, and the pane mirrors what it turns back; None lets through the same at every angle."""
    tint: Spectrum | None = None
    """What goes through at each wavelength over what goes through of white light, straight or scattered; None: all
    wavelengths alike. [-]"""
    mirror: float = 0.0
    """The fraction that a perfect mirror gives back, the same at every angle. [-]"""

"""A cloudless atmosphere: what of the sun comes straight down and what the sky scatters, in watts, lux and colour.

Irradiances follow Ineichen and Perez with Linke's turbidity; watts become lux by the luminous efficacies of Perez
and others; the colours of sun and sky come from the simple spectral model of Bird and Riordan, whose aerosol is
matched to the same turbidity.

Source
------
kasten1989 (air mass), ineichen2002, perez1990 (efficacy), bird1984 (spectra), kasten1996 (turbidity to aerosol)
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sidelong.spectra.grids import WAVELENGTHS, read_table

Values = NDArray[np.float64]

SOLAR_CONSTANT = 1361.0
"""Outside the air, at one astronomical unit. [W/m2]"""
WATER = 1.5
"""Precipitable water of a temperate day. [cm]"""
OZONE = 0.31
"""[atm-cm]"""
ANGSTROM = 1.14
"""Exponent of a rural aerosol. [-]"""
_ALBEDO_400, _ALBEDO_BEND, _ASYMMETRY = 0.945, 0.095, 0.65


@dataclass(frozen=True)
class ClearAir:
    """The air over a place on a day: `altitude` [m], `pressure` [Pa], Linke's `turbidity`, 1 (clean and dry) to 7
    (dull) [-], reflectance of the `ground` [-], and the sun's irradiance `outside` the air [W/m2]."""

    altitude: float
    pressure: float
    turbidity: float
    ground: float
    outside: float


@dataclass(frozen=True)
class Irradiance:
    """Clear sky: `direct` on a receptor turned to the sun, `diffuse` from the sky on level ground. [W/m2]"""

    direct: float
    diffuse: float


def air_mass(elevation: float) -> float:
    """Relative optical air mass at an apparent elevation [rad]; the horizon's (38) below it. [-]"""
    degrees = max(math.degrees(elevation), 0.0)
    return 1.0 / (math.sin(math.radians(degrees)) + 0.50572 * math.pow(degrees + 6.07995, -1.6364))


def clear_irradiance(elevation: float, air: ClearAir) -> Irradiance:
    """Ineichen's clear sky; `elevation` of the sun, apparent, above 0. [rad]"""
    altitude, turbidity, outside = air.altitude, air.turbidity, air.outside
    mass = air_mass(elevation) * air.pressure / 101325.0
    sine = max(math.sin(elevation), 1e-3)
    near, far = math.exp(-altitude / 8000.0), math.exp(-altitude / 1250.0)
    first, second = 5.09e-5 * altitude + 0.868, 3.92e-5 * altitude + 0.0387
    whole = first * outside * sine * math.exp(-second * mass * (near + far * (turbidity - 1.0)))
    beam = outside * (0.664 + 0.163 / near) * math.exp(-0.09 * mass * (turbidity - 1.0))
    bound = whole * (1.0 - (0.1 - 0.2 * math.exp(-turbidity)) / (0.1 + 0.882 / near)) / sine
    direct = min(beam, bound)
    return Irradiance(direct, whole - direct * sine)


def efficacies(irradiance: Irradiance, elevation: float, outside: float) -> tuple[float, float]:
    """Luminous efficacy of the sun's beam and of the sky's light, by the clearness of the sky. [lm/W]

    `elevation` of the sun, apparent [rad]; `outside` [W/m2].
    """
    zenith = math.pi / 2 - elevation
    brightness = max(irradiance.diffuse * air_mass(elevation) / outside, 1e-3)
    bend = 1.041 * zenith**3
    clearness = ((irradiance.diffuse + irradiance.direct) / irradiance.diffuse + bend) / (1.0 + bend)
    row = int(np.searchsorted(_CLEARNESS, clearness, side="right"))
    a, b, c, d = _BEAM[row]
    beam = a + b * WATER + c * math.exp(5.73 * zenith - 5.0) + d * brightness
    a, b, c, d = _SKY[row]
    sky = a + b * WATER + c * math.cos(zenith) + d * math.log(brightness)
    return max(beam, 0.0), max(sky, 0.0)


_CLEARNESS = np.array([1.065, 1.230, 1.500, 1.950, 2.800, 4.500, 6.200])
_BEAM = (
    (57.20, -4.55, -2.98, 117.12), (98.99, -3.46, -1.21, 12.38), (109.83, -4.90, -1.71, -8.81),
    (110.34, -5.84, -1.99, -4.56), (106.36, -3.97, -1.75, -6.16), (107.19, -1.25, -1.51, -26.73),
    (105.75, 0.77, -1.26, -34.44), (101.18, 1.58, -1.10, -8.29),
)  # fmt: skip
_SKY = (
    (97.24, -0.46, 12.00, -8.91), (107.22, 1.15, 0.59, -3.95), (104.97, 2.96, -5.53, -8.77),
    (102.39, 5.59, -13.95, -13.90), (100.71, 5.94, -22.75, -23.74), (106.42, 3.83, -36.15, -28.83),
    (141.88, 1.90, -53.24, -14.03), (152.23, 0.35, -45.27, -7.98),
)  # fmt: skip
"""Perez's table: rows by clearness; columns for 1, water, the zenith angle's term, the sky's brightness."""


def aerosol_depth(turbidity: float) -> float:
    """Optical depth of the aerosol at 500 nm in an atmosphere of Linke's turbidity (at air mass 2). [-]"""
    mass = 2.0
    clean = -0.101 + 0.235 * mass**-0.16
    water = 0.112 * mass**-0.55 * WATER**0.34
    broadband = turbidity / (9.4 + 0.9 * mass) - clean - water
    return float(max(broadband, 0.0) * math.pow(700.0 / 500.0, ANGSTROM))


def clear_spectra(elevation: float, pressure: float, turbidity: float, ground: float) -> tuple[Values, Values]:
    """Sun's beam (on a receptor turned to it) and sky's light on level ground, (95,) each. [W/m2/nm]

    `elevation` apparent, of the sun [rad]; `pressure` [Pa]; `ground` reflectance [-]. The sun at one astronomical
    unit. Good down to a few degrees; at the horizon the sky's part goes to 0 with the sine.
    """
    nm, sun, water, ozone, gases = _coefficients()
    mass = air_mass(elevation)
    depth = aerosol_depth(turbidity) * (nm / 500.0) ** -ANGSTROM
    albedo = _ALBEDO_400 * np.exp(-_ALBEDO_BEND * np.log(nm / 400.0) ** 2)
    sine = max(math.sin(elevation), 0.0)
    through_ozone = np.exp(-ozone * OZONE * (1.0 + 22 / 6370) / math.sqrt(sine**2 + 2 * 22 / 6370))
    rayleigh, vapour, mixed = _gases(nm, water, gases, mass, pressure)
    beam = sun * rayleigh * np.exp(-depth * mass) * vapour * through_ozone * mixed
    scattered = np.exp(-albedo * depth * mass)
    absorbed = np.exp(-(1.0 - albedo) * depth * mass)
    common = sun * sine * through_ozone * mixed * vapour * absorbed
    forward = _forward_share(sine)
    first = common * ((1.0 - rayleigh**0.95) * 0.5 + rayleigh**1.5 * (1.0 - scattered) * forward)
    rayleigh, vapour, mixed = _gases(nm, water, gases, 1.8, pressure)
    back = 0.5 * (1.0 - rayleigh) + (1.0 - _forward_share(1 / 1.8)) * rayleigh * (1.0 - np.exp(-albedo * depth * 1.8))
    sky_reflects = mixed * vapour * np.exp(-(1.0 - albedo) * depth * 1.8) * back
    again = (beam * sine + first) * sky_reflects * ground / (1.0 - sky_reflects * ground)
    lift = np.where(nm <= 450.0, ((nm + 550.0) / 1000.0) ** 1.8, 1.0)
    return beam, (first + again) * lift


def _gases(nm: Values, water: Values, gases: Values, mass: float, pressure: float) -> tuple[Values, Values, Values]:
    """Transmittances of clean air (Rayleigh), water vapour and the mixed gases. [-]"""
    airy, um = mass * pressure / 101300.0, nm / 1000.0
    rayleigh = np.exp(-airy / (um**4 * (115.6406 - 1.3366 / um**2)))
    wet = water * WATER * mass
    vapour = np.exp(-0.2385 * wet / (1.0 + 20.07 * wet) ** 0.45)
    mixed = np.exp(-1.41 * gases * airy / (1.0 + 118.3 * gases * airy) ** 0.45)
    return rayleigh, vapour, mixed


def _forward_share(sine: float) -> float:
    """Share of the aerosol's scattered light that goes down, the sun's elevation having this sine. [-]"""
    log = math.log(1.0 - _ASYMMETRY)
    first = log * (1.459 + log * (0.1595 + log * 0.4129))
    second = log * (0.0783 + log * (-0.3824 - log * 0.5874))
    return 1.0 - 0.5 * math.exp((first + second * sine) * sine)


@cache
def _coefficients() -> tuple[Values, Values, Values, Values, Values]:
    table = read_table(Path(__file__).parent / "tables" / "clear_air.csv")
    sun, water, ozone, gases = (np.interp(WAVELENGTHS, table[:, 0], table[:, k]) for k in range(1, 5))
    return WAVELENGTHS, sun, water, ozone, gases

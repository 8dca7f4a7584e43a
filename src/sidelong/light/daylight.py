"""The daylight at a place and an instant: how much, from where, of which colour.

Clear sky, sun over 10 degrees: `clear_air`. Lower, where those formulae fail, the sun's beam follows the spectral
model through the air, tied on at 10 degrees; the sky is what the tabulated illuminance of level ground leaves when
the beam is taken off, tied on likewise, and through twilight it is all of it. The beam counts by the part of the
sun's disc over the horizon. Overcast: the sky alone, 300 + 21 000 sin h lux, dimmed through twilight as the clear
one. Under 18 degrees below the horizon it is dark.

Source
------
those of clear_air; seidelmann1992 (illuminance of level ground by the sun's elevation); iesna1984 (overcast)
"""

from __future__ import annotations

import math
from datetime import datetime
from functools import lru_cache

import numpy as np

from sidelong.light.clear_air import SOLAR_CONSTANT, ClearAir, clear_irradiance, clear_spectra, efficacies
from sidelong.light.ephemeris import SOLAR_RADIUS
from sidelong.light.sun import SunPosition, pressure, sun_position
from sidelong.light.values import Daylight
from sidelong.place.values import Place
from sidelong.spectra.illuminants import D65, daylight_phase, normalised
from sidelong.spectra.observer import luminous
from sidelong.spectra.values import Spectrum

LOWEST = math.radians(10.0)
"""Elevation above which the clear-sky formulae are used as they are. [rad]"""
DARK = math.radians(-18.0)
"""True elevation of the sun under which nothing is left of the day. [rad]"""
CLEAR, POLLUTED, OVERCAST = 12, 13, 1
"""ISO 15469 types."""
DULL = 5.0
"""Linke turbidity from which a clear sky is taken as the polluted type. [-]"""
_SKY_COLOUR_FROM = math.radians(1.0)

_LEVEL_GROUND = (
    (20.0, (3.74, 3.97, -4.07, 1.47)),
    (5.0, (3.05, 13.28, -45.98, 64.33)),
    (-0.8, (2.88, 22.26, -207.64, 1034.30)),
    (-5.0, (2.88, 21.81, -258.11, -858.36)),
    (-12.0, (2.70, 12.17, -431.69, -1899.83)),
    (-90.0, (13.84, 262.72, 1447.42, 2797.93)),
)
"""From which elevation [deg]; log10 of lux as a cubic of elevation / 90 degrees."""


def daylight(when: datetime, place: Place) -> Daylight | None:
    """Sun and sky at an instant; None when it is dark, by the hour or because the place's sky is "dark".

    Raises
    ------
    InputFault
        `when` does not say its offset from universal time.
    """
    if place.sky.kind == "dark":
        return None
    sun = sun_position(when, place)
    return daylight_under(sun, place)


def daylight_under(sun: SunPosition, place: Place) -> Daylight | None:
    """As `daylight`, the sun's position given."""
    if sun.true_elevation < DARK or place.sky.kind == "dark":
        return None
    air = ClearAir(
        altitude=place.elevation,
        pressure=pressure(place.elevation),
        turbidity=place.sky.turbidity,
        ground=place.ground,
        outside=SOLAR_CONSTANT / sun.distance**2,
    )
    beam_colour, sky_colour = _colours(round(sun.elevation, 6), air.pressure, air.turbidity, air.ground)
    if place.sky.kind == "overcast":
        beam, sky, kind = 0.0, overcast_sky(sun.true_elevation), OVERCAST
        sky_colour = daylight_phase(D65)
    else:
        beam, sky = clear_beam(sun.elevation, air), clear_sky(sun.true_elevation, air)
        kind = POLLUTED if air.turbidity >= DULL else CLEAR
    return Daylight(
        to_sun=sun.to_sun,
        elevation=sun.elevation,
        azimuth=sun.azimuth,
        sun_normal=beam,
        sky_horizontal=sky,
        sun_spectrum=beam_colour,
        sky_spectrum=sky_colour,
        sky_type=kind,
    )


def level_ground(elevation: float) -> float:
    """Illuminance of level ground by a clear day or twilight, the sun at a true elevation [rad]. [lx]

    Tabulated fit, -18 to 90 degrees; below, the value at -18 (0.0006 lx).
    """
    degrees = max(math.degrees(elevation), -18.0)
    terms = next(cubic for least, cubic in _LEVEL_GROUND if degrees >= least)
    return math.pow(10.0, float(np.polynomial.polynomial.polyval(degrees / 90.0, terms)))


def overcast_sky(elevation: float) -> float:
    """Illuminance of level ground under an overcast sky, the sun at a true elevation [rad]. [lx]"""
    if elevation >= 0.0:
        return 300.0 + 21000.0 * math.sin(elevation)
    return 300.0 * level_ground(elevation) / level_ground(0.0)


def clear_beam(elevation: float, air: ClearAir) -> float:
    """Illuminance by the sun alone of a receptor turned to it; `elevation` apparent [rad]. [lx]"""
    return _beam_of_a_whole_sun(elevation, air) * _disc_over_horizon(elevation)


def clear_sky(elevation: float, air: ClearAir) -> float:
    """Illuminance of level ground by a clear sky alone; `elevation` of the sun, true [rad]. [lx]"""
    if elevation >= LOWEST:
        return _formulae(elevation, air)[1]
    tie = _formulae(LOWEST, air)[1] / _ground_less_beam(LOWEST, air)
    share = min(max(elevation / LOWEST, 0.0), 1.0)
    return _ground_less_beam(elevation, air) * (1.0 + (tie - 1.0) * share)


def _formulae(elevation: float, air: ClearAir) -> tuple[float, float]:
    """Sun's beam and sky on level ground by the clear-sky formulae. [lx]"""
    watts = clear_irradiance(elevation, air)
    beam, sky = efficacies(watts, elevation, air.outside)
    return watts.direct * beam, watts.diffuse * sky


def _beam_of_a_whole_sun(elevation: float, air: ClearAir) -> float:
    if elevation >= LOWEST:
        return _formulae(elevation, air)[0]
    low, tie = (
        float(luminous(clear_spectra(h, air.pressure, air.turbidity, air.ground)[0])) for h in (elevation, LOWEST)
    )
    return _formulae(LOWEST, air)[0] * low / tie


def _ground_less_beam(elevation: float, air: ClearAir) -> float:
    whole = level_ground(elevation)
    beam = _beam_of_a_whole_sun(elevation, air) * math.sin(elevation) if elevation > 0 else 0.0
    return max(whole - beam, 0.2 * whole)


def _disc_over_horizon(elevation: float) -> float:
    """Part of the sun's disc over a level horizon, its middle at an apparent elevation [rad]. [-]"""
    x = min(max(elevation / float(SOLAR_RADIUS), -1.0), 1.0)
    return 0.5 + (x * math.sqrt(1.0 - x * x) + math.asin(x)) / math.pi


@lru_cache(maxsize=256)
def _colours(elevation: float, air_pressure: float, turbidity: float, ground: float) -> tuple[Spectrum, Spectrum]:
    """Spectra of sun and clear sky, one lumen each; under 1 degree the sky keeps the colour it has there."""
    beam, _ = clear_spectra(max(elevation, 0.0), air_pressure, turbidity, ground)
    _, sky = clear_spectra(max(elevation, _SKY_COLOUR_FROM), air_pressure, turbidity, ground)
    return normalised(beam), normalised(sky)

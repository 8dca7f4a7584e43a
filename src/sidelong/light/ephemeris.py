"""Where the sun stands, by the algorithm of Reda and Andreas, over any number of instants at once.

Good to 0.0003 degrees from the year -2000 to 6000 if the difference between ephemeris and clock time (delta T) is
known; the polynomials used for it here are a second or two off by the 2020s, which is 0.0001 degrees.

Source
------
reda2008 (all equations and tables), espenak2006 (delta T)
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.spectra.grids import read_table

Values = NDArray[np.float64]

SOLAR_RADIUS = np.radians(0.26667)
REFRACTION_AT_HORIZON = np.radians(0.5667)
"""What the algorithm takes for the sun's radius and the refraction at the horizon. [rad]"""
_EPOCH = 2451545.0
_POWERS = np.arange(6)


@dataclass(frozen=True)
class Site:
    """Where on the earth: latitude, longitude (east positive) [rad], elevation [m], pressure [hPa], air [C]."""

    latitude: float
    longitude: float
    elevation: float = 0.0
    pressure: float = 1013.25
    temperature: float = 12.0


@dataclass(frozen=True)
class SunTrack:
    """The sun at N instants, arrays (N,).

    `azimuth` bearing, clockwise from true north, 0..2 pi; `elevation` apparent (refracted); `true_elevation` without
    air; `hour_angle` from the meridian, -pi..pi, afternoon positive [rad]; `distance` [astronomical units].
    """

    azimuth: Values
    elevation: Values
    true_elevation: Values
    hour_angle: Values
    distance: Values


def sun_track(instants: ArrayLike, site: Site, delta_t: float | None = None) -> SunTrack:
    """The sun at instants (N,), counted in seconds of universal time since 1970-01-01. [s]

    `delta_t` ephemeris time less universal time [s], one for all; by default that of the first instant.
    """
    seconds = np.atleast_1d(np.asarray(instants, float))
    if delta_t is None:
        first = float(seconds[0]) if seconds.size else 0.0
        delta_t = delta_t_of(1970.0 + first / 31556952.0)
    day = seconds / 86400.0 + 2440587.5
    century = (day + delta_t / 86400.0 - _EPOCH) / 36525.0
    longitude, latitude, distance = _earth(century / 10.0)
    nutation, obliquity = _nutation(century)
    apparent = longitude + np.pi + nutation - np.radians(20.4898 / 3600.0) / distance
    right_ascension, declination = _equatorial(apparent, -latitude, obliquity)
    sidereal = _sidereal(day) + nutation * np.cos(obliquity)
    return _topocentric(sidereal + site.longitude - right_ascension, declination, distance, site)


def delta_t_of(year: float) -> float:
    """Ephemeris time less universal time in a decimal year, 1900 to 2150; the nearer end's beyond. [s]"""
    y = min(max(year, 1900.0), 2150.0)
    for until, origin, terms in _DELTA_T:
        if y < until:
            return float(np.polynomial.polynomial.polyval(y - origin, terms))
    return -20.0 + 32.0 * ((y - 1820.0) / 100.0) ** 2 - 0.5628 * (2150.0 - y)


_DELTA_T: tuple[tuple[float, float, tuple[float, ...]], ...] = (
    (1920.0, 1900.0, (-2.79, 1.494119, -0.0598939, 0.0061966, -0.000197)),
    (1941.0, 1920.0, (21.20, 0.84493, -0.076100, 0.0020936)),
    (1961.0, 1950.0, (29.07, 0.407, -1 / 233, 1 / 2547)),
    (1986.0, 1975.0, (45.45, 1.067, -1 / 260, -1 / 718)),
    (2005.0, 2000.0, (63.86, 0.3345, -0.060374, 0.0017275, 0.000651814, 0.00002373599)),
    (2050.0, 2000.0, (62.92, 0.32217, 0.005589)),
)
"""Until which year, counted from which, the polynomial's terms in years."""


@cache
def _tables() -> tuple[Values, Values]:
    folder = Path(__file__).parent / "tables"
    return read_table(folder / "earth_terms.csv"), read_table(folder / "nutation_terms.csv")


def _earth(millennium: Values) -> tuple[Values, Values, Values]:
    """The earth's heliocentric longitude and latitude [rad] and distance [au]."""
    series, power, a, b, c = _tables()[0].T
    terms = a[:, None] * np.cos(b[:, None] + c[:, None] * millennium) * millennium ** power[:, None]
    longitude, latitude, distance = (np.sum(terms[series == k], axis=0) / 1e8 for k in range(3))
    return longitude, latitude, distance


def _nutation(century: Values) -> tuple[Values, Values]:
    """Nutation in longitude, and the true obliquity of the ecliptic. [rad]"""
    table = _tables()[1]
    arguments = np.stack([_cubic(century, *terms) for terms in _FUNDAMENTAL])
    angle = np.radians(table[:, :5] @ arguments)
    a, b, c, d = (table[:, k : k + 1] for k in range(5, 9))
    in_longitude = np.sum((a + b * century) * np.sin(angle), axis=0) / 36e6
    in_obliquity = np.sum((c + d * century) * np.cos(angle), axis=0) / 36e6
    mean = np.polynomial.polynomial.polyval(century / 100.0, _OBLIQUITY) / 3600.0
    return np.radians(in_longitude), np.radians(mean + in_obliquity)


_FUNDAMENTAL = (
    (297.85036, 445267.111480, -0.0019142, 1 / 189474),
    (357.52772, 35999.050340, -0.0001603, -1 / 300000),
    (134.96298, 477198.867398, 0.0086972, 1 / 56250),
    (93.27191, 483202.017538, -0.0036825, 1 / 327270),
    (125.04452, -1934.136261, 0.0020708, 1 / 450000),
)
"""Mean elongation of the moon, anomalies of sun and moon, moon's argument and node: terms in centuries. [deg]"""
_OBLIQUITY = (84381.448, -4680.93, -1.55, 1999.25, -51.38, -249.67, -39.05, 7.12, 27.87, 5.79, 2.45)
"""Mean obliquity, terms in ten millennia. [arc seconds]"""


def _cubic(t: Values, a: float, b: float, c: float, d: float) -> Values:
    return a + t * (b + t * (c + t * d))


def _sidereal(day: Values) -> Values:
    """Mean sidereal time at Greenwich. [rad]"""
    t = (day - _EPOCH) / 36525.0
    turn = 280.46061837 + 360.98564736629 * (day - _EPOCH) + 0.000387933 * t**2 - t**3 / 38710000.0
    return np.asarray(np.radians(turn % 360.0))


def _equatorial(longitude: Values, latitude: Values, obliquity: Values) -> tuple[Values, Values]:
    """Right ascension and declination of ecliptic coordinates. [rad]"""
    sine, cosine = np.sin(obliquity), np.cos(obliquity)
    right_ascension = np.arctan2(np.sin(longitude) * cosine - np.tan(latitude) * sine, np.cos(longitude))
    declination = np.arcsin(np.sin(latitude) * cosine + np.cos(latitude) * sine * np.sin(longitude))
    return right_ascension, declination


def _topocentric(hour_angle: Values, declination: Values, distance: Values, site: Site) -> SunTrack:
    """From the earth's centre to the place: parallax, then the horizon, then refraction."""
    parallax = np.radians(8.794 / 3600.0) / distance
    reduced = np.arctan(0.99664719 * np.tan(site.latitude))
    x = np.cos(reduced) + site.elevation / 6378140.0 * np.cos(site.latitude)
    y = 0.99664719 * np.sin(reduced) + site.elevation / 6378140.0 * np.sin(site.latitude)
    beside = np.cos(declination) - x * np.sin(parallax) * np.cos(hour_angle)
    shift = np.arctan2(-x * np.sin(parallax) * np.sin(hour_angle), beside)
    lowered = np.arctan2((np.sin(declination) - y * np.sin(parallax)) * np.cos(shift), beside)
    local = hour_angle - shift
    sine, cosine = np.sin(site.latitude), np.cos(site.latitude)
    height = np.arcsin(sine * np.sin(lowered) + cosine * np.cos(lowered) * np.cos(local))
    azimuth = np.arctan2(np.sin(local), np.cos(local) * sine - np.tan(lowered) * cosine) + np.pi
    return SunTrack(
        azimuth=azimuth % (2 * np.pi),
        elevation=height + refraction(height, site),
        true_elevation=height,
        hour_angle=(local + np.pi) % (2 * np.pi) - np.pi,
        distance=distance,
    )


def refraction(true_elevation: Values, site: Site) -> Values:
    """How much the air lifts the sun, from when its upper limb touches the horizon; 0 below that. [rad]"""
    height = np.degrees(true_elevation)
    over = height >= -np.degrees(SOLAR_RADIUS + REFRACTION_AT_HORIZON)
    angle = np.radians(height + 10.3 / np.where(over, height + 5.11, 1.0))
    lift = site.pressure / 1010.0 * 283.0 / (273.0 + site.temperature) * 1.02 / 60.0 / np.tan(angle)
    return np.asarray(np.radians(np.where(over, lift, 0.0)))

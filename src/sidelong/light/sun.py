"""The sun over a place: where it stands, when it rises and sets, and the twilights.

Rise and set are those of the upper limb for a level horizon, true elevation -0.8333 degrees; twilights end and
begin at -6 (civil), -12 (nautical) and -18 degrees (astronomical).

Source
------
reda2008; usno2015 (the definitions of rise, set and twilights)
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.errors import InputFault
from sidelong.frames_of_reference import bearing_to_direction
from sidelong.light.ephemeris import Site, SunTrack, sun_track
from sidelong.light.search import crossings
from sidelong.place.values import Place, Vector

Values = NDArray[np.float64]

RISE_SET = math.radians(-0.8333)
CIVIL, NAUTICAL, ASTRONOMICAL = math.radians(-6.0), math.radians(-12.0), math.radians(-18.0)
"""True elevations of the sun's middle. [rad]"""
_GRID = 60.0


@dataclass(frozen=True)
class SunPosition:
    """The sun at one instant: `azimuth` a bearing, `elevation` apparent, `true_elevation` without air [rad];
    `distance` [astronomical units]; `to_sun` unit vector, place frame, to where it appears."""

    azimuth: float
    elevation: float
    true_elevation: float
    distance: float
    to_sun: Vector


@dataclass(frozen=True)
class SunTimes:
    """The sun's day at a place, aware times in its zone; None for what does not happen that day.

    `dawns` and `dusks` are (civil, nautical, astronomical): dawn begins with each, dusk ends with each.
    `always` tells of a day without rise or set: "up" or "down".
    """

    day: date
    rise: datetime | None
    set: datetime | None
    transit: datetime | None
    transit_elevation: float | None
    dawns: tuple[datetime | None, datetime | None, datetime | None]
    dusks: tuple[datetime | None, datetime | None, datetime | None]
    always: str | None


def site(place: Place) -> Site:
    """The place on the earth, its air at the standard atmosphere's pressure for its elevation, at 12 C."""
    return Site(place.latitude, place.longitude, place.elevation, pressure(place.elevation) / 100.0)


def pressure(elevation: float) -> float:
    """Pressure of the standard atmosphere at an elevation [m]. [Pa]"""
    return 101325.0 * math.pow(1.0 - 2.25577e-5 * min(elevation, 11000.0), 5.25588)


def zone(place: Place) -> ZoneInfo:
    """The place's time zone.

    Raises
    ------
    InputFault
        There is no zone of that name.
    """
    try:
        return ZoneInfo(place.timezone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as fault:
        raise InputFault(
            f'found the time zone "{place.timezone}"; a name from the time-zone list was expected, '
            f'such as "Europe/London"'
        ) from fault


def sun_position(when: datetime, place: Place) -> SunPosition:
    """Where the sun stands at an instant.

    Raises
    ------
    InputFault
        `when` does not say its offset from universal time.
    """
    track = track_over([_seconds(when)], place)
    azimuth, elevation = float(track.azimuth[0]), float(track.elevation[0])
    return SunPosition(
        azimuth=azimuth,
        elevation=elevation,
        true_elevation=float(track.true_elevation[0]),
        distance=float(track.distance[0]),
        to_sun=_direction(azimuth, elevation, place.north),
    )


def track_over(instants: ArrayLike, place: Place) -> SunTrack:
    """The sun at instants (N,) in seconds of universal time since 1970-01-01. [s]"""
    return sun_track(instants, site(place))


def sun_times(day: date, place: Place) -> SunTimes:
    """Rise, set, transit and twilights on a calendar day of the place's zone, to a hundredth of a second.

    When the sun sets twice in a day, as it can by the polar circles, the set that follows the rise is given.

    Raises
    ------
    InputFault
        The place's time zone is unknown.
    """
    return _times(day, site(place), zone(place))


def zone_span(day: date, local: ZoneInfo) -> tuple[float, float]:
    """First and last instant of a calendar day in a zone, in seconds of universal time since 1970. [s]"""
    start = datetime.combine(day, time(0), tzinfo=local)
    end = datetime.combine(day + timedelta(days=1), time(0), tzinfo=local)
    return start.timestamp(), end.timestamp()


@lru_cache(maxsize=64)
def _times(day: date, here: Site, local: ZoneInfo) -> SunTimes:
    start, end = zone_span(day, local)
    grid = np.linspace(start, end, max(2, round((end - start) / _GRID) + 1))
    track = sun_track(grid, here)

    def height(instants: Values) -> Values:
        return sun_track(instants, here).true_elevation

    def events(level: float) -> tuple[datetime | None, datetime | None]:
        found, rising = crossings(height, grid, track.true_elevation, level)
        return _up_then_down(found, rising, local)

    rise, down = events(RISE_SET)
    pairs = [events(level) for level in (CIVIL, NAUTICAL, ASTRONOMICAL)]
    transit = _transit(grid, track, here)
    always = None
    if rise is None and down is None:
        always = "up" if track.true_elevation[0] > RISE_SET else "down"
    return SunTimes(
        day=day,
        rise=rise,
        set=down,
        transit=None if transit is None else _aware(transit, local),
        transit_elevation=None if transit is None else float(height(np.array([transit]))[0]),
        dawns=(pairs[0][0], pairs[1][0], pairs[2][0]),
        dusks=(pairs[0][1], pairs[1][1], pairs[2][1]),
        always=always,
    )


def _transit(grid: Values, track: SunTrack, here: Site) -> float | None:
    """When the sun crosses the meridian on the equator's side or, in the tropics, overhead. [s]"""
    found, rising = crossings(lambda t: sun_track(t, here).hour_angle, grid, track.hour_angle, 0.0)
    upward = found[rising]
    return float(upward[0]) if upward.size else None


def _up_then_down(
    found: Values, rising: NDArray[np.bool_], local: ZoneInfo
) -> tuple[datetime | None, datetime | None]:
    ups, downs = found[rising], found[~rising]
    up = float(ups[0]) if ups.size else None
    later = downs if up is None else downs[downs > up]
    down = float(later[0]) if later.size else (float(downs[0]) if downs.size else None)
    return (None if up is None else _aware(up, local)), (None if down is None else _aware(down, local))


def _direction(azimuth: float, elevation: float, north: float) -> Vector:
    x, y, z = bearing_to_direction(azimuth, north, elevation)
    return float(x), float(y), float(z)


def _aware(seconds: float, local: ZoneInfo) -> datetime:
    return datetime.fromtimestamp(seconds, tz=UTC).astimezone(local)


def _seconds(when: datetime) -> float:
    if when.tzinfo is None:
        raise InputFault(f"found the time {when.isoformat()} without an offset; an aware time was expected")
    return when.timestamp()

"""A day of sun at the place: when it rises and sets, and when it reaches each opening and each person."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from sidelong.frames_of_reference import bearing_to_direction
from sidelong.light.daylight import daylight
from sidelong.light.sun import SunTimes, sun_position, sun_times, track_over, zone_span
from sidelong.light.sun import zone as zone_of
from sidelong.people.eyes import eyes
from sidelong.place.sunlight import reached, sun_through
from sidelong.place.values import Opening, Place, Room, Vector
from sidelong.shoot.values import Shoot

Interval = tuple[datetime, datetime]
Shines = Callable[[NDArray[np.float64]], NDArray[np.bool_]]
STEP = 240.0
"""Grid on which the day is searched before the ends are found to the second. [s]"""


@dataclass(frozen=True)
class Hour:
    """Sun and sky on the hour: bearing and apparent elevation [rad], illuminances [lx]."""

    when: datetime
    azimuth: float
    elevation: float
    direct_normal: float
    sky_horizontal: float


@dataclass(frozen=True)
class Timeline:
    """One day: the sun's times, the hours it is up, and the intervals in which it shines through each opening into
    its room and reaches each person's eyes. An interval's ends are good to a few seconds."""

    times: SunTimes
    hours: tuple[Hour, ...]
    openings: tuple[tuple[str, tuple[Interval, ...]], ...]
    people: tuple[tuple[str, tuple[Interval, ...]], ...]


def timeline(shoot: Shoot, day: date) -> Timeline:
    """The day of a date in the place's own time zone.

    Other buildings, trees and hills outside the shoot's blocks are not known. Raises InputFault when the place's
    time zone is unknown.
    """
    place = shoot.place
    instants = _daylight_instants(place, day)
    openings = [(room, opening) for room in place.rooms for opening in room.openings]
    lit_openings = tuple((o.name, _intervals(place, instants, _through(place, room, o))) for room, o in openings)
    lit_people = tuple((p.name, _intervals(place, instants, _reaching(place, eyes(p)))) for p in shoot.people)
    return Timeline(sun_times(day, place), _hours(place, day), lit_openings, lit_people)


def _through(place: Place, room: Room, opening: Opening) -> Shines:
    return lambda directions: np.asarray(sun_through(place, room, opening, directions) > 0.0)


def _reaching(place: Place, at: Vector) -> Shines:
    return lambda directions: reached(place, np.array([at]), directions)[0]


def _daylight_instants(place: Place, day: date) -> NDArray[np.float64]:
    """Instants of the day [s] at which the sun stands over the horizon, and one step beside them."""
    start, end = zone_span(day, zone_of(place))
    grid = np.arange(start, end + STEP, STEP)
    up = track_over(grid, place).elevation > 0
    return grid[up | np.roll(up, 1) | np.roll(up, -1)]


def _directions(place: Place, instants: NDArray[np.float64]) -> NDArray[np.float64]:
    track = track_over(instants, place)
    return bearing_to_direction(track.azimuth, place.north, track.elevation)


def _intervals(place: Place, instants: NDArray[np.float64], shines: Shines) -> tuple[Interval, ...]:
    """Where a test of directions (M, 3) -> (M,) bool holds, its edges halved down to under five seconds."""
    if not len(instants):
        return ()
    lit = np.asarray(shines(_directions(place, instants)), bool)
    edges = np.flatnonzero(lit[1:] != lit[:-1])
    dark = np.where(lit[edges], instants[edges + 1], instants[edges])
    light = np.where(lit[edges], instants[edges], instants[edges + 1])
    for _ in range(6) if len(edges) else ():
        middle = (dark + light) / 2
        shone = np.asarray(shines(_directions(place, middle)), bool)
        dark, light = np.where(shone, dark, middle), np.where(shone, middle, light)
    ends = list(light)
    if lit[0]:
        ends.insert(0, instants[0])
    if lit[-1]:
        ends.append(instants[-1])
    zone = zone_of(place)
    moments = [datetime.fromtimestamp(float(t), tz=zone).replace(microsecond=0) for t in ends]
    return tuple(zip(moments[::2], moments[1::2], strict=True))


def _hours(place: Place, day: date) -> tuple[Hour, ...]:
    zone = zone_of(place)
    found = []
    for hour in range(24):
        when = datetime(day.year, day.month, day.day, tzinfo=zone) + timedelta(hours=hour)
        light = daylight(when, place)
        sun = sun_position(when, place)
        if light is not None and sun.elevation > 0:
            found.append(Hour(when, sun.azimuth, sun.elevation, light.sun_normal, light.sky_horizontal))
    return tuple(found)

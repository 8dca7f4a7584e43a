"""The day's sun for the page: its path, whom and what it reaches, and where shot and sun no longer meet."""

from __future__ import annotations

import math
from datetime import date, datetime

import numpy as np

from sidelong.day.timeline import Interval, Timeline, timeline
from sidelong.desk.messages_shot import Day, DayOpening, DayPerson, DayShot, Patch, Sun, SunAt, Twilight
from sidelong.errors import InputFault
from sidelong.light.sun import sun_position, track_over, zone, zone_span
from sidelong.place.sunlight import sun_patches
from sidelong.shoot.values import Shoot, Shot

STEP = 300.0
"""Between points of the sun's path. [s]"""
FIRST_YEAR, LAST_YEAR = 1700, 2200


def day_of(shoot: Shoot, words: str) -> Day:
    """The sun over a day of the place, its date in ISO words.

    Raises
    ------
    InputFault
        The words are no date, or one outside 1700 to 2200.
    """
    try:
        day = date.fromisoformat(words)
    except ValueError:
        raise InputFault(f'found "{words:.20}"; expected a date such as 2026-03-14') from None
    _check_year(day.year)
    sun = timeline(shoot, day)
    times = sun.times
    names = ("civil", "nautical", "astronomical")
    return Day(
        date=day.isoformat(),
        rise=_iso(times.rise),
        set=_iso(times.set),
        transit=_iso(times.transit),
        always="up" if times.always == "up" else "down" if times.always else None,
        twilights=[
            Twilight.model_validate({"name": name, "dawn": _iso(dawn), "dusk": _iso(dusk)})
            for name, dawn, dusk in zip(names, times.dawns, times.dusks, strict=True)
        ],
        path=_path(shoot, day),
        openings=_openings(shoot, sun),
        people=[DayPerson(name=name, intervals=_spans(spans)) for name, spans in sun.people],
        shots=[_shot(shoot, shot, sun) for shot in shoot.shots if shot.when.date() == day],
    )


def sun_at(shoot: Shoot, words: str) -> Sun:
    """The sun at an instant in ISO words, on the place's clock where they name no offset.

    Raises
    ------
    InputFault
        The words are no instant, or one outside 1700 to 2200.
    """
    try:
        when = datetime.fromisoformat(words)
    except ValueError:
        raise InputFault(f'found "{words:.40}"; expected an instant such as 2026-03-14T09:30') from None
    _check_year(when.year)
    when = when if when.tzinfo is not None else when.replace(tzinfo=zone(shoot.place))
    position = sun_position(when, shoot.place)
    floors = {o.name: room.at[2] for room in shoot.place.rooms for o in room.openings}
    patches = sun_patches(shoot.place, position.to_sun) if position.elevation > 0 else ()
    return Sun(
        azimuth_deg=math.degrees(position.azimuth),
        elevation_deg=math.degrees(position.elevation),
        patches=[
            Patch(surface=name, polygon=[(float(x), float(y), floors.get(name, 0.0)) for x, y in polygon])
            for name, polygon in patches
        ],
    )


def _check_year(year: int) -> None:
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise InputFault(f"found the year {year}; expected one from {FIRST_YEAR} to {LAST_YEAR}")


def _iso(when: datetime | None) -> str | None:
    return None if when is None else when.isoformat(timespec="seconds")


def _spans(spans: tuple[Interval, ...]) -> list[tuple[str, str]]:
    return [(a.isoformat(timespec="seconds"), b.isoformat(timespec="seconds")) for a, b in spans]


def _path(shoot: Shoot, day: date) -> list[SunAt]:
    local = zone(shoot.place)
    start, end = zone_span(day, local)
    instants = np.arange(start, end + 1.0, STEP)
    track = track_over(instants, shoot.place)
    return [
        SunAt(
            when=datetime.fromtimestamp(float(t), tz=local).isoformat(timespec="seconds"),
            azimuth_deg=math.degrees(float(azimuth)),
            elevation_deg=math.degrees(float(elevation)),
        )
        for t, azimuth, elevation in zip(instants, track.azimuth, track.elevation, strict=True)
    ]


def _openings(shoot: Shoot, sun: Timeline) -> list[DayOpening]:
    rooms = [room.name for room in shoot.place.rooms for _ in room.openings]
    return [
        DayOpening(room=room, name=name, intervals=_spans(spans))
        for room, (name, spans) in zip(rooms, sun.openings, strict=True)
    ]


def _shot(shoot: Shoot, shot: Shot, sun: Timeline) -> DayShot:
    needs, warning = _needs_sun(shoot, shot), None
    if needs and not _meets(shot, sun):
        warning = _warning(shot, sun)
    return DayShot(id=shot.id, when=shot.when.isoformat(timespec="seconds"), needs_sun=needs, warning=warning)


def _needs_sun(shoot: Shoot, shot: Shot) -> bool:
    """Whether a shot counts on the sun: under a clear sky it wishes for ambient light, or has no other."""
    clear = shoot.place.sky.kind == "clear"
    lit = shot.ambient is not None or not shot.lights or any(w.light in ("sun", "ambient") for w in shot.wishes)
    return clear and lit


def _meets(shot: Shot, sun: Timeline) -> bool:
    """Whether the sun is up at the shot's time and, where there are openings, comes in or reaches its people."""
    rise, down = sun.times.rise, sun.times.set
    up = sun.times.always == "up" or (rise is not None and down is not None and rise <= shot.when <= down)
    if not up or not sun.openings:
        return up
    wanted = {name for name in (*shot.sharp, *shot.soft) if name}
    spans = [s for _, found in sun.openings for s in found]
    spans += [s for name, found in sun.people if name in wanted for s in found]
    return any(a <= shot.when <= b for a, b in spans)


def _warning(shot: Shot, sun: Timeline) -> str:
    spans = sorted(s for _, found in (*sun.openings, *sun.people) for s in found)
    if not spans:
        return "the sun reaches neither an opening nor anyone that day"
    near = min(spans, key=lambda s: min(abs(s[0] - shot.when), abs(s[1] - shot.when), key=lambda d: d))
    return f"no sun at {shot.when:%H:%M}; the nearest is from {near[0]:%H:%M} to {near[1]:%H:%M}"

"""`sidelong sun`: where the sun stands, how bright it is, and when it reaches what."""

from __future__ import annotations

import math
from datetime import datetime
from typing import Any

from sidelong.cli.answer import chosen_shots, json_answer, open_shoot, say, shoot_head, show, table
from sidelong.cli.options import AsJson, ShootPath, ShotId
from sidelong.day.timeline import Interval, Timeline, timeline
from sidelong.light.daylight import daylight
from sidelong.light.sun import SunTimes, sun_position
from sidelong.shoot.values import Shoot, Shot


def sun(shoot: ShootPath, /, *, shot: ShotId = None, json: AsJson = False) -> None:
    """When the sun comes in, where it stands at each shot, how bright sun and sky are."""
    opened = open_shoot(shoot)
    shots = chosen_shots(opened, shot)
    days = {s.when.date(): timeline(opened, s.when.date()) for s in shots}
    if json:
        answers = [_shot(opened, s, days[s.when.date()].times) for s in shots]
        json_answer("sun", shoot_head(opened), answers, {"day": [_day(d) for d in days.values()]})
        return
    rows = [_row(opened, s) for s in shots]
    columns = ("shot", "when", "bearing", "above horizon", "sun, lx", "sky, lx")
    show(table("Sun at the shots", columns, rows, right=(2, 3, 4, 5)))
    for day in days.values():
        _print_day(day)


def _shot(shoot: Shoot, shot: Shot, times: SunTimes) -> dict[str, Any]:
    position = sun_position(shot.when, shoot.place)
    light = daylight(shot.when, shoot.place)
    figures = {
        "azimuth_deg": math.degrees(position.azimuth),
        "elevation_deg": math.degrees(position.elevation),
        "direct_normal_lx": 0.0 if light is None else light.sun_normal,
        "sky_horizontal_lx": 0.0 if light is None else light.sky_horizontal,
        **_times(times),
    }
    return {"id": shot.id, "when": shot.when, "sun": figures}


def _times(times: SunTimes) -> dict[str, Any]:
    names = ("civil", "nautical", "astronomical")
    twilights = {
        name: {"dawn": dawn, "dusk": dusk} for name, dawn, dusk in zip(names, times.dawns, times.dusks, strict=True)
    }
    return {"rise": times.rise, "set": times.set, "transit": times.transit, "twilights": twilights}


def _day(day: Timeline) -> dict[str, Any]:
    def intervals(lit: tuple[tuple[str, tuple[Interval, ...]], ...]) -> list[dict[str, Any]]:
        return [{"name": name, "sun": [{"from": a, "to": b} for a, b in spans]} for name, spans in lit]

    return {
        "date": day.times.day,
        **_times(day.times),
        "hours": [
            {
                "when": h.when,
                "azimuth_deg": math.degrees(h.azimuth),
                "elevation_deg": math.degrees(h.elevation),
                "direct_normal_lx": h.direct_normal,
                "sky_horizontal_lx": h.sky_horizontal,
            }
            for h in day.hours
        ],
        "openings": intervals(day.openings),
        "people": intervals(day.people),
    }


def _row(shoot: Shoot, shot: Shot) -> tuple[str, ...]:
    figures = _shot(shoot, shot, _NO_TIMES)["sun"]
    return (
        shot.id,
        f"{shot.when:%d %b %H:%M}",
        f"{figures['azimuth_deg']:.0f}°",
        f"{figures['elevation_deg']:.1f}°",
        f"{figures['direct_normal_lx']:,.0f}",
        f"{figures['sky_horizontal_lx']:,.0f}",
    )


def _print_day(day: Timeline) -> None:
    times = day.times
    say(f"\n{times.day:%A %d %B %Y}")
    if times.always:
        say(f"  the sun stays {times.always} all day")
    civil = f"first light {_clock(times.dawns[0])}, last light {_clock(times.dusks[0])}"
    say(f"  sunrise {_clock(times.rise)}, highest {_clock(times.transit)}, sunset {_clock(times.set)}; {civil}")
    for title, lit in (("through the", day.openings), ("on", day.people)):
        for name, spans in lit:
            words = ", ".join(f"{a:%H:%M}-{b:%H:%M}" for a, b in spans) or "never"
            say(f"  sun {title} {name}: {words}")


def _clock(when: datetime | None) -> str:
    return "never" if when is None else f"{when:%H:%M}"


_NO_TIMES = SunTimes(datetime.min.date(), None, None, None, None, (None,) * 3, (None,) * 3, None)

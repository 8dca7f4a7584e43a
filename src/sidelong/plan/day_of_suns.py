"""A planned shot through the day: its hours, the daylight of each, and how each is exposed.

The picture is of the plan at every hour: camera, people and heads as they are, the light of the sky as it is then.
What readings on the day taught of sun and sky at the shot's own hour holds the day through, as weather does.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta

from sidelong.errors import InputFault
from sidelong.light.daylight import daylight
from sidelong.light.exposure import exposure_value, flash_loss_above_sync
from sidelong.light.sun import sun_position, sun_times, zone
from sidelong.light.values import Daylight
from sidelong.picture.day import Moment, Strip
from sidelong.picture.values import Exposure, Quality
from sidelong.place.values import Place
from sidelong.plan.metered import meter_cards
from sidelong.plan.settings import nearest_shutter
from sidelong.plan.values import ShotPlan
from sidelong.shoot.values import Shot
from sidelong.trace.quality import FIRST_SAMPLES
from sidelong.trace.values import View
from sidelong.units import ISO_MARKS, true_iso

FIRST = time(8)
"""When a day begins unless it is said."""
LAST = time(20)
"""When one ends that has no dusk."""
EVERY = timedelta(hours=1)
MOST = 24
"""Frames of a strip; each adds to what a light path holds."""
SHORTEST = timedelta(minutes=1)
NEAR = 1 / 6 + 1e-6
"""Half a third of a stop: as near as a mark comes. [stops]"""


@dataclass(frozen=True)
class HourOfShot:
    """A shot at an instant: `elevation` (apparent) and `azimuth` (a bearing) of the sun [rad], sun and sky (None:
    dark), `shutter` [s] and true `iso`, exposure value of stop and shutter, by how many `stops` the flashes of the
    plan are moved, by name; a `note` in words where what was wanted cannot be had."""

    when: datetime
    elevation: float
    azimuth: float
    daylight: Daylight | None
    shutter: float
    iso: float
    exposure_value: float
    stops: tuple[tuple[str, float], ...] = ()
    dialled: tuple[tuple[str, float], ...] = ()
    """Of that what is set at the head; the rest is what it loses above sync."""
    note: str = ""


def hours_of_shot(
    place: Place, shot: Shot, first: time | None = None, last: time | None = None, every: timedelta = EVERY
) -> tuple[datetime, ...]:
    """Aware instants of a shot's day from `first` (8:00) to `last` (the end of civil twilight, or 20:00 where there
    is none), both included, by the clock of the place; the shot's own time among them where it lies between.

    Raises
    ------
    InputFault
        None lies between, there are more than MOST, or `every` is under a minute.
    """
    local, day = zone(place), shot.when.date()
    start = datetime.combine(day, first or FIRST, tzinfo=local)
    dusk = sun_times(day, place).dusks[0]
    end = datetime.combine(day, last, tzinfo=local) if last is not None else dusk
    if end is None:
        end = datetime.combine(day, LAST, tzinfo=local)
    if end < start:
        told = "" if last is not None else ", when it gets dark"
        raise InputFault(
            f"--first, --last: found the day from {start:%H:%M} to {end:%H:%M}{told}; expected its end after its "
            "beginning; name an earlier --first, or a later --last"
        )
    if every < SHORTEST or (end - start) / every >= MOST:
        raise InputFault(
            f"--every: found {every / SHORTEST:g} minutes between frames from {start:%H:%M} to {end:%H:%M}; expected "
            f"1 to {MOST} frames"
        )
    regular = {start + k * every for k in range(int((end - start) / every) + 1)}
    return tuple(sorted(regular | ({shot.when} if start <= shot.when <= end else set())))


def shot_through_the_day(plan: ShotPlan, whens: Sequence[datetime], anew: bool = False) -> tuple[HourOfShot, ...]:
    """The hours of a planned shot: its own settings held, or each exposed `anew`.

    Anew, the first sharp one gets the ambient that the shot has at its own hour: by the shutter as far as the body
    and a flash's sync allow, then by the ISO, which the flashes follow within their range. The stop stays.

    Raises
    ------
    InputFault
        The place's sky is dark, or anew, nothing but flash lights the one to be exposed for.
    Missing
        Anew: this machine has nothing to compile light paths with.
    """
    place, own = plan.shoot.place, (plan.light.shutter, plan.light.iso)
    if place.sky.kind == "dark":
        raise InputFault('the place\'s sky is "dark": no hour changes this picture; expected a sky with daylight')
    hours = [_hour(plan, when, _as_learned(plan, daylight(when, place)), own) for when in whens]
    if not any(hour.daylight for hour in hours):
        raise InputFault("it is dark at every one of these hours; expected at least one with daylight")
    return tuple(_exposed_anew(plan, hours)) if anew else tuple(hours)


def strip_of(plan: ShotPlan, hours: Sequence[HourOfShot], view: View, quality: Quality, seed: int = 0) -> Strip:
    """What the pictures of a shot's hours are traced from."""
    moments = tuple(
        Moment(h.daylight, Exposure(h.shutter, h.iso * 2.0**-plan.light.nd, plan.shot.balance), dict(h.stops))
        for h in hours
    )
    return Strip(plan.stage, view, moments, quality, seed)


def _hour(plan: ShotPlan, when: datetime, day: Daylight | None, film: tuple[float, float]) -> HourOfShot:
    """The hour with a shutter and an ISO, nothing moved."""
    sun = sun_position(when, plan.shoot.place)
    value = float(exposure_value(plan.focus.setting.f_number, film[0]))
    return HourOfShot(when, sun.elevation, sun.azimuth, day, *film, value)


def _as_learned(plan: ShotPlan, day: Daylight | None) -> Daylight | None:
    """An hour's daylight by what readings taught of it at the shot's own hour."""
    planned, foretold = plan.stage.daylight, daylight(plan.shot.when, plan.shoot.place)
    if day is None or planned is None or foretold is None:
        return day

    def factor(now: float, before: float) -> float:
        return now / before if before > 0.0 else 1.0

    sun, sky = (
        factor(planned.sun_normal, foretold.sun_normal),
        factor(planned.sky_horizontal, foretold.sky_horizontal),
    )
    return replace(day, sun_normal=day.sun_normal * sun, sky_horizontal=day.sky_horizontal * sky)


def _exposed_anew(plan: ShotPlan, hours: Sequence[HourOfShot]) -> list[HourOfShot]:
    who = next(iter(plan.shot.sharp), plan.light.points[0].name if plan.light.points else None)
    wanted = _ambient(plan, who, plan.stage.daylight) if who is not None else 0.0
    if who is None or wanted <= 0.0:
        raise InputFault(
            "--anew: found nobody in steady light to expose for at the shot's own hour; expected someone sharp in "
            "daylight, or leave --anew out"
        )
    return [_anew(plan, hour, str(who), wanted) for hour in hours]


def _anew(plan: ShotPlan, hour: HourOfShot, who: str, wanted: float) -> HourOfShot:
    light = _ambient(plan, who, hour.daylight)
    exact = plan.light.shutter * wanted / light if light > 0.0 else math.inf
    shutter = nearest_shutter(plan.shot, exact, plan.light.shutter)
    iso = _nearest_iso(plan, plan.light.iso * exact / shutter) if abs(math.log2(exact / shutter)) > NEAR else None
    iso = plan.light.iso if iso is None else iso
    miss = math.log2(shutter * iso / (exact * plan.light.iso)) if math.isfinite(exact) else -math.inf
    notes = []
    if abs(miss) > NEAR:
        off = f"{abs(miss):.1f} stops {'over' if miss > 0 else 'under'}" if math.isfinite(miss) else "dark"
        notes.append(f"the ambient at {who} comes out {off}: shutter and ISO go no further")
    flashes = _flash_moved(plan, shutter, iso)
    for name, flash in flashes.items():
        if abs(flash.short) > NEAR:
            way = "under" if flash.short > 0 else "over"
            notes.append(f"{name} comes out {abs(flash.short):.1f} stops {way}: beyond its range")
    return replace(
        _hour(plan, hour.when, hour.daylight, (shutter, iso)),
        stops=tuple((name, flash.moved) for name, flash in flashes.items()),
        dialled=tuple((name, flash.dialled) for name, flash in flashes.items()),
        note="; ".join(notes),
    )


def _nearest_iso(plan: ShotPlan, exact: float) -> float:
    """The mark nearest to a true speed, inf for the highest, that the body has."""
    low, high = plan.shot.body.iso
    marks = [s for s in map(true_iso, ISO_MARKS) if low * 0.999 <= s <= high * 1.001] or [plan.light.iso]
    return min(marks, key=lambda s: abs(math.log2(s / exact)) if math.isfinite(exact) else -s)


@dataclass(frozen=True)
class _Flash:
    """By how much a flash's light is `moved`, what of that is `dialled`, by how much its range is `short`. [stops]"""

    moved: float
    dialled: float
    short: float


def _flash_moved(plan: ShotPlan, shutter: float, iso: float) -> dict[str, _Flash]:
    """What keeps each flash as bright in the picture at another shutter and ISO, by name."""
    sync, own = plan.shot.body.sync, plan.light
    gain = flash_loss_above_sync(own.shutter, sync) - flash_loss_above_sync(shutter, sync)
    found = {}
    for head, light in zip(own.heads, plan.shot.lights, strict=False):
        if head.steady or not math.isfinite(head.power_stops):
            continue
        wanted = math.log2(own.iso / iso) - gain
        dialled = min(max(wanted, -light.strobe.range_stops - head.power_stops), -head.power_stops)
        found[head.name] = _Flash(dialled + gain, dialled, wanted - dialled)
    return found


def _ambient(plan: ShotPlan, who: str, day: Daylight | None) -> float:
    """Steady light on a card at someone, turned to the camera, under some daylight. [lx]"""
    stage = replace(plan.stage, daylight=day)
    names = tuple(dict.fromkeys(e.name for e in stage.emitters)) + (("sun", "sky") if day is not None else ())
    flash = {e.name for e in stage.emitters if e.kind == "flash"}
    cards = meter_cards(plan.shoot, plan.shot, stage, FIRST_SAMPLES, [who])
    return float(cards[: len(plan.light.points), [k for k, name in enumerate(names) if name not in flash]].sum())

"""`sidelong picture --day`: a shot through the day, one frame an hour and all of them on a strip."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from importlib import resources
from pathlib import Path
from typing import Any

from sidelong.cli.answer import json_answer, say, shoot_head, talk
from sidelong.cli.bar import bar
from sidelong.errors import InputFault
from sidelong.picture.day import day_pictures
from sidelong.picture.develop import MIDDLE_GREY_TIMES_ISO
from sidelong.picture.files import write_png
from sidelong.picture.film_strip import Bytes, film_strip
from sidelong.picture.values import Quality
from sidelong.plan.day_of_suns import HourOfShot, hours_of_shot, shot_through_the_day, strip_of
from sidelong.plan.predict import plan_shot
from sidelong.plan.values import ShotPlan
from sidelong.sheet.captions import settings_of
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.quality import DRAFT, DRAFT_SAMPLES, READING_SAMPLES
from sidelong.trace.values import Progress, View
from sidelong.units import iso_mark, shutter_mark

PLANNING, EXPOSING = 0.05, 0.15
"""Up to which share of the time a shot is planned, and its hours are exposed. [-]"""


@dataclass(frozen=True)
class Span:
    """The part of the day that is asked for: from `first` to `last` by the clock (None: 8:00, dusk), `every` so many
    minutes; each frame exposed `anew` or with the shot's settings."""

    first: time | None
    last: time | None
    every: float
    anew: bool


@dataclass(frozen=True)
class Making:
    """How the strips are made: of what part of the day, into which `folder`, how well, from `seed`; `sized` gives a
    view its size."""

    span: Span
    folder: Path
    quality: Quality
    sized: Callable[[View], View]
    seed: int


@dataclass(frozen=True)
class Frame:
    """A finished frame: its hour, its pixels (H, W, 3) sRGB 8 bit, mean film exposure [lx s]."""

    hour: HourOfShot
    srgb: Bytes
    mean_exposure: float


def time_of(words: str | None, option: str) -> time | None:
    """A time of day such as 8:00 or 8; None for None.

    Raises
    ------
    InputFault
        The words are none.
    """
    if words is None:
        return None
    found = re.fullmatch(r"\s*([01]?\d|2[0-3])(?::([0-5]\d))?\s*", words)
    if not found:
        raise InputFault(f'{option}: found "{words:.40}"; expected a time of day such as 8:00')
    return time(int(found.group(1)), int(found.group(2) or 0))


def strips(opened: Shoot, shots: Sequence[Shot], making: Making, json: bool) -> None:
    """Make the strips of shots and say, or print as JSON, where they are."""
    hours = {shot.id: _whens(opened, shot, making.span) for shot in shots}
    answers = []
    for shot in shots:
        with bar(shot.id) as progress:
            plan, frames, notices = _made(opened, shot, hours[shot.id], making, progress)
            files = _write(plan, frames, making.folder)
        for words in dict.fromkeys(
            [*notices, *(f"{f.hour.when:%H:%M}: {f.hour.note}" for f in frames if f.hour.note)]
        ):
            talk(f"{shot.id}: {words}")
        answers.append(_answer(plan, frames, files, making.span.anew))
        if not json:
            for path in files:
                say(str(path))
    if json:
        json_answer("picture", shoot_head(opened), answers)


def _whens(opened: Shoot, shot: Shot, span: Span) -> tuple[datetime, ...]:
    try:
        every = timedelta(minutes=span.every)
    except (OverflowError, ValueError):
        every = timedelta(0)
    return hours_of_shot(opened.place, shot, span.first, span.last, every)


def _made(
    opened: Shoot, shot: Shot, whens: Sequence[datetime], making: Making, progress: Progress
) -> tuple[ShotPlan, list[Frame], list[str]]:
    progress(0.0)
    draft = making.quality.tracing.name == DRAFT.name
    plan = plan_shot(opened, shot, DRAFT_SAMPLES if draft else READING_SAMPLES)
    progress(PLANNING)
    hours = shot_through_the_day(plan, whens, making.span.anew)
    progress(EXPOSING)
    strip = strip_of(plan, hours, making.sized(plan.view), making.quality, making.seed)
    frames: list[Frame] = []
    notices: list[str] = []
    pictures = day_pictures(strip, lambda done: progress(EXPOSING + (1.0 - EXPOSING) * done))
    for hour, picture in zip(hours, pictures, strict=True):
        # what a picture is made of is let go, so that a strip in full size needs the memory of one
        frames.append(Frame(hour, picture.srgb, picture.mean_exposure))
        notices += [notice.text for notice in picture.notices]
    return plan, frames, notices


def _write(plan: ShotPlan, frames: list[Frame], folder: Path) -> list[Path]:
    """Write the frames and then the strip; its path first."""
    shot = plan.shot.id
    paths = [folder / f"{shot}-day.png"]
    for frame in frames:
        path = folder / f"{shot}-day-{frame.hour.when:%H%M}.png"
        write_png(
            path, frame.srgb, f"{plan.shoot.title}: {shot} at {frame.hour.when:%H:%M}", _settings(plan, frame.hour)
        )
        paths.append(path)
    with resources.as_file(resources.files("sidelong.sheet") / "fonts" / "SourceSans3-Regular.ttf") as font:
        sheet = film_strip([f.srgb for f in frames], [_words(plan, f.hour) for f in frames], font)
    whens = [f.hour.when for f in frames]
    span = {**settings_of(plan), "When": f"{whens[0]:%Y-%m-%d %H:%M} to {whens[-1]:%H:%M}, {len(whens)} frames"}
    span["Shutter"] = ", ".join(dict.fromkeys(shutter_mark(f.hour.shutter) for f in frames)) + " s"
    span["ISO"] = ", ".join(dict.fromkeys(str(iso_mark(f.hour.iso)) for f in frames))
    write_png(paths[0], sheet, f"{plan.shoot.title}: {shot} through the day", span)
    return paths


def _settings(plan: ShotPlan, hour: HourOfShot) -> dict[str, str]:
    """The plan's settings with what is the hour's own, flashes as they are moved."""
    moved = dict(hour.dialled)
    heads = tuple(
        replace(head, power_stops=head.power_stops + moved[head.name], energy=head.energy * 2.0 ** moved[head.name])
        if head.name in moved
        else head
        for head in plan.light.heads
    )
    lit = replace(plan, light=replace(plan.light, heads=heads, shutter=hour.shutter, iso=hour.iso))
    return {**settings_of(lit), "When": hour.when.isoformat(sep=" ", timespec="minutes")}


def _words(plan: ShotPlan, hour: HourOfShot) -> tuple[str, str]:
    """What stands beneath a frame: the time, and where the sun is with the shutter."""
    height, bearing = math.degrees(hour.elevation), math.degrees(hour.azimuth) % 360
    sun = f"sun {height:.0f}° high, bearing {bearing:.0f}°" if height > 0 else "sun down"
    own = ", the shot" if hour.when == plan.shot.when else ""
    speed = f", ISO {iso_mark(hour.iso)}" if hour.iso != plan.light.iso else ""
    return f"{hour.when:%H:%M}{own}", f"{sun}, {shutter_mark(hour.shutter)} s{speed}"


def _answer(plan: ShotPlan, frames: list[Frame], files: list[Path], anew: bool) -> dict[str, Any]:
    height, width = frames[0].srgb.shape[:2]
    return {
        "id": plan.shot.id,
        "files": {"strip": str(files[0])},
        "width_px": width,
        "height_px": height,
        "exposed": "anew" if anew else "held",
        "middle_grey_lxs": MIDDLE_GREY_TIMES_ISO / plan.light.speed,
        "frames": [_frame(plan, frame, path) for frame, path in zip(frames, files[1:], strict=True)],
        "settings": settings_of(plan),
    }


def _frame(plan: ShotPlan, frame: Frame, path: Path) -> dict[str, Any]:
    hour, day = frame.hour, frame.hour.daylight
    return {
        "when": hour.when,
        "of_the_shot": hour.when == plan.shot.when,
        "file": str(path),
        "elevation_deg": math.degrees(hour.elevation),
        "azimuth_deg": math.degrees(hour.azimuth) % 360,
        "direct_normal_lx": 0.0 if day is None else day.sun_normal,
        "sky_horizontal_lx": 0.0 if day is None else day.sky_horizontal,
        "shutter_s": hour.shutter,
        "iso": hour.iso,
        "flash_moved_stops": dict(hour.stops),
        "exposure_value": hour.exposure_value,
        "mean_exposure_lxs": frame.mean_exposure,
        "note": hour.note,
    }

"""`sidelong picture --day`: a shot through the day, one frame an hour and all of them on a strip."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any

from sidelong.cli.answer import json_answer, say, shoot_head, talk
from sidelong.cli.bar import bar
from sidelong.errors import InputFault
from sidelong.picture.develop import MIDDLE_GREY_TIMES_ISO
from sidelong.picture.files import write_png
from sidelong.picture.values import Quality
from sidelong.plan.day_of_suns import hours_of_shot, shot_through_the_day, strip_of
from sidelong.plan.predict import plan_shot
from sidelong.plan.values import ShotPlan
from sidelong.sheet.captions import settings_of
from sidelong.sheet.day_strip import Frame, frame_settings, frames_of, strip_settings, strip_sheet
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.quality import DRAFT, DRAFT_SAMPLES, READING_SAMPLES
from sidelong.trace.values import Progress, View

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
        for words in notices:
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
    frames, notices = frames_of(hours, strip, lambda done: progress(EXPOSING + (1.0 - EXPOSING) * done))
    return plan, frames, notices


def _write(plan: ShotPlan, frames: list[Frame], folder: Path) -> list[Path]:
    """Write the frames and then the strip; its path first."""
    shot = plan.shot.id
    paths = [folder / f"{shot}-day.png"]
    for frame in frames:
        path = folder / f"{shot}-day-{frame.hour.when:%H%M}.png"
        title = f"{plan.shoot.title}: {shot} at {frame.hour.when:%H:%M}"
        write_png(path, frame.srgb, title, frame_settings(plan, frame.hour))
        paths.append(path)
    title = f"{plan.shoot.title}: {shot} through the day"
    write_png(paths[0], strip_sheet(plan, frames), title, strip_settings(plan, frames))
    return paths


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

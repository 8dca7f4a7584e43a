"""A shot through the day as one sheet: its frames, the words beneath each, and the settings that hold for all."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from importlib import resources

from sidelong.picture.day import Strip, day_pictures
from sidelong.picture.film_strip import Bytes, film_strip
from sidelong.plan.day_of_suns import HourOfShot
from sidelong.plan.values import ShotPlan
from sidelong.sheet.captions import settings_of
from sidelong.trace.values import Progress
from sidelong.units import iso_mark, shutter_mark


@dataclass(frozen=True)
class Frame:
    """A finished frame: its hour, its pixels (H, W, 3) sRGB 8 bit, mean film exposure [lx s]."""

    hour: HourOfShot
    srgb: Bytes
    mean_exposure: float


def frames_of(hours: Sequence[HourOfShot], strip: Strip, progress: Progress) -> tuple[list[Frame], list[str]]:
    """The frames of a strip's hours, in order, and what is to be told of how they were made.

    Raises
    ------
    ValueError, Missing
        As `day_pictures`.
    """
    frames: list[Frame] = []
    notices: list[str] = []
    for hour, picture in zip(hours, day_pictures(strip, progress), strict=True):
        # what a picture is made of is let go, so that a strip in full size needs the memory of one
        frames.append(Frame(hour, picture.srgb, picture.mean_exposure))
        notices += [notice.text for notice in picture.notices]
    return frames, [
        *dict.fromkeys([*notices, *(f"{f.hour.when:%H:%M}: {f.hour.note}" for f in frames if f.hour.note)])
    ]


def strip_sheet(plan: ShotPlan, frames: Sequence[Frame]) -> Bytes:
    """The frames in rows (H, W, 3), sRGB 8 bit, beneath each its time, where the sun is, and its exposure."""
    with resources.as_file(resources.files("sidelong.sheet") / "fonts" / "SourceSans3-Regular.ttf") as font:
        return film_strip([f.srgb for f in frames], [_words(plan, f.hour) for f in frames], font)


def strip_settings(plan: ShotPlan, frames: Sequence[Frame]) -> dict[str, str]:
    """The settings of all frames in words: the plan's, with the span of the day and every shutter and ISO used."""
    whens = [f.hour.when for f in frames]
    return {
        **settings_of(plan),
        "When": f"{whens[0]:%Y-%m-%d %H:%M} to {whens[-1]:%H:%M}, {len(whens)} frames",
        "Shutter": ", ".join(dict.fromkeys(shutter_mark(f.hour.shutter) for f in frames)) + " s",
        "ISO": ", ".join(dict.fromkeys(str(iso_mark(f.hour.iso)) for f in frames)),
    }


def frame_settings(plan: ShotPlan, hour: HourOfShot) -> dict[str, str]:
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

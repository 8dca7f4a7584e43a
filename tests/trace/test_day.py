"""A day of suns from one pass: each hour's layers are those of a picture of that hour alone."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from sidelong.frames_of_reference import camera_frame
from sidelong.lens.values import Film, Lens, Movement, Setting
from sidelong.light.daylight import daylight
from sidelong.light.values import Daylight, Emitter
from sidelong.people.values import Person
from sidelong.place.values import Air, Block, Opening, Place, Room, Sky
from sidelong.spectra.grids import flat
from sidelong.trace.render import render
from sidelong.trace.render_day import render_day
from sidelong.trace.values import Stage, View

MORNING = datetime(2026, 6, 1, 7, 30, tzinfo=ZoneInfo("Europe/Berlin"))
PLACE = Place(latitude=math.radians(50.0), longitude=math.radians(10.0), timezone="Europe/Berlin")
WINDOWS = (
    Opening("east", "right", 1.0, 0.8, 1.2, 1.2, glass=0.85),
    Opening("south", "near", 1.5, 0.9, 1.0, 1.2, kind="window"),
)
ROOM = Room("room", (0.0, 0.0, 0.0), (4.0, 4.0, 2.6), {"all": "lime wash", "floor": "timber"}, WINDOWS)
INDOORS = replace(PLACE, rooms=(ROOM,), air=Air())
OUTDOORS = replace(PLACE, blocks=(Block("wall", "box", (1.5, 3.5, 0.0), (2.0, 0.3, 2.0)),), air=Air(0.01))


def _days(place: Place) -> list[Daylight]:
    """Half past seven, half past eleven and half past five: the sun from the east, the south and the west."""
    found = [daylight(MORNING + timedelta(hours=h), place) for h in (0, 4, 10)]
    return [day for day in found if day is not None]


def _stage(place: Place) -> Stage:
    lamp = Emitter("lamp", "steady", "sphere", 800.0, flat(1.0), (0.5, 3.5, 2.0), (0, 0, -1), (0, 1, 0))
    return Stage(place, (Person("Ada", (2.0, 2.5, 0.0), -math.pi / 2),), (lamp,), None)


def _view(width: int = 24, height: int = 16) -> View:
    setting = Setting(Lens("a", 0.024, 2.8), Movement(), 0.0, 5.6)
    return View(camera_frame((3.4, 0.5, 1.5), (1.2, 3.2, 0.8)), Film(0.036, 0.024), setting, width, height)


def _parts(xyz: np.ndarray) -> np.ndarray:
    """Means of Y (17, L) over 4 x 4 parts of the picture and over the whole, each layer by itself."""
    height, width, lights, _ = xyz.shape
    parts = xyz[..., 1].reshape(4, height // 4, 4, width // 4, lights).mean((1, 3), dtype=float).reshape(16, lights)
    return np.concatenate([parts, parts.mean(0, keepdims=True)])


@pytest.mark.parametrize("place", [INDOORS, OUTDOORS], ids=["indoors", "outdoors"])
def test_each_hour_is_the_picture_of_that_hour(place):
    """Lamp, sun and sky at three hours, part by part, within 5.5 sigmas, sigmas from eight seeds on either side.

    153 means; false alarm with t of 14 degrees of freedom at most 1 in 80 for a place; the seeds are fixed.
    """
    stage, view, days = _stage(place), _view(), _days(place)
    strips = [render_day(stage, days, view, 32, seed, None, 4) for seed in range(8)]
    for hour, day in enumerate(days):
        lit = replace(stage, daylight=day)
        alone = np.stack([_parts(render(lit, view, 32, 100 + seed, None, 4).xyz) for seed in range(8)])
        strip = np.stack([_parts(layers.at(hour).xyz) for layers in strips])
        spread = np.sqrt((alone.var(0, ddof=1) + strip.var(0, ddof=1)) / 8)
        assert np.all(np.abs(alone.mean(0) - strip.mean(0)) < 5.5 * spread + 1e-9)
        assert strips[0].at(hour).names == ("lamp", "sun", "sky")
        # sun and sky are in the picture at every hour, and the whole of them is known to a few per cent
        assert np.all(spread[16, 1:] < 0.06 * strip[:, 16, 1:].mean(0))


def test_the_same_seed_gives_the_same_day_and_an_overcast_hour_has_no_sun():
    """And noise is no more than an hour's own: skies share their rays, so that two alike hours come out alike."""
    dull = daylight(MORNING, replace(INDOORS, sky=Sky("overcast")))
    assert dull is not None
    bright = _days(INDOORS)[1]
    stage, view = _stage(INDOORS), _view(12, 8)
    one, two = (render_day(stage, (bright, dull, bright), view, 4, 3, None, 4) for _ in range(2))
    assert np.array_equal(one.sun, two.sun)
    assert np.array_equal(one.sky, two.sky)
    assert np.array_equal(one.lamps.xyz, two.lamps.xyz)
    assert one.sun[:, :, 0].any()
    assert not one.sun[:, :, 1].any()
    assert np.array_equal(one.sky[:, :, 0], one.sky[:, :, 2])
    assert one.hours == 3
    assert one.lamps.names == ("lamp",)
    assert one.lamps.depth.shape == (8, 12)

"""Pictures of a day: made from layers by arithmetic; the strip they are laid out on; a shot's hours and exposures."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import time, timedelta
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from sidelong.cli import day_strip as command
from sidelong.cli import main
from sidelong.errors import InputFault
from sidelong.light.daylight import daylight
from sidelong.light.values import Daylight, Strobe
from sidelong.picture.day import DAYLIGHT, Moment, Strip, day_pictures
from sidelong.picture.develop import film_exposure, weights
from sidelong.picture.film_strip import film_strip
from sidelong.picture.make import make_picture
from sidelong.picture.values import DRAFT, FULL, Exposure, Picture, Quality
from sidelong.place.values import Place, Sky
from sidelong.plan import day_of_suns
from sidelong.plan.day_of_suns import HourOfShot, hours_of_shot, shot_through_the_day, strip_of
from sidelong.plan.predict import plan_shot, plan_without_light
from sidelong.plan.values import HeadSetting, ShotPlan
from sidelong.sheet import day_strip
from sidelong.shoot.check import load
from sidelong.shoot.starter import start
from sidelong.shoot.values import Shoot, Shot, ShotLight
from sidelong.trace.values import DayLayers, Layers, Progress, Stage, View
from sidelong.units import SHUTTER_MARKS, true_shutter

EXPOSURE = Exposure(1 / 128, 160.0, 5500.0)
EMPTY = Stage(Place(), (), (), None)
Maker = Callable[..., Layers]
DayMaker = Callable[..., DayLayers]


@pytest.fixture(scope="module")
def shoot(tmp_path_factory: pytest.TempPathFactory) -> Shoot:
    folder = tmp_path_factory.mktemp("day") / "shoot"
    start(folder)
    return load(folder)


@pytest.fixture
def traced(make_layers: Maker) -> DayMaker:
    """A tracer of days by arithmetic: of each hour the sun grows, the sky stays."""

    def trace(
        stage: Stage,
        days: Sequence[Daylight],
        view: View,
        samples: int,
        seed: int,
        progress: Progress,
        max_depth: int,
    ) -> DayLayers:
        progress(1.0)
        whole = make_layers(view.height, view.width, noise=0.4, seed=seed)
        lamps = replace(whole, names=("key",), flash=(True,), xyz=whole.xyz[:, :, :1])
        grow = np.arange(1, len(days) + 1, dtype=np.float32)[:, None]
        shape = np.ones((1, 1, len(days), 1), np.float32)
        return DayLayers(lamps, whole.xyz[:, :, 1:2] * grow, whole.xyz[:, :, 2:] * shape)

    return trace


def _moments(shoot: Shoot) -> tuple[Moment, ...]:
    """Morning, night, noon."""
    shot = shoot.shots[0]
    day = daylight(shot.when.replace(hour=10), shoot.place)
    return tuple(Moment(light, EXPOSURE) for light in (day, None, day))


@pytest.mark.parametrize("quality", [FULL, DRAFT, Quality(DRAFT.tracing, None)], ids=["full", "draft", "noisy"])
def test_every_hour_is_weighed_and_developed_as_a_picture_of_its_own(
    shoot: Shoot, view: View, traced: DayMaker, quality: Quality
) -> None:
    """Against `make_picture` on the same layers: the light in the picture is the same to the filter's mean."""
    heard: list[float] = []
    strip = Strip(EMPTY, view, _moments(shoot), quality, 3)
    morning, night, noon = day_pictures(strip, heard.append, traced)
    for number, picture in enumerate((morning, noon)):

        def alone(
            stage: Stage, view: View, samples: int, seed: int, progress: Progress, depth: int, k: int = number
        ) -> Layers:
            return traced(stage, (None, None), view, samples, seed, progress, depth).at(k)

        wanted = make_picture(EMPTY, view, EXPOSURE, quality, seed=3, trace=alone)
        assert picture.layers.names == ("key", DAYLIGHT)
        assert picture.mean_exposure == pytest.approx(wanted.mean_exposure, rel=2e-4)
        if quality.noise is None:
            np.testing.assert_allclose(picture.exposure_xyz, wanted.exposure_xyz, rtol=1e-5)
        else:
            # the filter sees sun and sky of an hour together: the same picture but for what is left of the noise
            step = np.abs(picture.srgb.astype(float) - wanted.srgb)
            assert step.mean() < 4.0
        np.testing.assert_array_equal(picture.exposure_xyz.shape, (60, 90, 3))
    assert night.layers.names == ("key",)
    assert night.mean_exposure < morning.mean_exposure < noon.mean_exposure
    assert heard == sorted(heard)
    assert heard[-1] == 1.0


def test_lights_are_moved_and_exposures_are_each_hours_own(shoot: Shoot, view: View, traced: DayMaker) -> None:
    first, _, last = _moments(shoot)
    slower = replace(first, exposure=replace(EXPOSURE, shutter=1 / 32), stops={"key": -1.0})
    strip = Strip(EMPTY, view, (first, slower), Quality(DRAFT.tracing, None))
    one, two = day_pictures(strip, trace=traced)
    assert two.counts == pytest.approx([0.5, 1 / 32])
    np.testing.assert_array_equal(one.exposure_xyz, film_exposure(one.layers, weights(one.layers, 1 / 128)))
    assert last.daylight is not None


def test_a_dark_day_is_refused_and_an_interruption_goes_through(shoot: Shoot, view: View, traced: DayMaker) -> None:
    with pytest.raises(ValueError, match="not dark"):
        next(day_pictures(Strip(EMPTY, view, (Moment(None, EXPOSURE),), DRAFT), trace=traced))

    def stop(done: float) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        next(day_pictures(Strip(EMPTY, view, _moments(shoot), DRAFT), stop, traced))


@pytest.mark.parametrize(("count", "across"), [(1, 1), (6, 6), (11, 6), (12, 6), (13, 5), (8, 4), (20, 5)])
def test_frames_lie_in_rows_with_words_beneath(count: int, across: int) -> None:
    frames = [np.full((200, 300, 3), 20 + 10 * k, np.uint8) for k in range(count)]
    sheet = film_strip(frames, [("08:00", "sun 12° high")] * count)
    gap = round(0.035 * 300)
    assert sheet.shape[1] == across * (300 + gap) + gap
    rows = -(-count // across)
    tall = (sheet.shape[0] - gap) // rows
    for k in range(count):
        y, x = gap + k // across * tall, gap + k % across * (300 + gap)
        assert np.all(sheet[y : y + 200, x : x + 300] == 20 + 10 * k)
        assert sheet[y + 200 : y + tall - gap, x : x + 300].max() > 200


def _shot(shoot: Shoot, hour: int = 9, minute: int = 0) -> Shot:
    shot = shoot.shots[0]
    return replace(shot, when=shot.when.replace(hour=hour, minute=minute))


def test_hours_run_from_eight_to_dusk_and_hold_the_shots_own(shoot: Shoot) -> None:
    whens = hours_of_shot(shoot.place, _shot(shoot, 9, 20))
    assert [w.strftime("%H:%M") for w in whens[:4]] == ["08:00", "09:00", "09:20", "10:00"]
    assert whens == tuple(sorted(whens))
    after = whens[-1] + timedelta(hours=1)
    last, next_one = (daylight(when, shoot.place) for when in (whens[-1], after))
    assert last is not None
    assert math.degrees(last.elevation) > -6.0
    assert next_one is None or math.degrees(next_one.elevation) < -5.0
    few = hours_of_shot(shoot.place, _shot(shoot, 7), time(10), time(12), timedelta(minutes=30))
    assert [w.strftime("%H:%M") for w in few] == ["10:00", "10:30", "11:00", "11:30", "12:00"]


@pytest.mark.parametrize(
    ("span", "said"),
    [
        ((time(12), time(9), timedelta(hours=1)), "expected its end after its beginning"),
        ((time(8), time(20), timedelta(minutes=5)), "expected 1 to 24 frames"),
        ((time(8), time(20), timedelta(0)), "--every"),
    ],
)
def test_spans_that_cannot_be_are_said(shoot: Shoot, span: tuple[time, time, timedelta], said: str) -> None:
    with pytest.raises(InputFault, match=said):
        hours_of_shot(shoot.place, _shot(shoot), *span)


def test_held_exposures_and_what_was_learned_of_the_weather(shoot: Shoot) -> None:
    """Twice the sun and half the sky at the shot's hour hold the day through; the settings stay."""
    shot = _shot(shoot, 10)
    plan = plan_without_light(shoot, shot)
    day = plan.light.daylight
    assert day is not None
    learned = replace(day, sun_normal=2 * day.sun_normal, sky_horizontal=0.5 * day.sky_horizontal)
    plan = replace(plan, stage=replace(plan.stage, daylight=learned))
    whens = [shot.when + timedelta(hours=h) for h in (0, 3)]
    hours = shot_through_the_day(plan, whens)
    for hour, when in zip(hours, whens, strict=True):
        plain = daylight(when, shoot.place)
        assert plain is not None
        assert hour.daylight is not None
        assert hour.daylight.sun_normal == pytest.approx(2 * plain.sun_normal)
        assert hour.daylight.sky_horizontal == pytest.approx(0.5 * plain.sky_horizontal)
        assert hour.shutter == plan.light.shutter
        expected = 2 * math.log2(plan.focus.setting.f_number) - math.log2(hour.shutter)
        assert hour.exposure_value == pytest.approx(expected)
    strip = strip_of(plan, hours, plan.view, DRAFT, 5)
    assert [m.exposure.shutter for m in strip.moments] == [plan.light.shutter] * 2
    assert strip.seed == 5
    dark = replace(plan, shoot=replace(shoot, place=replace(shoot.place, sky=Sky("dark"))))
    with pytest.raises(InputFault, match="no hour changes"):
        shot_through_the_day(dark, whens)


@pytest.mark.parametrize(
    ("light", "shutter", "iso", "dialled", "note"),
    [
        (1000.0, 4.0, 1.0, 0.0, ""),
        (500.0, 8.0, 1.0, 0.0, ""),
        (16000.0, 1.0, 0.25, 2.0, ""),
        (64000.0, 1.0, 0.0625, 2.0, "key comes out 2.0 stops under"),
        (2048000.0, 1.0, 0.0625, 2.0, "the ambient at Ann comes out 5.0 stops over"),
        (0.0, None, 4.0, -2.0, "the ambient at Ann comes out dark"),
    ],
)
def test_anew_shutter_then_iso_follow_the_ambient_and_flashes_the_iso(
    shoot: Shoot,
    monkeypatch: pytest.MonkeyPatch,
    light: float,
    shutter: float | None,
    iso: float,
    dialled: float,
    note: str,
) -> None:
    """Own hour: 1000 lx, four times sync, ISO 1600 of 100 to 6400, key two stops under full and six above its least.

    Over sync by 2 stops there is no shutter left: ISO and flash change by what is missing, each as far as it goes.
    """
    shot = _shot(shoot, 12)
    body = replace(shot.body, iso=(100.0, 6400.0))
    sitter = replace(shot, body=body, sharp=("Ann",), lights=(_light(),))
    plan = plan_without_light(shoot, shot)
    heads = (HeadSetting("key", 0.25, -2.0, 100.0, "", 0.0),)
    own = replace(plan.light, shutter=body.sync * 4, iso=1600.0, heads=heads)
    plan = replace(plan, shot=sitter, light=own)
    later = shot.when.replace(hour=14)

    def ambient(plan: ShotPlan, who: str, day: Daylight | None) -> float:
        assert who == "Ann"
        return light if day == daylight(later, shoot.place) else 1000.0

    monkeypatch.setattr(day_of_suns, "_ambient", ambient)
    (hour,) = shot_through_the_day(plan, [later], anew=True)
    longest = max(t for t in map(true_shutter, SHUTTER_MARKS) if t <= body.shutter[1] * 1.001)
    assert hour.shutter == pytest.approx(longest if shutter is None else body.sync * shutter)
    assert hour.iso == pytest.approx(1600.0 * iso)
    assert dict(hour.dialled) == pytest.approx({"key": dialled})
    assert dict(hour.stops) == pytest.approx({"key": dialled})
    assert note in hour.note
    assert bool(note) == bool(hour.note)
    (moment,) = strip_of(plan, (hour,), plan.view, DRAFT).moments
    assert moment.exposure.iso == pytest.approx(hour.iso)
    assert dict(moment.stops) == dict(hour.stops)


def _light() -> ShotLight:
    return ShotLight(Strobe("key", 400.0, range_stops=8.0), (0.0, 0.0, 2.0), (1.0, 1.0, 1.0))


@pytest.mark.slow
def test_anew_is_what_planning_that_hour_would_set(shoot: Shoot) -> None:
    """Metered: the shutter of another hour, against the plan of a shot at that hour that leaves its shutter open.

    The first follows the shot's ambient, up to a sixth of a stop from what was wished, the second the wish: they are
    a mark apart at most, which the readings' errors of a few per cent do not change."""
    shot = replace(_shot(shoot, 12), shutter=None, ambient=-1.0)
    plan = plan_shot(shoot, shot, 512)
    later = shot.when.replace(hour=17)
    own, other = shot_through_the_day(plan, (shot.when, later), anew=True)
    assert own.shutter == pytest.approx(plan.light.shutter)
    planned = plan_shot(shoot, replace(shot, when=later), 512).light.shutter
    assert abs(math.log2(other.shutter / planned)) < 0.34
    assert other.shutter != own.shutter


def _quick(plan: ShotPlan, traced: DayMaker, monkeypatch: pytest.MonkeyPatch) -> None:
    def pictures(strip: Strip, progress: Progress) -> Sequence[Picture]:
        return list(day_pictures(strip, progress, traced))

    monkeypatch.setattr(command, "plan_shot", lambda shoot, shot, most_paths: plan)
    monkeypatch.setattr(day_strip, "day_pictures", pictures)


def test_the_command_writes_frames_and_strip(
    shoot: Shoot,
    traced: DayMaker,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    shot = shoot.shots[0]
    _quick(plan_without_light(shoot, shot), traced, monkeypatch)
    words = ["picture", str(shoot.folder), "--day", "--draft", "--size", "90", "--out", str(tmp_path / "out")]
    assert main([*words, "--first", "9:00", "--last", "11:00", "--every", "60", "--json"]) == 0
    (answer,) = json.loads(capsys.readouterr().out)["shots"]
    assert answer["exposed"] == "held"
    assert len(answer["frames"]) in (3, 4)
    for frame in answer["frames"]:
        with Image.open(frame["file"]) as made:
            assert made.size == (90, 60)
            assert made.text["Disclaimer"] == "predicted, not a photograph"
            assert made.text["When"] == frame["when"].replace("T", " ")[:16] + made.text["When"][16:]
        assert -90 < frame["elevation_deg"] < 90
        assert 0 <= frame["azimuth_deg"] < 360
        assert frame["exposure_value"] > 0
    with Image.open(answer["files"]["strip"]) as strip:
        assert strip.size[0] > 3 * 90
        assert "predicted, not a photograph" in strip.text["XML:com.adobe.xmp"]
        assert f"{len(answer['frames'])} frames" in strip.text["When"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--first", "8:00"], "--first: found without --day"),
        (["--anew"], "--anew: found without --day"),
        (["--day", "--exr"], "--exr: found with --day"),
        (["--day", "--overlay", "rings"], "--overlay: found with --day"),
        (["--day", "--first", "soon"], 'found "soon"; expected a time of day such as 8:00'),
        (["--day", "--last", "25:00"], "expected a time of day"),
        (["--day", "--every", "1"], "expected 1 to 24 frames"),
    ],
)
def test_what_cannot_be_is_said_and_nothing_written(
    shoot: Shoot, words: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["picture", str(shoot.folder), "--draft", "--out", str(tmp_path / "out"), *words]) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_an_interrupted_strip_leaves_nothing(
    shoot: Shoot, traced: DayMaker, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _quick(plan_without_light(shoot, shoot.shots[0]), traced, monkeypatch)

    def stop(*arguments: object) -> tuple[HourOfShot, ...]:
        raise KeyboardInterrupt

    monkeypatch.setattr(command, "strip_of", stop)
    assert main(["picture", str(shoot.folder), "--day", "--draft", "--out", str(tmp_path / "out")]) == 130
    assert not (tmp_path / "out").exists()

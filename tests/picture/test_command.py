"""`sidelong picture`: what it writes and says, what it refuses, and what an interruption leaves."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import OpenEXR
import pytest
from PIL import Image

from sidelong.cli import main
from sidelong.cli import picture as command
from sidelong.lens.values import Movement
from sidelong.picture.make import make_picture
from sidelong.picture.values import Picture
from sidelong.place.values import Place
from sidelong.plan.focus import plan_focus
from sidelong.plan.values import FocusPlan, HeadSetting, LightPlan, PointLight, ShotPlan
from sidelong.sheet.captions import overlay_points, settings_of
from sidelong.shoot.check import load
from sidelong.shoot.starter import start
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.values import Layers, Stage, View

Maker = Callable[..., Layers]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    start(tmp_path / "shoot")
    return tmp_path / "shoot"


_FOCUS: dict[str, FocusPlan] = {}


def planned(shoot: Shoot, shot: Shot) -> ShotPlan:
    """The shot with its true focus, with a movement given, and light that is only said, since metering takes long."""
    if shot.id not in _FOCUS:
        moved = replace(shot, movement=Movement(swing=0.06), f_number=2**1.5)
        _FOCUS[shot.id] = plan_focus(shoot, moved)
    focus = _FOCUS[shot.id]
    heads = (HeadSetting("key", 0.25, -2.0, 100.0, "", 0.0),)
    points = tuple(PointLight(p.name, (), 0.5, -1.0, 0.1) for p in focus.points)
    light = LightPlan(1 / 128, 100 * 2 ** (2 / 3), None, heads, points, ())
    view = View(focus.frame, shot.body.film, focus.setting, 1500, 1000)
    return ShotPlan(shoot, shot, focus, light, (), Stage(Place(), (), (), None), view)


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch, make_layers: Maker) -> None:
    """Pictures of layers made by arithmetic in place of traced ones."""

    def trace(stage: object, view: View, samples: int, seed: int, progress: object, max_depth: int) -> Layers:
        return make_layers(view.height, view.width)

    def make(*arguments: object) -> Picture:
        return make_picture(*arguments, trace=trace)  # type: ignore[arg-type]

    monkeypatch.setattr(command, "plan_shot", lambda shoot, shot, most_paths: planned(shoot, shot))
    monkeypatch.setattr(command, "make_picture", make)


@pytest.mark.usefixtures("quick")
def test_writes_where_the_shoot_lies_and_says_so(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["picture", str(folder), "--draft"]) == 0
    said = capsys.readouterr().out.split()
    assert said == [str(folder / "out" / "potter.png")]
    with Image.open(said[0]) as made:
        assert made.size == (480, 320)
        assert made.text["Disclaimer"] == "predicted, not a photograph"
        assert made.text["Strobe key"] == "−2.0 stops from full, 100 J"
        assert made.text["Shutter"] == "1/125 s"
    assert [path.name for path in (folder / "out").iterdir()] == ["potter.png"]


@pytest.mark.usefixtures("quick")
def test_overlays_exr_and_json(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "elsewhere"
    words = ["picture", str(folder), "--shot", "potter", "--size", "300x200", "--overlay", "names,rings"]
    assert main([*words, "--exr", "--json", "--out", str(out)]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["format"] == "sidelong.picture/1"
    (shot,) = answer["shots"]
    assert shot["files"] == {
        "picture": str(out / "potter.png"),
        "overlay": str(out / "potter-names-rings.png"),
        "exr": str(out / "potter.exr"),
    }
    assert (shot["width_px"], shot["height_px"]) == (300, 200)
    assert shot["middle_grey_lxs"] == pytest.approx(10 / (100 * 2 ** (2 / 3)))
    assert shot["mean_exposure_lxs"] > 0
    with OpenEXR.File(shot["files"]["exr"], separate_channels=True) as exr:
        total = exr.channels()["total.Y"].pixels
        assert exr.header()["sidelong.Shutter"] == "1/125 s"
    assert shot["mean_exposure_lxs"] == pytest.approx(total.mean(), rel=1e-4)
    with Image.open(shot["files"]["picture"]) as plain, Image.open(shot["files"]["overlay"]) as marked:
        assert (np.asarray(plain) != np.asarray(marked)).any()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--size", "1500x700"], "expected the shape of the film (36 x 24 mm): 1500x1000"),
        (["--size", "big"], 'found "big"; expected pixels such as 1500x1000'),
        (["--size", "0x0"], "each from 16 to 6000"),
        (["--size", "99999x66666"], "each from 16 to 6000"),
        (["--overlay", "rings,grid"], 'found "grid"; expected some of rings, stops, names'),
        (["--samples", "0"], "expected a number from 1 to 65536"),
        (["--seed", "-1"], "expected a whole number from 0 up"),
        (["--shot", "potery"], 'found no shot "potery"; expected one of potter'),
        (["--samples", "many"], "many"),
    ],
)
@pytest.mark.usefixtures("quick")
def test_what_cannot_be_is_said_and_nothing_written(
    folder: Path, words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code = main(["picture", str(folder), "--draft", *words])
    heard = capsys.readouterr()
    assert code == 2
    assert said in heard.err
    assert "Traceback" not in heard.err
    assert not (folder / "out").exists()


@pytest.mark.usefixtures("quick")
def test_an_interruption_leaves_nothing(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stop(*arguments: object) -> Picture:
        raise KeyboardInterrupt

    monkeypatch.setattr(command, "make_picture", stop)
    assert main(["picture", str(folder), "--draft"]) == 130
    assert "stopped" in capsys.readouterr().err
    assert not (folder / "out").exists()


def test_captions_say_the_settings_and_the_points(folder: Path) -> None:
    shoot = load(folder)
    plan = planned(shoot, shoot.shots[0])
    words = settings_of(plan)
    assert list(words)[:5] == ["Lens", "Stop", "Shutter", "ISO", "Balance"]
    assert words["ISO"] == "160"
    assert words["Movement"].startswith("swing ")
    points = {point.name: point for point in overlay_points(plan)}
    sharp = next(point for point in plan.focus.points if point.wanted == "sharp")
    assert points[sharp.name].blur_major == sharp.blur_major
    assert points[sharp.name].stops == 0.5
    depth = plan.focus.frame.to_body(sharp.at)[2] - plan.focus.principal_point[2]
    assert points[sharp.name].face == pytest.approx(0.15 * plan.focus.film_distance / depth)


@pytest.mark.slow
def test_ctrl_c_on_the_real_command_leaves_nothing(folder: Path) -> None:
    """Interrupted at several moments, the last of them while light paths are traced."""
    for wait in (0.6, 4.0, 9.0):
        process = subprocess.Popen(
            [sys.executable, "-m", "sidelong", "picture", str(folder), "--size", "2400", "--exr"],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env={**os.environ, "TERM": "dumb"},
        )
        time.sleep(wait)
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=60)
        assert process.returncode in (130, -signal.SIGINT), err.decode()
        assert out == b""
        left = [p.name for p in (folder / "out").iterdir()] if (folder / "out").exists() else []
        assert left == []

"""Corrections by eye point the right way; ways out work when applied."""

import contextlib
import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.errors import Impossible, SidelongError
from sidelong.lens.geometry import geometry_of
from sidelong.lens.response import signed_blur
from sidelong.lens.ring import extension_for
from sidelong.lens.values import Setting
from sidelong.plan.focus import plan_focus
from sidelong.plan.lenses import plan_lenses
from sidelong.plan.sureness import plan_sureness
from sidelong.plan.walk import plan_walk
from sidelong.plan.ways_out import ways_out
from sidelong.shoot.check import load
from source_tree import ROOT
from written import shoot_of

ROW = """
sidelong = 1
[place]
sky = "dark"
[[marks]]
name = "a"
at = [-0.6, 4.0, 1.2]
[[marks]]
name = "b"
at = [0.5, 3.0, 1.2]
[[marks]]
name = "c"
at = [0.0, 3.2, 1.5]
[[people]]
name = "Ida"
at = [0.7, 4.4]
facing = 180
[[kit.bodies]]
id = "body"
[[kit.lenses]]
id = "fifty"
focal = 50
widest = 2.8
smallest = 22
movement = 8
[[kit.lenses]]
id = "ninety"
focal = 90
widest = 2.8
smallest = 22
movement = 8
owned = false
rent_per_day = 30
[[shots]]
id = "row"
body = "body"
lens = "fifty"
sharp = ["a", "b"]
soft = ["Ida"]
shutter = "1/125"
iso = 100
[shots.camera]
at = [0.0, 0.0, 1.3]
aim = [0.0, 3.0, 1.3]
"""


def test_a_correction_by_eye_points_the_right_way(tmp_path):
    shoot = shoot_of(tmp_path, ROW)
    shot = shoot.shots[0]
    focus = plan_focus(shoot, shot)
    (words,) = plan_sureness(shoot, shot, focus).corrections
    held, other = focus.focus_on, "b" if focus.focus_on == "a" else "a"
    points = {n: focus.frame.to_body(np.array(next(m.at for m in shoot.marks if m.name == n))) for n in "ab"}
    setting = focus.setting
    # spoil the movement, hold the focus on the one, and see on which side of the plane the other has come
    for spoil in (-math.radians(0.5), math.radians(0.5)):
        kind = "swing" if "swing" in words else "tilt"
        moved = replace(setting.movement, **{kind: getattr(setting.movement, kind) + spoil})
        wrong = Setting(setting.lens, moved, extension_for(setting.lens, moved, points[held]), setting.f_number)
        nearer = float(signed_blur(geometry_of(wrong), points[other])) > float(
            signed_blur(geometry_of(setting), points[other])
        )
        more = {"swing to the right": 1, "swing to the left": -1, "tilt up": 1, "tilt down": -1}
        advised = next(sign for phrase, sign in more.items() if phrase in words)
        # nearer than the plane: the advice undoes the spoiling, and the other way about
        assert (advised if nearer else -advised) == -np.sign(spoil)


@pytest.mark.parametrize("change", ["aperture = 2.8\nblur_limit = 2", "aperture = 4\nblur_limit = 1"])
def test_every_way_out_works_when_applied(tmp_path, change):
    text = ROW.replace('sharp = ["a", "b"]\nsoft = ["Ida"]', 'sharp = ["a", "b", "c", "Ida"]')
    text = text.replace('shutter = "1/125"', f'shutter = "1/125"\n{change}')
    shoot = shoot_of(tmp_path, text)
    shot = shoot.shots[0]
    with pytest.raises(Impossible):
        plan_focus(shoot, shot)
    ways = ways_out(shoot, shot)
    assert ways
    for way in ways:
        for key, value in way.change.items():
            changed = _applied(text, key, value)
        focus = plan_focus(*(lambda s: (s, s.shots[0]))(shoot_of(tmp_path, changed)))
        sharp = [p for p in focus.points if p.wanted == "sharp"]
        limit = focus.blur_limit
        assert all(p.blur_major <= limit * (1 + 1e-5) for p in sharp)


def _applied(text: str, key: str, value) -> str:
    """The file with one key of the shot changed as a photographer would."""
    if key == "camera.at":
        return text.replace("at = [0.0, 0.0, 1.3]\naim", f"at = {value}\naim")
    lines = [line for line in text.splitlines() if not line.startswith(f"{key} =")]
    place = lines.index('id = "row"') + 1
    shown = str(value).replace("'", '"') if not isinstance(value, str) else f'"{value}"'
    return "\n".join([*lines[:place], f"{key} = {shown}", *lines[place:]])


def test_lenses_stand_farther_with_length_and_dissolve_the_background_more(tmp_path):
    shoot = shoot_of(tmp_path, ROW.replace('sharp = ["a", "b"]', 'sharp = ["b"]'))
    short, long = plan_lenses(shoot, shoot.shots[0])
    assert long.distance == pytest.approx(short.distance * 90 / 50)
    assert long.background_far > short.background_far
    assert not long.owned
    assert long.rent == 30


def test_the_walk_of_a_shot_names_everyone_ahead(tmp_path):
    shoot = shoot_of(tmp_path, ROW)
    walk = plan_walk(shoot, shoot.shots[0], plan_focus(shoot, shoot.shots[0]))
    assert walk.names == ("Ida",)
    step = walk.steps[0]
    assert (step.setting is None) == bool(step.why)


def test_from_anywhere_focus_is_answered_or_refused():
    """Cameras put down anyhow in the demo's loft, movements stated or to be found: never our own failure."""
    shoot, rng, answered = load(ROOT / "demo" / "net-loft"), np.random.default_rng(5), 0
    for number in range(40):
        shot = shoot.shots[number % len(shoot.shots)]
        at, aim = (tuple(map(float, rng.uniform([0, 0, 1], [9, 3.2, 1.8]))) for _ in range(2))
        with contextlib.suppress(SidelongError):
            plan_focus(shoot, replace(shot, camera=replace(shot.camera, at=at, aim=aim)))
            answered += 1
    assert answered > 5

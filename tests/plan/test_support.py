"""What carries the camera: chances, room, order of work and a doubt follow."""

import json
from pathlib import Path

import numpy as np
import pytest

from sidelong.cli import main
from sidelong.plan.focus import plan_focus
from sidelong.plan.light import plan_light
from sidelong.plan.sureness import plan_sureness
from sidelong.shoot.check import check

SCENE = """
sidelong = 1
[place]
sky = "dark"
[[people]]
name = "Ida"
at = [-0.6, 3.0]
[[people]]
name = "Una"
at = [0.7, 3.6]
[[kit.bodies]]
id = "body"
[[kit.lenses]]
id = "ninety"
focal = 90
widest = 2.8
movement = 8
[[shots]]
id = "two"
sharp = ["Ida", "Una"]
aperture = 2.8
shutter = "{shutter}"
[shots.camera]
at = [0.0, 0.0, 1.5]
aim = [0.0, 3.0, 1.5]
support = "{support}"
"""


def checked(folder: Path, support: str, shutter: str = "1/125"):
    (folder / "shoot.toml").write_text(SCENE.format(support=support, shutter=shutter))
    return check(folder / "shoot.toml")


def sureness(folder: Path, support: str):
    shoot = checked(folder, support).shoot
    assert shoot is not None
    focus = plan_focus(shoot, shoot.shots[0])
    return focus, plan_sureness(shoot, shoot.shots[0], focus)


def test_the_less_steady_the_camera_the_more_frames(tmp_path):
    chances, frames = [], []
    for support in ("tripod", "monopod", "hand"):
        focus, sure = sureness(tmp_path, support)
        chances.append(sure.chance.together)
        frames.append(focus.frames_to_take)
    assert chances[0] > chances[1] > chances[2] > 0
    assert frames[0] <= frames[1] <= frames[2]


def test_the_room_of_a_camera_in_the_hand_ends_where_the_limit_is(tmp_path):
    focus, sure = sureness(tmp_path, "hand")
    assert "the camera may move" in sure.tightest
    assert 0.0 < min(sure.slack.camera) < 0.5
    assert any("keep your feet" in step for step in focus.order)
    assert "before every frame" in focus.order[-1]
    focus, sure = sureness(tmp_path, "tripod")
    assert "camera" not in sure.tightest
    assert any("lock the head" in step for step in focus.order)


@pytest.mark.parametrize(
    ("support", "shutter", "doubted"),
    [
        ("hand", "1/30", True),
        ("hand", "1/80", True),
        ("hand", "1/100", False),
        ("monopod", "1/30", False),
        ("monopod", "1/10", True),
        ("tripod", "2", False),
    ],
)
def test_a_slow_shutter_in_the_hand_is_doubted(tmp_path, support, shutter, doubted):
    found = [str(d) for d in checked(tmp_path, support, shutter).doubts if "is slow for" in str(d)]
    assert bool(found) == doubted
    if doubted:
        assert "or faster is the rule" in found[0]


def test_an_unknown_support_is_a_fault(tmp_path):
    (fault,) = checked(tmp_path, "crane").faults
    assert "tripod" in fault.expected


def test_the_answer_says_what_was_taken(tmp_path, capsys):
    checked(tmp_path, "hand")
    assert main(["focus", str(tmp_path), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)["shots"][0]
    assert answer["support"] == "hand"
    assert answer["chance"]["one_sigma"]["camera"] == {
        "fore_mm": 12.0, "side_mm": 7.0, "up_mm": 3.0, "yaw_deg": 0.5, "pitch_deg": 0.5,
    }  # fmt: skip
    assert main(["focus", str(tmp_path)]) == 0
    assert "in the hand, lens 1.50 m up" in capsys.readouterr().out


def test_where_to_focus_is_in_front_of_or_behind_when_it_is_on_nobody(tmp_path):
    # too little movement for the two: the plane of focus passes between them, and the order of work says where
    text = SCENE.format(support="tripod", shutter="1/125").replace("movement = 8", "movement = 0")
    (tmp_path / "shoot.toml").write_text(text.replace("aperture = 2.8", "blur_limit = 100"))
    shoot = check(tmp_path / "shoot.toml").shoot
    assert shoot is not None
    focus = plan_focus(shoot, shoot.shots[0])
    (step,) = [s for s in focus.order if "by hand" in s and "ring" in s]
    far = float(step.split(" mm ")[0].split()[-1]) / 1e3
    name = "Ida" if "Ida" in step else "Una"
    at = next(p.at for p in focus.points if p.name == name)
    sight = np.array(at) - focus.frame.at
    sight /= np.linalg.norm(sight)
    to_plane = (focus.plane_offset - focus.plane_normal @ np.array(at)) / float(focus.plane_normal @ sight)
    assert far == pytest.approx(abs(to_plane), rel=0.2)
    assert ("behind" in step) == (to_plane > 0)


@pytest.mark.parametrize(("support", "doubted"), [("hand", True), ("tripod", False)])
def test_a_slow_shutter_that_the_ambient_light_asks_for_is_doubted_too(tmp_path, support, doubted):
    text = SCENE.format(support=support, shutter="1/125").replace('shutter = "1/125"\n', "iso = 100\nambient = 0\n")
    text = text.replace("aperture = 2.8", 'aperture = 22\nwhen = "2026-06-01T12:00"').replace('"dark"', '"overcast"')
    (tmp_path / "shoot.toml").write_text(text.replace("[place]", "[place]\nlatitude = 50\nlongitude = 10"))
    found = check(tmp_path / "shoot.toml")
    assert not [d for d in found.doubts if "is slow for" in str(d)]
    shoot = found.shoot
    light, _ = plan_light(shoot, shoot.shots[0], plan_focus(shoot, shoot.shots[0]), most_paths=1000)
    assert light.shutter > 1 / 90
    assert bool([note for note in light.notes if "is slow for" in note]) == doubted

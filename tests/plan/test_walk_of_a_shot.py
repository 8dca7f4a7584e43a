"""The walk along a row: who belongs to it, and the largest movement that reaches all of it."""

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sidelong.cli import main
from sidelong.errors import OutOfReach
from sidelong.lens.ring import check_ring, extension_for
from sidelong.plan.focus import plan_focus
from sidelong.plan.walk import plan_walk
from sidelong.shoot.check import load
from sidelong.shoot.names import point_of

ROW = """
sidelong = 1
[place]
sky = "dark"
[[people]]
name = "Ada"
at = [-0.9, 3.1]
[[people]]
name = "Bo"
at = [-0.3, 2.9]
[[people]]
name = "Cyd"
at = [0.3, 3.1]
[[people]]
name = "Dee"
at = [0.9, 3.0]
[[people]]
name = "Loner"
at = [0.4, 5.5]
[[people]]
name = "Behind"
at = [0.4, -1.5]
[[kit.bodies]]
id = "body"
[[kit.lenses]]
id = "ninety"
focal = 90
widest = 2.8
movement = 8.5
closest = 0.5
[[shots]]
id = "row"
sharp = ["Bo"]
aperture = 2.8
shutter = "1/125"
[shots.camera]
at = [0.0, 0.0, 1.5]
aim = [0.0, 3.0, 1.5]
[shots.movement]
swing = {swing}
focus_on = "Bo"
"""


def walked(folder: Path, swing: float):
    (folder / "shoot.toml").write_text(ROW.format(swing=swing))
    shoot = load(folder)
    focus = plan_focus(shoot, shoot.shots[0])
    return shoot, focus, plan_walk(shoot, shoot.shots[0], focus)


def test_only_those_of_the_row_are_walked_to(tmp_path):
    _, _, walk = walked(tmp_path, 3.0)
    assert walk.names in (("Ada", "Bo", "Cyd", "Dee"), ("Dee", "Cyd", "Bo", "Ada"))
    assert walk.off_row == ("Loner",)
    assert walk.not_ahead == ("Behind",)
    assert walk.whole == 1.0


def test_the_smaller_movement_reaches_the_whole_row_and_no_larger_one_does(tmp_path):
    shoot, focus, walk = walked(tmp_path, 8.0)
    assert walk.whole is not None
    assert 0.0 < walk.whole < 1.0
    assert walk.smaller is not None

    def reaches(part: float) -> bool:
        movement = replace(walk.movement, swing=walk.movement.swing * part)
        for name in walk.names:
            try:
                at = focus.frame.to_body(np.array(point_of(shoot, name)))
                check_ring(focus.setting.lens, extension_for(focus.setting.lens, movement, at))
            except OutOfReach:
                return False
        return True

    assert reaches(walk.whole * 0.999)
    assert not reaches(walk.whole * 1.001)


def test_the_command_says_who_is_off_the_row_and_what_would_reach_it(tmp_path, capsys):
    _, _, walk = walked(tmp_path, 8.0)
    assert main(["walk", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    assert "Loner stands off the row; Behind is not in front of the camera." in told
    assert "reaches the whole row: swing" in told
    assert main(["walk", str(tmp_path), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)["shots"][0]
    assert not answer["reaches_all"]
    assert answer["smaller_that_reaches_all"]["swing_deg"] == pytest.approx(math.degrees(walk.smaller.swing))
    assert answer["off_row"] == ["Loner"]

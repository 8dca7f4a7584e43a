"""The same shot through every lens: where a longer one has the stronger effect, and where it has not."""

import json

import pytest

from sidelong.cli import main
from sidelong.plan.lenses import effect_of_length, plan_lenses
from written import shoot_of

SCENE = """
sidelong = 1
[place]
sky = "dark"
[[people]]
name = "Ada"
at = [0.0, 3.0]
[[people]]
name = "Bo"
at = [0.6, 3.0]
[[kit.bodies]]
id = "body"
[[kit.lenses]]
id = "long"
focal = 90
widest = 2.8
movement = 8
owned = false
rent_per_day = 30
[[kit.lenses]]
id = "short"
focal = 35
widest = 4
movement = 8
[[kit.lenses]]
id = "stiff"
focal = 50
widest = 2
movement = 3
[[shots]]
id = "one"
lens = "short"
sharp = ["Ada"]
soft = ["Bo"]
aperture = 4
shutter = "1/125"
[shots.camera]
at = [0.0, 0.0, 1.61]
aim = [0.0, 3.0, 1.61]
[shots.movement]
swing = 5
"""


def test_a_longer_lens_is_stronger_on_the_background_and_not_in_the_row(tmp_path):
    shoot = shoot_of(tmp_path, SCENE)
    effect = effect_of_length(plan_lenses(shoot, shoot.shots[0]))
    assert effect is not None
    assert (effect.shortest.id, effect.longest.id) == ("short", "long")
    assert effect.background is not None
    assert effect.background > 1.4
    # x sin(movement) / N times the magnification, which is the same at the same framing
    assert effect.row == pytest.approx(1.0, abs=0.06)
    assert not effect.moved_apart


def test_the_command_tells_the_rule_and_where_it_holds(tmp_path, capsys):
    shoot_of(tmp_path, SCENE)
    assert main(["lenses", str(tmp_path)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "true of the background, not of the row" in told
    assert main(["lenses", str(tmp_path), "--json"]) == 0
    shot = json.loads(capsys.readouterr().out)["shots"][0]
    assert shot["effect"]["row_times"] == pytest.approx(1.0, abs=0.06)
    lenses = {one["lens"]: one for one in shot["lenses"]}
    assert lenses["long"]["distance_m"] == pytest.approx(3.0 * 90 / 35, rel=1e-6)
    assert lenses["long"]["rent_per_day"] == 30
    # a lens of less movement moves as far as it can, and its row is as much less soft
    assert lenses["stiff"]["movement_deg"] == pytest.approx(3.0)
    ratio = lenses["stiff"]["beside"]["blur_major_um"] / lenses["short"]["beside"]["blur_major_um"]
    assert ratio == pytest.approx(0.6, abs=0.06)

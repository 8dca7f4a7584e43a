"""Shots whose ring stands at or just past infinity, which the solver and the ways out must survive."""

import pytest

from sidelong.errors import Impossible
from sidelong.plan.focus import plan_focus
from sidelong.plan.ways_out import ways_out
from written import shoot_of

ROW = """
sidelong = 1
[place]
sky = "dark"
[[marks]]
name = "m0"
at = [-1.036, 4.189, 1.294]
[[marks]]
name = "m1"
at = [-0.626, 2.147, 1.494]
[[marks]]
name = "m2"
at = [-0.393, 5.555, 1.197]
[[kit.bodies]]
id = "b"
film = [36, 24]
[[kit.lenses]]
id = "l"
focal = 50
widest = 2.8
smallest = 22
movement = 8
pivot_mm = 20
[[shots]]
id = "s"
body = "b"
lens = "l"
sharp = ["m0", "m1", "m2"]
aperture = 8
[shots.camera]
at = [0, 0, 1.666]
aim = [0, 4, 1.4]
"""


@pytest.mark.parametrize("aperture", ["aperture = 7.1", "aperture = 8", "aperture = 11", ""])
def test_a_movement_that_leaves_one_past_infinity_is_no_obstacle(tmp_path, aperture):
    shoot = shoot_of(tmp_path, ROW.replace("aperture = 8", aperture))
    focus = plan_focus(shoot, shoot.shots[0])
    # found by differential evolution on an independent blur: f/6.76216
    assert focus.widest_f == pytest.approx(6.76216, rel=1e-4)
    assert focus.setting.extension >= 0
    sharp = [p for p in focus.points if p.wanted == "sharp"]
    assert all(p.blur_major <= focus.blur_limit for p in sharp)


def test_nobody_is_offered_to_go_soft_when_the_ring_is_to_blame(tmp_path):
    far = ROW.replace("aperture = 8", "aperture = 8") + "[shots.movement]\nswing = 8\nfocus_on = 'm2'\n"
    far = far.replace("at = [-0.393, 5.555, 1.197]", "at = [2.4, 5.555, 1.197]")
    shoot = shoot_of(tmp_path, far)
    with pytest.raises(Impossible, match="past infinity"):
        plan_focus(shoot, shoot.shots[0])
    offered = ways_out(shoot, shoot.shots[0])
    assert not any("sharp" in way.change for way in offered)


def test_one_sharp_point_needs_no_stop_at_all_and_no_movement(tmp_path):
    shoot = shoot_of(tmp_path, ROW.replace('["m0", "m1", "m2"]', '["m1"]'))
    focus = plan_focus(shoot, shoot.shots[0])
    assert focus.widest_f == 0.0
    assert focus.setting.movement.swing == 0.0
    assert focus.setting.movement.tilt == 0.0
    assert focus.hinge is None

"""A lens with errors of its scales and a curved field, from the shoot file to what the card tells to set."""

import math
from pathlib import Path

import numpy as np
import pytest

from sidelong.lens.ring import ring_distance
from sidelong.plan.focus import plan_focus
from sidelong.plan.words import movement_to_set, rotation_to_set
from sidelong.shoot.check import check

SHOOT = """
sidelong = 1
[place]
sky = "dark"
[[marks]]
name = "a"
at = [-0.4, 4.0, 1.4]
[[kit.bodies]]
id = "body"
[[kit.lenses]]
id = "ninety"
focal = 90
widest = 2.8
movement = 8
{errors}
[[shots]]
id = "one"
body = "body"
lens = "ninety"
sharp = ["a"]
aperture = 4
[shots.camera]
at = [0, 0, 1.5]
aim = [0, 4, 1.5]
[shots.movement]
swing = {swing}
tilt = 0
focus_on = "a"
"""
OFF = "movement_zero = 0.3\nring_error = 0.1"


def planned(tmp_path: Path, errors: str, swing: float):
    (tmp_path / "shoot.toml").write_text(SHOOT.format(errors=errors, swing=swing), encoding="utf-8")
    shoot = check(tmp_path).shoot
    return plan_focus(shoot, shoot.shots[0])


@pytest.mark.parametrize(("swing", "words"), [(4, "swing 4.30° to the right"), (-4, "swing 4.30° to the left")])
def test_the_card_tells_what_the_scales_must_show(tmp_path, swing, words):
    exact, off = planned(tmp_path, "", swing), planned(tmp_path, OFF, swing)
    assert off.setting.movement == exact.setting.movement
    assert off.setting.extension == exact.setting.extension
    assert [p.blur_major for p in off.points] == [p.blur_major for p in exact.points]
    assert movement_to_set(off.setting) == f"{words} by its scale"
    assert "movement 4.30°" in rotation_to_set(off.setting)
    assert off.ring == pytest.approx(ring_distance(off.setting.lens, exact.setting.extension + 1e-4))
    said = " ".join(off.order)
    assert words[1:] in said
    assert "its scale at 0.30°" in said
    assert "scale" not in " ".join(exact.order)


def test_a_straight_lens_names_where_its_scale_stands(tmp_path):
    off = planned(tmp_path, OFF, 0)
    assert movement_to_set(off.setting) == "lens straight, the scale of movement at 0.30°"
    assert rotation_to_set(off.setting) == "movement at zero"


def test_the_plane_goes_through_the_one_focused_on(tmp_path):
    flat, curved = planned(tmp_path, "", 4), planned(tmp_path, "field_curvature = 0.05", 4)
    for focus in (flat, curved):
        assert np.dot(focus.plane_normal, (-0.4, 4.0, 1.4)) == pytest.approx(focus.plane_offset, abs=1e-9)
        assert focus.points[0].blur_major < 1e-11
    # the field's slope where it is touched, 2 kappa tan(angle off the lens's axis), takes from that of the swing
    off_axis = math.radians(4) + math.atan(0.4 / 4)
    weaker = 1 - 2 * 0.05 * math.tan(off_axis) / math.tan(math.radians(4))
    assert curved.hinge / flat.hinge == pytest.approx(1 / weaker, rel=0.02)

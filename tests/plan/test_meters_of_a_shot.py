"""Spot meter, cheeks and softness of a whole shot, against Lambert's law and similar triangles."""

import math
from pathlib import Path

import numpy as np
import pytest

from sidelong.plan.meters import CHEEK, NOSE, OUTWARD, Amount, Face, cheek, spot_readings
from sidelong.plan.meters_answer import meters_answer
from sidelong.plan.predict import plan_shot
from sidelong.shoot.check import check

TWO_HEADS = (Path(__file__).parent / "two_heads_in_a_room.toml").read_text()
SITTER = """[[people]]
name = "Eve"
at = [3.0, 4.0]
facing = [3.0, 0.5]

[[marks]]
name = "Ana"
"""


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    path = tmp_path_factory.mktemp("meters") / "shoot.toml"
    path.write_text(TWO_HEADS.replace('[[marks]]\nname = "Ana"\n', SITTER, 1))
    checked = check(path)
    assert checked.shoot is not None, checked.faults
    return plan_shot(checked.shoot, checked.shoot.shots[0], most_paths=2048)


def test_cheeks_are_turned_outward():
    eyes = np.array([1.0, 2.0, 1.6])
    left, right = cheek(eyes, 0.3, 1), cheek(eyes, 0.3, -1)
    assert np.add(left.at, right.at) / 2 == pytest.approx(eyes - [0, 0, CHEEK[1]])
    assert np.linalg.norm(np.subtract(left.at, right.at)) == pytest.approx(2 * CHEEK[0])
    assert np.dot(left.normal, right.normal) == pytest.approx(math.cos(2 * OUTWARD), abs=1e-12)
    # each is turned towards its own side
    assert np.dot(np.subtract(left.at, right.at), left.normal) > 0


def test_contrast_counts_flash_and_shutter():
    left, right = Amount(100.0, 3.0, 0.0, 0.0), Amount(100.0, 0.0, 0.0, 0.0)
    assert Face(left, right, ()).contrast(0.01) == pytest.approx(2.0)
    assert Face(left, right, ()).contrast(1e6) == pytest.approx(0.0, abs=1e-6)


def test_errors_in_stops():
    """Of small errors e / (E ln 2); steady light and flash weighed by the shutter, two cheeks as independent."""
    amount = Amount(100.0, 3.0, 6.0, 0.04)
    assert amount.error(0.01) == pytest.approx(math.hypot(0.06, 0.04) / 4.0 / math.log(2.0))
    assert Face(amount, amount, ()).contrast_error(0.01) == pytest.approx(math.sqrt(2.0) * amount.error(0.01))
    assert Amount(0.0, 0.0, 0.0, 0.0).error(1.0) == 0.0


def test_readings_of_a_shot(plan):
    readings = spot_readings(plan)
    assert [r.name for r in readings] == ["Eve", "Ana", "Bo", "Cy", "Di", "wall"]
    eve = readings[0]
    # she looks at the camera, the key stands on her right
    assert eve.face is not None
    assert eve.face.contrast(plan.light.shutter) < -1.0
    # wide bounds: a face's reflectance, and what light the eyes' hollow gets against the cheek
    assert 0.05 < math.pi * eve.luminance.flash / eve.face.right.flash < 0.9
    # a twentieth of a stop is what a meter shows
    assert all(0 < r.luminance.error(plan.light.shutter) < 0.05 for r in readings)
    assert 0 < eve.face.contrast_error(plan.light.shutter) < 0.05
    assert all(r.face is None and r.luminance.flash > 0 for r in readings[1:])


def test_softness_of_a_shot_by_similar_triangles(plan):
    eyes = np.array(next(p.at for p in plan.focus.points if p.name == "Eve"))
    widths = dict(spot_readings(plan, most_paths=1024)[0].face.softness)
    key = next(e for e in plan.stage.emitters if e.name == "key")
    way = np.array(key.at) - eyes
    right = np.cross(key.axis, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    across = np.cross([0.0, 0.0, 1.0], way)
    across /= np.linalg.norm(across)
    # small angles: the front's width as seen from her over its distance; its depth adds a few hundredths
    expected = NOSE * key.size[0] * abs(right @ across) / np.linalg.norm(way)
    assert widths["key"] == pytest.approx(expected, rel=0.15)
    assert widths["fill"] < 0.25 * widths["key"]


def test_answer_in_meters_scales(plan):
    """The keys' figures agree with one another by N^2 / t = L S / K (ISO 2720:1974)."""
    eve = meters_answer(plan.light, spot_readings(plan, most_paths=1024))[0]
    assert eve["spot"]["f_stop"] ** 2 == pytest.approx(eve["spot"]["flash_cds_m2"] * plan.light.iso / 12.5)
    assert eve["dome"]["f_stop"] ** 2 == pytest.approx(eve["dome"]["flash_lxs"] * plan.light.iso / 340)
    assert eve["spot"]["steady_ev100"] == -math.inf
    assert set(eve["face"]["nose_penumbra_mm"]) == {"key", "fill"}
    assert eve["spot"]["error_stops"] > 0
    assert eve["dome"]["error_stops"] > 0
    assert eve["face"]["left_over_right_error_stops"] == pytest.approx(
        math.hypot(eve["face"]["left"]["error_stops"], eve["face"]["right"]["error_stops"])
    )
    key = plan.light.points[0].lights[0]
    assert eve["lights"][0]["flat_f_stop"] ** 2 == pytest.approx(key.flat * plan.light.iso / 250)
    assert eve["lights"][0]["flat_ev100"] is None

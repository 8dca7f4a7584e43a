"""Steady lamps and luminaire files in whole shoots: the shutter acts on lamps, files shape heads, faults."""

import math
from pathlib import Path

import numpy as np
import pytest

from sidelong.plan.predict import plan_shot
from sidelong.shoot.check import check

ONE_FRONT = (Path(__file__).parent / "one_front.toml").read_text()
LAMP = ONE_FRONT.replace(
    "[[kit.modifiers]]",
    '[[kit.lamps]]\nid = "panel"\nlumens = 20000\nwatts = 200\nkelvin = 5600\nrange = 5\n\n[[kit.modifiers]]',
    1,
).replace('strobe = "head"', 'lamp = "panel"')
ANGLES = np.arange(0, 90.1, 2.5)
SPOT = "\n".join(
    ["IES:LM-63-2019", "TILT=NONE", f"1 1000 1 {len(ANGLES)} 1 1 2 -0.2 -0.2 0", "1 1.1 50"]
    + [" ".join(f"{x:.4f}" for x in row) for row in (ANGLES, [0.0], 1000 * np.cos(np.radians(ANGLES)) ** 8)]
)


def checked(folder, text):
    (folder / "shoot.toml").write_text(text)
    return check(folder / "shoot.toml")


def planned(folder, text):
    found = checked(folder, text)
    assert found.shoot is not None, found.faults
    return plan_shot(found.shoot, found.shoot.shots[0])


def light(plan):
    return plan.light.points[0].lights[0]


def test_a_lamp_gives_what_a_flash_of_as_many_lumen_seconds_gives_in_its_time(tmp_path):
    flash, lamp = light(planned(tmp_path, ONE_FRONT)), light(planned(tmp_path, LAMP))
    assert (lamp.flash, lamp.light) == (False, "panel")
    assert lamp.flat / flash.flat == pytest.approx(20000 / 16000, rel=1e-3)
    assert lamp.stops - flash.stops == pytest.approx(math.log2(20000 / 16000 / 2 ** (21 / 3)), abs=0.01)


def test_the_shutter_and_the_dimmer_act_on_a_lamp_and_its_colour_is_its_own(tmp_path):
    plan = planned(tmp_path, LAMP)
    longer = planned(tmp_path, LAMP.replace("1/125", "1/30"))
    dimmed = planned(tmp_path, LAMP.replace("power = 1.0", "power = 0.25"))
    assert light(longer).stops - light(plan).stops == pytest.approx(2.0, abs=0.01)
    assert light(dimmed).stops - light(plan).stops == pytest.approx(-2.0, abs=0.01)
    assert dimmed.light.heads[0].energy == pytest.approx(50.0)
    assert dimmed.light.heads[0].steady
    assert plan.light.points[0].ambient_stops == pytest.approx(light(plan).stops)
    assert plan.colours[0].cct == pytest.approx(5600, rel=0.01)
    tungsten = planned(tmp_path, LAMP.replace("kelvin = 5600", 'spectrum = "tungsten"'))
    assert tungsten.colours[0].cct == pytest.approx(3200, rel=0.01)


def test_a_lamp_meets_a_target_by_its_dimmer_and_a_wish_for_the_ambient_sets_the_shutter(tmp_path):
    wanted = light(planned(tmp_path, LAMP)).stops - 1.5
    plan = planned(tmp_path, LAMP.replace("power = 1.0", f"target = {{ stops = {wanted} }}"))
    assert light(plan).stops == pytest.approx(wanted, abs=0.02)
    plan = planned(tmp_path, LAMP.replace('shutter = "1/125"', "ambient = -1"))
    assert plan.light.points[0].ambient_stops == pytest.approx(-1, abs=0.18)
    both = LAMP.replace('shutter = "1/125"', "ambient = -1").replace("power = 1.0", "target = { stops = 0 }")
    assert "a lamp counts with the ambient" in str(checked(tmp_path, both).faults[0])


def test_a_lamp_by_its_reading(tmp_path):
    text = LAMP.replace("lumens = 20000", 'reading = { distance = 2.23606797749979, lux = 900, modifier = "box" }')
    assert light(planned(tmp_path, text)).flat == pytest.approx(900, rel=3e-3)


def test_a_head_with_a_luminaire_file_gives_its_intensities(tmp_path):
    (tmp_path / "spot.ies").write_text(SPOT)
    text = ONE_FRONT.replace('shape = "rectangle"\nsize = [0.9, 1.2]\ntransmission = 0.5', 'pattern = "spot.ies"')
    # 2 pi 1000 / 9 of the file's 1000 lm leave it
    share = 2 * math.pi / 9
    exact = 400 * 40 * share * 9 / (2 * math.pi) / 5
    assert light(planned(tmp_path, text)).flat == pytest.approx(exact, rel=0.015)
    stated = text.replace('pattern = "spot.ies"', 'pattern = "spot.ies"\ntransmission = 0.5')
    assert light(planned(tmp_path, stated)).flat == pytest.approx(exact * 0.5 / share, rel=0.015)


FAULTS = {
    "neither": (LAMP.replace('lamp = "panel"', ""), "neither strobe nor lamp"),
    "both": (LAMP.replace('lamp = "panel"', 'lamp = "panel"\nstrobe = "head"'), "strobe and lamp"),
    "unknown": (LAMP.replace('lamp = "panel"', 'lamp = "pannel"'), '"panel"'),
    "no calibration": (LAMP.replace("lumens = 20000\n", ""), "neither lumens nor reading"),
    "taken": (LAMP.replace('id = "panel"', 'id = "sun"').replace('lamp = "panel"', 'lamp = "sun"'), '"sun"'),
    "no such LED": (LAMP.replace("kelvin = 5600", "kelvin = 1100"), "LED"),
    "climbing": (ONE_FRONT.replace('shape = "rectangle"', 'pattern = "../spot.ies"'), "climbs out"),
    "absent": (ONE_FRONT.replace('shape = "rectangle"', 'pattern = "spott.ies"'), '"spot.ies"'),
    "not one": (ONE_FRONT.replace('shape = "rectangle"', 'pattern = "shoot.toml"'), "another kind"),
}


@pytest.mark.parametrize(("text", "words"), FAULTS.values(), ids=list(FAULTS))
def test_faults(tmp_path, text, words):
    (tmp_path / "spot.ies").write_text(SPOT)
    faults = checked(tmp_path, text).faults
    assert words in "\n".join(map(str, faults))


def test_what_is_wrong_inside_a_luminaire_file_is_told_with_its_own_line(tmp_path):
    (tmp_path / "spot.ies").write_text(SPOT.replace("1 1.1 50", "1 one 50"))
    (fault,) = checked(tmp_path, ONE_FRONT.replace('shape = "rectangle"', 'pattern = "spot.ies"')).faults
    assert (fault.file, fault.line) == ("spot.ies", 4)


ZOOM = ONE_FRONT.replace(
    'kind = "front"\nshape = "rectangle"\nsize = [0.9, 1.2]\ntransmission = 0.5',
    'kind = "reflector"\nzoom = [[25, 58], [60, 36], [105, 24]]',
)


def test_a_zoomed_head_gives_its_guide_number(tmp_path):
    """iso1230: C GN^2 / (S d^2), the card 5 m^2 off."""
    narrow = light(planned(tmp_path, ZOOM))
    wide = light(planned(tmp_path, ZOOM.replace("power = 1.0", "power = 1.0\nzoom = 60")))
    assert narrow.flat == pytest.approx(2.5 * 58**2 / 5, rel=0.02)
    assert wide.flat == pytest.approx(2.5 * 36**2 / 5, rel=0.01)
    for text, words in ((ZOOM, "25 to 105 degrees"), (ONE_FRONT, "which has none")):
        text = text.replace("power = 1.0", "power = 1.0\nzoom = 120")
        assert words in "\n".join(map(str, checked(tmp_path, text).faults))


GEL = '[[kit.gels]]\nid = "cto"\nmired = 160\ntransmission = 0.5\n\n[[kit.modifiers]]'
SHEETS = ONE_FRONT.replace("[[kit.modifiers]]", GEL, 1)


def test_sheets_stand_in_the_light_of_a_shot(tmp_path):
    free = light(planned(tmp_path, ONE_FRONT)).flat
    sheet = '\n[[shots.sheets]]\nof = ["cto"]\nat = [0.8, 1.4, 1.5]\nto = "card"\nsize = 2\n'
    gelled = light(planned(tmp_path, SHEETS + sheet)).flat
    assert gelled == pytest.approx(0.5 * free, rel=0.02)
    flag = SHEETS.replace("[[kit.gels]]", '[[kit.modifiers]]\nid = "flag"\nkind = "black cloth"\n\n[[kit.gels]]')
    dark = light(planned(tmp_path, flag + sheet.replace("cto", "flag"))).flat
    assert dark < 0.02 * free
    assert "scrim, net, flag" in str(checked(tmp_path, SHEETS + sheet.replace('"cto"', '"box"')).faults[0])


def test_a_file_that_gives_more_than_its_lamps_is_doubted(tmp_path):
    text = ONE_FRONT.replace('shape = "rectangle"', 'pattern = "spot.ies"')
    (tmp_path / "spot.ies").write_text(SPOT)
    assert not any("spot.ies" in str(doubt) for doubt in checked(tmp_path, text).doubts)
    (tmp_path / "spot.ies").write_text(SPOT.replace("1 1000 1", "1 100 1"))
    assert any("add up to 69" in str(doubt) for doubt in checked(tmp_path, text).doubts)

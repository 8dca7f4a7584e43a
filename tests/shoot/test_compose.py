"""From what is written to what is computed with: units, marks, defaults, names, movements, bounces."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sidelong.errors import ShootFault
from sidelong.people.eyes import eyes
from sidelong.shoot.check import check
from sidelong.shoot.compose_shot import swing_and_tilt
from sidelong.shoot.names import point_of, points_of
from sidelong.shoot.starter import starter_text
from sidelong.shoot.surfaces import bounce_point
from sidelong.units import true_f_number, true_iso, true_shutter
from written import shoot_of

LEAST = """\
sidelong = 1
[[people]]
name = "Ada"
at = [0, 3]
[[kit.lenses]]
id = "lens"
focal = 90
[[shots]]
sharp = "Ada"
[shots.camera]
at = [0, 0, 1.6]
"""


def doubts_of(tmp_path: Path, text: str) -> str:
    (tmp_path / "shoot.toml").write_text(text, encoding="utf-8")
    checked = check(tmp_path)
    assert not checked.faults
    return "\n".join(map(str, checked.doubts))


def test_the_least_that_can_be_said_is_a_shoot(tmp_path: Path) -> None:
    shoot = shoot_of(tmp_path, LEAST)
    (shot,) = shoot.shots
    assert shot.id == "1"
    assert shot.body.film.width == pytest.approx(0.036)
    assert shot.lens.focal_length == pytest.approx(0.09)
    assert shot.camera.aim == eyes(shoot.people[0])
    assert shot.focus_on == "Ada"
    assert shot.movement is None
    assert shot.f_number is None
    assert shot.blur_limit == pytest.approx(math.hypot(0.036, 0.024) / 1500)
    assert shot.when.utcoffset() == timedelta(0)
    assert shoot.people[0].facing == pytest.approx(-math.pi / 2)
    assert shoot.place.ground == 0.2


LENGTHS = [("90", 0.09), ("90.0", 0.09), ('"90 mm"', 0.09), ('"9 cm"', 0.09), ('"3 1/2 in"', 0.0889), ('"90"', 0.09)]


@pytest.mark.parametrize(("written", "metres"), LENGTHS)
def test_a_focal_length_in_every_writing(tmp_path: Path, written: str, metres: float) -> None:
    shoot = shoot_of(tmp_path, LEAST.replace("focal = 90", f"focal = {written}"))
    assert shoot.shots[0].lens.focal_length == pytest.approx(metres, rel=1e-15)


def test_bare_numbers_count_in_the_units_of_the_trade(tmp_path: Path) -> None:
    keys = """widest = 2.8\nsmallest = "f/32"\nmovement = 8\nrotation_step = 30\nshift = 12\nimage_circle = 72
closest = "1 ft 6 in"\npupil_ratio = 0.9\npivot_mm = -4\nblades = 9\n"""
    text = LEAST.replace("focal = 90\n", f"focal = 90\n{keys}")
    lens = shoot_of(tmp_path, text).shots[0].lens
    assert lens.widest == pytest.approx(2**1.5)
    assert lens.smallest == pytest.approx(2**5)
    assert lens.movement == pytest.approx(math.radians(8))
    assert lens.rotation_step == pytest.approx(math.radians(30))
    assert lens.shift == pytest.approx(0.012)
    assert lens.image_circle == pytest.approx(0.072)
    assert lens.closest == pytest.approx(0.4572)
    assert lens.pivot == pytest.approx(-0.004)
    assert (lens.pupil_ratio, lens.blades) == (0.9, 9)


def test_marks_become_true_values(tmp_path: Path) -> None:
    shot = 'aperture = 5\nshutter = "1/200"\niso = 160\nblur_limit = 30\n'
    (made,) = shoot_of(tmp_path, LEAST.replace('sharp = "Ada"\n', f'sharp = "Ada"\n{shot}')).shots
    assert made.f_number == pytest.approx(2 ** (14 / 6), rel=1e-15)
    assert made.shutter == pytest.approx(2 ** (-23 / 3), rel=1e-15)
    assert made.iso == pytest.approx(100 * 2 ** (2 / 3), rel=1e-15)
    assert made.blur_limit == pytest.approx(30e-6)


@pytest.mark.parametrize("written", ["2026-07-01T09:30:00", '"2026-07-01 09:30"', "2026-07-01T10:30:00+02:00"])
def test_times_on_the_clock_of_the_place_and_with_an_offset(tmp_path: Path, written: str) -> None:
    text = LEAST.replace('sharp = "Ada"', f'sharp = "Ada"\nwhen = {written}')
    place = 'sidelong = 1\n[place]\ntimezone = "Europe/London"\nlatitude = 50\nlongitude = -5\n'
    (shot,) = shoot_of(tmp_path, text.replace("sidelong = 1\n", place)).shots
    assert shot.when.astimezone(UTC) == datetime(2026, 7, 1, 8, 30, tzinfo=UTC)


def test_a_date_alone_is_its_noon(tmp_path: Path) -> None:
    (shot,) = shoot_of(tmp_path, LEAST.replace('sharp = "Ada"', 'sharp = "Ada"\nwhen = 2026-07-01')).shots
    assert shot.when == datetime(2026, 7, 1, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("movement", "rotation", "swing", "tilt"),
    [(8, 0, 8, 0), (8, 180, -8, 0), (8, 90, 0, 8), (8, -90, 0, -8), (0, 77, 0, 0), (8, 45, 5.6753, 5.6476)],
)
def test_movement_and_rotation(movement: float, rotation: float, swing: float, tilt: float) -> None:
    s, t = swing_and_tilt(math.radians(movement), math.radians(rotation))
    assert math.degrees(s) == pytest.approx(swing, abs=1e-4)
    assert math.degrees(t) == pytest.approx(tilt, abs=1e-4)


@given(m=st.floats(1e-6, 1.0), r=st.floats(-math.pi, math.pi))
def test_both_forms_give_one_axis(m: float, r: float) -> None:
    s, t = swing_and_tilt(m, r)
    axis = (math.sin(s) * math.cos(t), math.sin(t), math.cos(s) * math.cos(t))
    assert axis == pytest.approx((math.sin(m) * math.cos(r), math.sin(m) * math.sin(r), math.cos(m)), abs=1e-14)


def test_a_movement_table_without_angles_leaves_them_to_be_found(tmp_path: Path) -> None:
    text = LEAST.replace("focal = 90", "focal = 90\nshift = 12") + '[shots.movement]\nfocus_on = "Ada"\nrise = 3\n'
    (shot,) = shoot_of(tmp_path, text).shots
    assert shot.movement is None
    assert shot.rise_shift == pytest.approx((0.003, 0.0))


def test_what_the_kit_does_not_say_of_a_lens_is_what_the_shot_asks(tmp_path: Path) -> None:
    text = LEAST.replace('sharp = "Ada"', 'sharp = "Ada"\naperture = 1.4') + "rise = 3\n[shots.movement]\nswing = 4\n"
    (shot,) = shoot_of(tmp_path, text).shots
    assert shot.lens.movement == pytest.approx(math.radians(4))
    assert shot.lens.shift == pytest.approx(0.003)
    assert shot.lens.widest == shot.f_number == true_f_number(1.4)
    said = doubts_of(tmp_path, text)
    assert 'does not say how far "lens" moves' in said
    assert 'does not say how far "lens" shifts' in said
    assert 'widest opening of "lens" is not stated' in said


@pytest.mark.parametrize("written", ["3", "0.35", '["jacket", "cap"]', '"a gown"'])
def test_words_that_nobody_knows_stop_nothing(tmp_path: Path, written: str) -> None:
    text = LEAST.replace("at = [0, 3]", f"at = [0, 3]\nskin = {written}\nclothes = {written}\nbuild = {written}")
    person = shoot_of(tmp_path, text).people[0]
    assert (person.skin, person.clothes, person.build) == ("medium", "workwear", "average")
    assert doubts_of(tmp_path, text).count("nothing is known of") == 3


def test_facing_the_camera(tmp_path: Path) -> None:
    text = LEAST.replace("at = [0, 3]", 'at = [0, 3]\nfacing = "camera"').replace("[0, 0, 1.6]", "[-5, 3, 1.6]")
    assert shoot_of(tmp_path, text).people[0].facing == pytest.approx(math.pi)


def test_rise_may_stand_in_the_camera(tmp_path: Path) -> None:
    text = LEAST.replace("focal = 90", "focal = 90\nshift = 12\nmovement = 5") + "rise = -2\nshift = 1\n"
    (shot,) = shoot_of(tmp_path, text + "[shots.movement]\ntilt = 3\n").shots
    assert shot.movement is not None
    assert (shot.movement.rise, shot.movement.shift) == pytest.approx((-0.002, 0.001))
    assert (shot.movement.swing, shot.movement.tilt) == pytest.approx((0.0, math.radians(3)))


FACINGS = [("90", 0, (1, 0)), ("0", 0, (0, 1)), ("90", 90, (0, 1)), ("200", 200, (0, 1)), ('"Bo"', 0, (1, 0))]
FACINGS += [("[-5, 3]", 0, (-1, 0))]


@pytest.mark.parametrize(("facing", "north", "direction"), FACINGS)
def test_facing(tmp_path: Path, facing: str, north: int, direction: tuple[int, int]) -> None:
    text = LEAST.replace("at = [0, 3]", f'at = [0, 3]\nfacing = {facing}\n[[people]]\nname = "Bo"\nat = [2, 3]')
    shoot = shoot_of(tmp_path, text.replace("sidelong = 1\n", f"sidelong = 1\nplace = {{ north = {north} }}\n"))
    angle = shoot.people[0].facing
    assert (math.cos(angle), math.sin(angle)) == pytest.approx(direction, abs=1e-12)


def test_a_name_stands_for_the_eyes(tmp_path: Path) -> None:
    text = LEAST.replace("at = [0, 3]", 'at = [0, 3, 0.5]\nheight = 2\n[[marks]]\nname = "door"\nat = [1, 2, 3]')
    shoot = shoot_of(tmp_path, text)
    assert point_of(shoot, "Ada") == pytest.approx((0, 3, 0.5 + 0.936 * 2))
    assert point_of(shoot, "door") == (1, 2, 3)
    assert list(points_of(shoot)) == ["Ada", "door"]
    with pytest.raises(ShootFault, match="Ada, door"):
        point_of(shoot, "Bo")


@pytest.mark.parametrize(("sky", "ground"), [('"dark"', 0.0), ('"overcast"', 0.2), ("4.5", 0.2)])
def test_the_ground_is_black_under_a_dark_sky(tmp_path: Path, sky: str, ground: float) -> None:
    place = shoot_of(tmp_path, LEAST.replace("sidelong = 1\n", f"sidelong = 1\nplace = {{ sky = {sky} }}\n")).place
    assert place.ground == ground
    assert place.sky.turbidity == (4.5 if sky == "4.5" else 3.0)


LIGHT = """
[[kit.strobes]]
id = "key"
energy = 400
{calibration}
[[kit.modifiers]]
id = "white"
kind = "panel"
size = [1, 2]
"""
ROOM = "[[place.rooms]]\nname = 'loft'\nsize = [4, 4, 3]\n"


def lit(tmp_path: Path, light: str, calibration: str = "efficacy = 40") -> Any:
    head, tail = LEAST.split("[[shots]]")
    kit = LIGHT.format(calibration=calibration)
    text = f"{head}{ROOM}{kit}[[shots]]{tail}[[shots.lights]]\nstrobe = 'key'\nat = [1, 1, 2]\n{light}\n"
    return shoot_of(tmp_path, text).shots[0].lights[0]


def test_a_light_without_a_word_is_at_full_power_on_the_one_focused_on(tmp_path: Path) -> None:
    light = lit(tmp_path, "")
    assert light.power == 1.0
    assert light.target is None
    assert light.aim == pytest.approx((0, 3, 0.936 * 1.72))


def test_a_target_leaves_the_power_to_be_found(tmp_path: Path) -> None:
    light = lit(tmp_path, "target = { stops = -1 }")
    assert light.power is None
    assert (light.target.who, light.target.stops) == ("Ada", -1)


@pytest.mark.parametrize(("written", "power"), [("0.25", 0.25), ('"1/4"', 0.25), ("1", 1.0)])
def test_power(tmp_path: Path, written: str, power: float) -> None:
    assert lit(tmp_path, f"power = {written}").power == power


@pytest.mark.parametrize("name", ["ceiling", "loft ceiling"])
def test_a_bounce_off_the_ceiling_is_aimed_as_a_mirror_would(tmp_path: Path, name: str) -> None:
    light = lit(tmp_path, f'bounce = "{name}"')
    assert light.bounce.surface == "ceiling"
    eye = 0.936 * 1.72
    share = 1 / (1 + 3 - eye)
    # the eyes lie on the left wall's face, so the point is held a tenth of the room away from it
    assert light.aim == pytest.approx((max(0.4, 1 - share), 1 + 2 * share, 3.0))


def test_an_aim_on_the_surface_is_kept(tmp_path: Path) -> None:
    assert lit(tmp_path, 'aim = [2, 2, 3]\nbounce = "ceiling"').aim == (2, 2, 3)


def test_a_bounce_off_a_panel(tmp_path: Path) -> None:
    light = lit(tmp_path, 'bounce = { panel = "white", at = [2, 3, 1.5] }')
    assert light.aim == light.bounce.at == (2, 3, 1.5)
    assert light.bounce.to == pytest.approx((0, 3, 0.936 * 1.72))
    assert light.bounce.panel.reflectance == 0.8


def test_a_panel_by_its_name_stands_where_the_light_is_aimed(tmp_path: Path) -> None:
    light = lit(tmp_path, 'aim = [2, 3, 1.5]\nbounce = "white"')
    assert light.bounce.panel.id == "white"
    assert light.bounce.at == (2, 3, 1.5)


def test_what_a_meter_read(tmp_path: Path) -> None:
    """Source: iso2720: H = C N^2 / S with C = 250 for a flat receptor."""
    reading = 'reading = { distance = "2 m", aperture = 8, iso = 100, power = "1/2" }'
    assert lit(tmp_path, "", reading).strobe.reading == pytest.approx((250 * 64 / 100, 2.0, 0.5))
    reading = "reading = { distance = 2, lux_seconds = 160 }"
    assert lit(tmp_path, "", reading).strobe.reading == (160, 2, 1)


def test_a_mirror_point_makes_equal_angles() -> None:
    x, y, z = bounce_point((0, 0, 0), (4, 6, 3), "left", (1.0, 1.0, 2.0), (3.0, 5.0, 1.0))
    assert x == 0
    assert (y, z) == pytest.approx((1 + 4 / 4, 2 - 1 / 4))


def test_the_whole_starter(tmp_path: Path) -> None:
    shoot = shoot_of(tmp_path, starter_text())
    (shot,) = shoot.shots
    assert shot.f_number == true_f_number(2.8)
    assert shot.iso == true_iso(200)
    assert shot.body.sync == true_shutter("1/200")
    assert shot.when.utcoffset() == timedelta(hours=1)
    assert [o.name for o in shoot.place.rooms[0].openings] == ["window"]
    assert not doubts_of(tmp_path, starter_text())


BENCH = 'kind = "bench"\nat = [2.4, 2.8]\nsize = [1.2, 0.5, 0.5]'
DOUBTS = [
    ('at = [2.0, 2.4]', "at = [-0.1, 1.0]", '"Inês" has the eyes inside a wall'),
    ('at = [2.0, 2.4]', "at = [-3.0, 2.0]", "outside every room"),
    ('at = [2.3, 0.5, 1.5]', "at = [2.3, -3, 1.5]", "the camera is outside the room, with no opening between"),
    ('at = [2.3, 0.5, 1.5]', "at = [2.3, -0.1, 1.5]", "the camera stands inside a wall"),
    ('ambient = -1', 'shutter = "1/500"', "the shutter, 1/500, is above the sync speed, 1/200, with a strobe on"),
    ('iso = 200', "iso = 12800", 'ISO 12800 is outside the range of "body", 100 to 6400'),
    ('aperture = 2.8', "aperture = 45", "f/45 is beyond the lens's smallest stop, f/32"),
    ('2026-05-12T09:30:00', "2026-05-12T02:00:00", "degrees down"),
    ('2026-05-12T09:30:00', "2026-03-29T01:30:00", "put forward"),
    ('2026-05-12T09:30:00', "2026-10-25T01:30:00", "put back"),
    ('when = 2026', "# when = 2026", "no time is stated; 20 March 2026, 12:00 is taken"),
    ('soft = ["Rui"]', "", '"Rui" is named in no shot'),
    ('at = [1.0, 1.2, 2.1]', "at = [-2, 1.2, 2.1]", 'the light "key" is outside every room'),
    ('at = [1.0, 1.2, 2.1]', "at = [0.1, 1.2, 2.1]", "10.00 m from a wall".replace("10.00", "0.10")),
    ('at = [1.0, 1.2, 2.1]', "at = [1.0, 1.2, 2.5]", "reaches through the ceiling"),
    ('clothes = "apron"', 'clothes = "aprons"', 'nothing is known of the clothes "aprons"; "apron" is taken'),
    ('walls = "lime wash"', 'walls = "limewash"', '"lime wash" is taken'),
    ('kind = "bench"', 'kind = "potter\'s wheel"', "nothing is known of the kind of block"),
    ('longitude = -8.9', "", "there is a latitude and no longitude"),
    ('timezone = "Europe/Lisbon"', "", "no timezone is stated"),
    ('at = [2.5, 3.4]', "at = [2.0, 2.5]", "in the same spot"),
    ('at = [2.4, 2.8]\nsize = [1.2, 0.5, 0.5]', "at = [2.3, 0.5]\nsize = [1, 1, 2]", "the camera stands inside"),
    (BENCH, 'kind = "box"\nat = [2.2, 1.5]\nsize = [2, 0.2, 2]', "between the camera"),
    ('# [shots.movement]', "[shots.movement]\nmovement = 5\nrotation = 20", "clicks beside a rotation of 20 degrees"),
    ('gel = ["quarter CTO"]', 'gel = []\n[[shots.lights]]\nstrobe = "key"\nat = [4, 1, 2]', "twice"),
    ('target = { who = "Inês", stops = 0 }', 'power = "1/512"', "does not go so low"),
]  # fmt: skip


@pytest.mark.parametrize(("out", "put", "said"), DOUBTS, ids=[d[2][:40] for d in DOUBTS])
def test_doubts(tmp_path: Path, out: str, put: str, said: str) -> None:
    text = starter_text()
    assert out in text
    assert said in doubts_of(tmp_path, text.replace(out, put, 1))


def test_a_corridor_is_too_small_for_a_stand(tmp_path: Path) -> None:
    text = LEAST.replace("[0, 3]", "[4, 0.5]").replace("[0, 0, 1.6]", "[1, 0.4, 1.6]")
    text += "[[shots.lights]]\nstrobe = 'key'\nat = [2, 0.4, 2]\n[[place.rooms]]\nsize = [5, 0.8, 2.7]\n"
    text += "[[kit.strobes]]\nid = 'key'\nenergy = 1\nefficacy = 20\n"
    assert "the room is too small for the stand" in doubts_of(tmp_path, text)


def test_imperial_shoots_speak_in_feet(tmp_path: Path) -> None:
    text = (
        starter_text()
        .replace("sidelong = 1 ", 'units = "imperial"\nsidelong = 1 ')
        .replace("[1.0, 1.2, 2.1]", "[0.1, 1.2, 2.1]")
    )
    assert "4 in from a wall" in doubts_of(tmp_path, text)

"""Wishes in the shoot file: what is read, what is a fault, what is a doubt, and saving several values at once."""

import pytest

from sidelong.errors import ShootFault
from sidelong.shoot.check import check
from sidelong.shoot.document import open_document, set_values
from sidelong.shoot.values import Freedom, WishOfColour, WishOfLight

SHOOT = """sidelong = 1
[place]
sky = "dark"
[[place.blocks]]
name = "box"
kind = "crate"
at = [3, 6]
size = [1, 1, 1]
[[marks]]
name = "Ana"
at = [0.0, 3.0, 1.5]
[[kit.bodies]]
id = "body"
iso = [100, 6400]
shutter = ["1/4000", 30]
[[kit.lenses]]
id = "fifty"
focal = 50
widest = 2
[[kit.strobes]]
id = "key"
energy = 400
efficacy = 40
count = 1
MORE
[[kit.filters]]
id = "ND 3"
stops = 3
[[shots]]
id = "one"
sharp = ["Ana"]
SHOT
[shots.camera]
at = [0.0, 0.0, 1.5]
[[shots.lights]]
strobe = "key"
at = [1.0, 1.0, 2.0]
aim = "Ana"
LIGHT
"""
WISH = "[[shots.wishes]]\n"


def checked(folder, light="", shot="", more=""):
    text = SHOOT.replace("MORE", more).replace("SHOT", shot).replace("LIGHT", light)
    (folder / "shoot.toml").write_text(text)
    return check(folder)


def only_shot(folder, **parts):
    found = checked(folder, **parts)
    assert found.shoot is not None, [str(f) for f in found.faults]
    return found.shoot.shots[0]


def test_wishes_are_read(tmp_path):
    shot = only_shot(
        tmp_path,
        light=f"{WISH}at_most = 1\n{WISH}who = 'box'\nlight = 'flash'\nat_least = -2\nwithin = 0.5\n"
        f"{WISH}light = 'key'\nkelvin = 3200\n",
    )
    assert shot.wishes == (
        WishOfLight("Ana", "all", 1.0, "at_most", 1 / 6),
        WishOfLight("box", "flash", -2.0, "at_least", 0.5),
    )
    assert shot.colour_wishes == (WishOfColour("key", 3200.0, 15.0),)
    assert shot.lights[0].power is None
    assert shot.free == Freedom(shutter=(pytest.approx(2 ** (-23 / 3)), 2**-5), filters=True)


def test_without_wishes_nothing_is_free(tmp_path):
    shot = only_shot(tmp_path)
    assert (shot.free, shot.wishes, shot.filters) == (None, (), ())
    assert shot.lights[0].power == 1.0
    assert shot.shutter == pytest.approx(2 ** (-23 / 3))


def test_what_the_shot_states_is_not_free(tmp_path):
    free = "[shots.free]\niso = [100, 800]\naperture = true\n"
    shot = only_shot(tmp_path, light=free, shot='shutter = "1/100"\niso = 200\naperture = 4\nfilters = "ND 3"')
    assert shot.free == Freedom(None, None, None, False)
    assert [f.stops for f in shot.filters] == [3.0]
    open_one = only_shot(tmp_path, light=free).free
    assert open_one.iso == (100.0, 800.0)
    assert open_one.f_number == (0.0, float("inf"))


def test_a_pulsed_mode_frees_the_fast_shutters(tmp_path):
    free = "[shots.free]\nshutter = ['1/1000', '1/60']\n"
    assert only_shot(tmp_path, light=free).free.shutter == pytest.approx((2 ** (-23 / 3), 2**-6))
    pulsed = only_shot(tmp_path, light=free, more="high_speed = true")
    assert pulsed.free.shutter == pytest.approx((2**-10, 2**-6))


@pytest.mark.parametrize(
    ("light", "said"),
    [
        (f"{WISH}who = 'Ana'\n", "a wish without a value"),
        (f"{WISH}stops = 0\nat_most = 1\n", "stops and at_most; expected one of stops, at_most, at_least, kelvin"),
        (
            f"{WISH}who = 'Anna'\nstops = 0\n",
            'found "Anna"; expected the name of a person, a mark, a window or a block',
        ),
        (f"{WISH}light = 'kye'\nstops = 0\n", '"kye"; expected "all", "flash", "ambient"'),
        (f"{WISH}light = 'all'\nkelvin = 3200\n", '"all"; expected the strobe or lamp whose light'),
        ("[[shots.lights]]\nstrobe = 'key'\nat = [2, 1, 2]\n", "at most 1 of it in a shot, as many as the kit has"),
        ("[shots.free]\niso = [1, 2, 3]\n", "true, false, or the lowest and the highest speed"),
    ],
)
def test_faults_of_wishes(tmp_path, light, said):
    faults = checked(tmp_path, light=light).faults
    assert any(said in str(fault) for fault in faults), [str(f) for f in faults]


def test_filters_and_sources_have_to_be_in_the_kit(tmp_path):
    faults = [str(f) for f in checked(tmp_path, shot='filters = "ND 9"', more='fed_by = "wall"').faults]
    assert any("the id of a filter in the kit" in fault for fault in faults)
    assert any("the id of an outlet, battery or generator" in fault for fault in faults)


@pytest.mark.parametrize(
    ("more", "doubted"),
    [
        ("", "with a strobe on"),
        ("high_speed = false", "a single flash lights a band of 20%"),
        ("high_speed = true", None),
    ],
)
def test_a_shutter_above_sync_is_doubted_unless_the_strobe_can(tmp_path, more, doubted):
    doubts = [str(d) for d in checked(tmp_path, shot='shutter = "1/1000"', more=more).doubts]
    assert any("above the sync speed" in d and doubted in d for d in doubts) if doubted else True
    assert doubted or not any("sync" in d for d in doubts)


def test_a_reach_that_does_not_hold_where_it_stands_is_doubted(tmp_path):
    doubts = [str(d) for d in checked(tmp_path, light="reach = [0.5, 1.0]").doubts]
    assert any("2.29 m from its aim, outside its reach, 0.50 m to 1.00 m" in d for d in doubts)


def test_values_are_saved_together_or_not_at_all(tmp_path):
    checked(tmp_path)
    before = (tmp_path / "shoot.toml").read_text()
    with pytest.raises(ShootFault):
        set_values(tmp_path, [(("shots", 0, "iso"), 200), (("shots", 7, "iso"), 400)])
    assert (tmp_path / "shoot.toml").read_text() == before
    set_values(tmp_path, [(("shots", 0, "iso"), 200), (("shots", 0, "lights", 0, "power"), "1/4")])
    shot = open_document(tmp_path).data["shots"][0]
    assert (shot["iso"], shot["lights"][0]["power"]) == (200, "1/4")
    assert (tmp_path / "shoot.toml.previous").read_text() == before

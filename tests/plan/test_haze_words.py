"""How long haze takes and stays, told beside the light; a plume in a shoot; their faults."""

import math
from pathlib import Path

import pytest

from sidelong.day.cautions import cautions
from sidelong.plan.haze import haze_words
from sidelong.plan.predict import plan_shot
from sidelong.shoot.check import check

ROOM = (Path(__file__).parent / "two_heads_in_a_room.toml").read_text()
MACHINE = '[[kit.haze]]\nid = "hazer"\noutput = 6\n\n[[kit.strobes]]'


def loaded(folder, air, machine=MACHINE):
    text = ROOM.replace("[[place.rooms]]", f"{air}\n[[place.rooms]]", 1).replace("[[kit.strobes]]", machine, 1)
    (folder / "shoot.toml").write_text(text)
    return check(folder / "shoot.toml")


def test_how_long_the_machine_runs_and_how_long_the_haze_stays(tmp_path):
    shoot = loaded(tmp_path, "[place.air]\nhaze = 0.03\nchanges = 2").shoot
    volume = math.prod(shoot.place.rooms[0].size)
    words = " | ".join(haze_words(shoot))
    minutes = -math.log(1 - 2 / 60 * volume * 0.01 / 6) * 30
    assert f"fills {volume:.0f} m³ in " in words
    told = f"{minutes * 60:.0f} s" if minutes < 1.5 else f"{minutes:.0f} min"
    assert f"in {told}; let it mix" in words
    assert f"{2 / 60 * volume * 0.01:.2g} g/min then keep it" in words
    assert "half of it is left after 21 min, a tenth after 69 min, the air changed 2 times an hour" in words
    assert "a dark thing is lost at 130 m" in words
    (caution,) = [c for c in cautions(shoot) if c.title == "Haze"]
    assert "Hazer at 6 g/min" in caution.why


def test_a_machine_that_cannot_and_air_that_is_not_stated(tmp_path):
    shoot = loaded(tmp_path, "[place.air]\nhaze = 0.5\nchanges = 60", MACHINE.replace("6", "0.5")).shoot
    assert any("close the doors" in words for words in haze_words(shoot))
    shoot = loaded(tmp_path, "[place.air]\nhaze = 0.03").shoot
    assert any("state place.air.changes" in words for words in haze_words(shoot))
    assert haze_words(loaded(tmp_path, "").shoot) == ()


def test_a_plume_is_in_the_stage_and_takes_light_from_what_crosses_it(tmp_path):
    clear = loaded(tmp_path, "").shoot
    size = clear.place.rooms[0].size
    plume = (
        f"[place.air.plume]\nat = [0.5, {size[1] / 2}, 1.2]\nto = [{size[0] - 0.5}, {size[1] / 2}, 1.6]\noutput = 40"
    )
    hazy = loaded(tmp_path, plume).shoot
    assert hazy.place.air.plume.output == pytest.approx(40 / 60)
    assert any("plume" in words for words in haze_words(hazy))
    one, other = (plan_shot(shoot, shoot.shots[0], 2048) for shoot in (clear, hazy))
    assert other.stage.place.air.plume is not None
    assert other.light.points[0].total_stops != pytest.approx(one.light.points[0].total_stops, abs=1e-3)


@pytest.mark.parametrize(
    ("air", "machine", "words"),
    [
        ('[place.air.plume]\nat = [1, 1, 1]\nto = "attic"', MACHINE, "the name of an opening"),
        ("[place.air.plume]\nat = [1, 1, 1]\nto = [1, 1, 1]", MACHINE, "goes nowhere"),
        ("[place.air.plume]\nat = [1, 1, 1]\nto = [2, 1, 1]", "[[kit.strobes]]", "without output"),
        ('[place.air.plume]\nmachine = "fogger"\nat = [1, 1, 1]\nto = [2, 1, 1]', MACHINE, "hazer"),
    ],
)
def test_faults_of_a_plume(tmp_path, air, machine, words):
    assert words in "\n".join(map(str, loaded(tmp_path, air, machine).faults))

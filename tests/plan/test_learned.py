"""Readings on the day, through a whole shoot: what the plan says and what the picture is traced from follow them."""

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sidelong.cli.light import light
from sidelong.plan.focus import plan_focus
from sidelong.plan.learned import learned_in_words
from sidelong.plan.light import plan_light
from sidelong.plan.predict import plan_shot
from sidelong.shoot.check import check
from sidelong.trace.meter import meter
from sidelong.trace.render import render
from sidelong.trace.values import Receptor

ONE_FRONT = (Path(__file__).parent / "one_front.toml").read_text()
SECOND_MARK = '[[marks]]\nname = "wall"\nat = [1.0, 3.5, 1.5]\n\n[[kit.bodies]]'
ROOM = (Path(__file__).parent / "two_heads_in_a_room.toml").read_text()
TWO_MARKS = ONE_FRONT.replace("[[kit.bodies]]", SECOND_MARK)
TARGET = TWO_MARKS.replace("power = 1.0", 'target = { who = "card", stops = -3 }')
DAYLIT = TWO_MARKS.replace('sky = "dark"', 'latitude = 54\nlongitude = 2\ntimezone = "UTC"\nsky = "clear"')


def reading(value, who="card", light="head", more=""):
    only = f'light = "{light}"\n' if light else ""
    return f'\n[[readings]]\nwho = "{who}"\n{only}{value}\n{more}\n'


def planned(folder, text):
    path = folder / "shoot.toml"
    path.write_text(text)
    shoot = check(path).shoot
    assert shoot is not None, check(path).faults
    shot = shoot.shots[0]
    return plan_light(shoot, shot, plan_focus(shoot, shot))


def stops(plan, who, light="head"):
    point = next(p for p in plan.points if p.name == who)
    return next(at.stops for at in point.lights if at.light == light)


def learned(plan, light="head"):
    return next(at for at in plan.learned if at.light == light)


def test_a_head_two_stops_weak_is_put_right_everywhere(tmp_path):
    before, stage = planned(tmp_path, TWO_MARKS)
    assert before.learned == ()
    after, weak = planned(tmp_path, TWO_MARKS + reading(f"stops = {stops(before, 'card') - 2:.4f}"))
    assert stops(after, "card") == pytest.approx(stops(before, "card") - 2, abs=0.06)
    assert stops(after, "wall") == pytest.approx(stops(before, "wall") - 2, abs=0.06)
    assert learned(after).readings == 1
    assert math.log2(weak.emitters[0].flux / stage.emitters[0].flux) == pytest.approx(learned(after).stops, abs=1e-9)


@pytest.mark.parametrize(("key", "fill"), [(4, 0.25), (0.25, 4), (4, 4), (0.25, 0.25)])
def test_one_reading_a_light_serves_everyone_in_a_room(tmp_path, key, fill):
    """Heads two stops out among white walls; meters that show tenths, one reading of each head alone."""
    real = ROOM.replace("efficacy = 40", f"efficacy = {40 * key}").replace("efficacy = 20", f"efficacy = {20 * fill}")
    truth, _ = planned(tmp_path, real)
    said = {light: f"stops = {stops(truth, who, light):.1f}" for who, light in (("Ana", "key"), ("Bo", "fill"))}
    first, _ = planned(tmp_path, ROOM)
    after, _ = planned(tmp_path, ROOM + reading(said["key"], "Ana", "key") + reading(said["fill"], "Bo", "fill"))
    for was, now, true in zip(first.points, after.points, truth.points, strict=True):
        assert [abs(a.stops - b.stops) for a, b in zip(was.lights, true.lights, strict=True)] == pytest.approx([2, 2])
        assert abs(now.total_stops - true.total_stops) < 0.15


def test_the_power_is_dialled_up_by_what_was_learned(tmp_path):
    before, _ = planned(tmp_path, TARGET)
    after, stage = planned(tmp_path, TARGET + reading("stops = -5"))
    assert after.heads[0].power_stops - before.heads[0].power_stops == pytest.approx(2.0, abs=1 / 3 + 1e-6)
    assert stops(after, "card") == pytest.approx(-3.0, abs=1 / 6 + 1e-6)
    # metered again from the stage that the picture is traced from
    again = meter(stage, [Receptor((0.0, 3.0, 1.5), (0.0, -1.0, 0.0))])
    first = meter(
        planned(tmp_path, TARGET)[1],
        [Receptor((0.0, 3.0, 1.5), (0.0, -1.0, 0.0))],
    )
    change = stops(after, "card") - stops(before, "card")
    assert math.log2(again.value[0, 0] / first.value[0, 0]) == pytest.approx(change, abs=0.01)


@pytest.mark.parametrize("unit", ["stops", "lux_seconds"])
def test_the_units_tell_the_same(tmp_path, unit):
    before, _ = planned(tmp_path, TWO_MARKS)
    at = before.points[0].lights[0]
    said = {"stops": f"stops = {at.stops + 1:.5f}", "lux_seconds": f"lux_seconds = {2 * at.flat:.5f}"}[unit]
    assert learned(planned(tmp_path, TWO_MARKS + reading(said))[0]).stops == pytest.approx(0.98, abs=0.02)


def test_sun_and_sky_are_scaled_in_table_and_stage(tmp_path):
    before, stage = planned(tmp_path, DAYLIT)
    sky = next(at for at in before.points[0].lights if at.light == "sky")
    after, changed = planned(tmp_path, DAYLIT + reading(f"lux = {sky.flat / 2:.3f}", light="sky"))
    assert learned(after, "sky").stops == pytest.approx(-1.0, abs=0.06)
    assert learned(after, "sun").readings == 0
    assert stops(after, "wall", "sky") - stops(before, "wall", "sky") == pytest.approx(-1.0, abs=0.1)
    assert changed.daylight.sky_horizontal / stage.daylight.sky_horizontal == pytest.approx(0.5, rel=0.06)
    assert changed.daylight.sun_normal == pytest.approx(stage.daylight.sun_normal, rel=0.02)


def test_a_reading_of_everything_shares_itself_out(tmp_path):
    before, _ = planned(tmp_path, DAYLIT)
    said = f"stops = {before.points[0].total_stops + 1:.4f}"
    after, _ = planned(tmp_path, DAYLIT + reading(said, light=None))
    assert after.points[0].total_stops == pytest.approx(before.points[0].total_stops + 1, abs=0.1)


def test_a_slip_is_named_and_changes_nothing(tmp_path):
    before, _ = planned(tmp_path, TWO_MARKS)
    card, wall = stops(before, "card"), stops(before, "wall")
    text = TWO_MARKS + reading(f"stops = {card:.3f}") + reading(f"stops = {wall:.3f}", "wall")
    plan, _ = planned(tmp_path, text + reading(f"stops = {wall + 2:.3f}", "wall"))
    assert learned(plan).readings == 2
    assert learned(plan).stops == pytest.approx(0.0, abs=0.05)
    assert any("left out, 2.0 stops over" in words for words in learned_in_words(plan.learned))


def test_readings_that_do_not_fit_are_said_to_be_unused(tmp_path):
    text = TWO_MARKS + reading("lux = 100") + reading("stops = 0", light="sun", more='shot = "one"')
    plan, _ = planned(tmp_path, text)
    assert any("strobes are read in lux_seconds" in note for note in plan.notes)
    assert any("no light of that name" in note for note in plan.notes)
    assert learned(plan).stops == 0.0
    before, _ = planned(tmp_path, TWO_MARKS)
    assert np.array(stops(plan, "card")) == pytest.approx(stops(before, "card"), abs=1e-9)


def test_a_reading_at_another_power_says_so(tmp_path):
    before, _ = planned(tmp_path, TWO_MARKS)
    said = f"stops = {stops(before, 'card') - 2:.4f}"
    as_planned, _ = planned(tmp_path, TWO_MARKS + reading(said))
    at_a_quarter, _ = planned(tmp_path, TWO_MARKS + reading(said, more='power = "1/4"'))
    assert learned(at_a_quarter).stops == pytest.approx(0.0, abs=1e-4)
    assert learned(as_planned).stops == pytest.approx(-1.96, abs=0.05)


def test_a_power_without_its_strobe_is_a_fault(tmp_path):
    path = tmp_path / "shoot.toml"
    path.write_text(TWO_MARKS + reading("stops = 0", light=None, more="power = 0.5"))
    faults = check(path).faults
    assert len(faults) == 1
    assert "the power of no strobe" in str(faults[0])


def test_the_command_tells_what_was_learned(tmp_path, capsys):
    (tmp_path / "shoot.toml").write_text(TWO_MARKS + reading("stops = 1") + reading("lux = 9"))
    light(tmp_path, json=True)
    (shot,) = json.loads(capsys.readouterr().out)["shots"]
    head, place = shot["learned"]
    assert (head["name"], place["name"]) == ("head", "place")
    assert head["readings"] == 1
    assert 0.05 < head["sigma_stops"] < 0.2
    assert shot["points"][0]["lights"][0]["stops"] == pytest.approx(1.0, abs=0.1)
    light(tmp_path)
    said = capsys.readouterr().out
    assert "head: " in said
    assert "by 1 reading" in said
    assert "strobes are read in lux_seconds" in said


TWO_SHOTS = (
    ROOM
    + """
[[shots]]
id = "two"
body = "body"
lens = "fifty"
sharp = ["Cy"]
aperture = 4
shutter = "1/125"
iso = 200
[shots.camera]
at = [5.5, 1.0, 1.6]
aim = "Cy"
[[shots.lights]]
strobe = "key"
at = [5.2, 4.5, 2.4]
aim = "Cy"
power = 0.125
[[shots.lights]]
strobe = "fill"
at = [1.0, 5.0, 2.0]
aim = "Cy"
modifier = "box"
power = 0.5
"""
)


def shots_told(folder, text, capsys):
    (folder / "shoot.toml").write_text(text)
    light(folder, json=True)
    return {shot["id"]: shot for shot in json.loads(capsys.readouterr().out)["shots"]}


def test_one_reading_a_light_in_one_shot_puts_the_other_right_too(tmp_path, capsys):
    """Heads two stops out, the one over and the other under; each is read once, in the first shot. In the second they
    stand elsewhere, at other powers and before other fronts: everyone there comes within 0.15 stop all the same."""
    real = TWO_SHOTS.replace("efficacy = 40", "efficacy = 160").replace("efficacy = 20", "efficacy = 5")
    truth = shots_told(tmp_path, real, capsys)

    def meter_says(light, who):
        point = next(p for p in truth["one"]["points"] if p["name"] == who)
        return f"stops = {next(at['stops'] for at in point['lights'] if at['name'] == light):.1f}"

    here = 'shot = "one"'
    said = reading(meter_says("key", "Ana"), "Ana", "key", here) + reading(
        meter_says("fill", "Bo"), "Bo", "fill", here
    )
    after = shots_told(tmp_path, TWO_SHOTS + said, capsys)
    for shot in ("one", "two"):
        for now, true in zip(after[shot]["points"], truth[shot]["points"], strict=True):
            assert abs(now["total_stops"] - true["total_stops"]) < 0.15, (shot, now["name"])
            for a, b in zip(now["lights"], true["lights"], strict=True):
                assert abs(a["stops"] - b["stops"]) < 0.2, (shot, now["name"], a["name"])
    taught = {at["name"]: at for at in after["two"]["learned"]}
    assert taught["key"]["taught_in"] == ["one"]
    assert taught["key"]["readings"] == 0
    assert taught["key"]["factor_stops"] == pytest.approx(2.0, abs=0.15)
    assert taught["fill"]["factor_stops"] == pytest.approx(-2.0, abs=0.15)


def test_what_another_shot_teaches_gives_way_to_readings_of_ones_own():
    """A head read a stop over elsewhere and half a stop over here, by the same meter: what it is here lies between
    the two, nearer to here; and without a reading here it is what was read there."""
    from sidelong.light.readings import Prior, Said, learn

    def said(*stops):
        count = len(stops)
        light = np.full((count, 1), 100.0)
        return Said(light, np.zeros((count, 1)), 100.0 * 2.0 ** np.array(stops), np.full(count, 0.1))

    there = Prior((0.12,), 0.3, (1.0,))
    none = learn(said(), there)
    assert none.stops[0] == 1.0
    assert none.sigma[0] == pytest.approx(0.12 * math.sqrt(3 / 4))
    assert 0.5 < learn(said(0.5), there).stops[0] < 0.75
    assert learn(said(1.0), there).stops[0] == pytest.approx(1.0, abs=1e-6)


def test_the_picture_follows_what_was_learned(tmp_path, capsys):
    """Each layer of the picture is its light's factor stronger, sun and sky too, as the table's middle is."""
    text = ROOM.replace('sky = "dark"', 'latitude = 54\nlongitude = 2\ntimezone = "UTC"\nsky = "overcast"')
    window = '[[place.rooms.openings]]\nwall = "near"\nat = [2, 1]\nsize = [2, 1.5]\n\n[[marks]]\nname = "Ana"'
    text = text.replace('[[marks]]\nname = "Ana"', window, 1)
    before = shots_told(tmp_path, text, capsys)["one"]
    point = next(p for p in before["points"] if p["name"] == "Ana")
    was = {at["name"]: at["stops"] for at in point["lights"]}
    over = {"key": 1.5, "sky": -1.0}
    said = "".join(reading(f"stops = {was[name] + more:.3f}", "Ana", name) for name, more in over.items())

    def layers(wanted):
        (tmp_path / "shoot.toml").write_text(wanted)
        shoot = check(tmp_path).shoot
        plan = plan_shot(shoot, shoot.shots[0])
        made = render(plan.stage, replace(plan.view, width=24, height=16), 8)
        return plan, dict(zip(made.names, np.moveaxis(made.xyz[..., 1], 2, 0), strict=True))

    _, plain = layers(text)
    plan, taught = layers(text + said)
    table = {at.light: at.stops for at in next(p for p in plan.light.points if p.name == "Ana").lights}
    for name, expected in {**over, "fill": 0.0}.items():
        change = math.log2(float(taught[name].sum()) / float(plain[name].sum()))
        assert change == pytest.approx(expected, abs=0.12), name
        assert change == pytest.approx(table[name] - was[name], abs=0.12), name
        lit = plain[name] > 0
        assert np.ptp(np.log2(taught[name][lit] / plain[name][lit])) < 1e-3, name

"""The balance of whole shots as they are metered: what is found is what the meter then reads, and nothing is moved or
set that need not be."""

import contextlib
import json
import math
import tomllib
from pathlib import Path

import numpy as np
import pytest

from sidelong.cli.balance import balance
from sidelong.cli.light import light
from sidelong.errors import NoBalance
from sidelong.light.gel_pack import gel_packs
from sidelong.light.values import Gel
from sidelong.picture.values import Exposure
from sidelong.plan.balance_places import between
from sidelong.plan.focus import plan_focus
from sidelong.plan.light import plan_light
from sidelong.plan.predict import plan_shot
from sidelong.shoot.check import check
from sidelong.spectra.illuminants import flash
from sidelong.trace.meter import meter
from sidelong.trace.values import Receptor

ONE_FRONT = (Path(__file__).parent / "one_front.toml").read_text()
FREE = ONE_FRONT.replace("power = 1.0\n", "")
DAYLIT = 'latitude = 54\nlongitude = 2\ntimezone = "UTC"\nsky = "clear"'
ND = '[[kit.filters]]\nid = "ND 3"\nstops = 3\n\n[[shots]]'


def wish(what, light="all", more=""):
    return f'\n[[shots.wishes]]\nwho = "card"\nlight = "{light}"\n{what}\n{more}'


def told(command, folder, text, capsys):
    (folder / "shoot.toml").write_text(text)
    with contextlib.suppress(NoBalance):
        command(folder, json=True)
    (shot,) = json.loads(capsys.readouterr().out)["shots"]
    return shot


def stops(shot, name="card", light="head"):
    point = next(p for p in shot["points"] if p["name"] == name)
    return next(at["stops"] for at in point["lights"] if at["name"] == light)


def test_what_is_written_is_what_the_meter_then_reads(tmp_path, capsys):
    """A front that has to come nearer, by its balance; then the file that was written, metered without any wish."""
    near = FREE.replace('modifier = "box"\n', 'modifier = "box"\nreach = [0.8, 3.0]\n') + wish("stops = 3.0", "head")
    (tmp_path / "shoot.toml").write_text(near)
    balance(tmp_path, write=True, json=True)
    (found,) = json.loads(capsys.readouterr().out)["shots"]
    assert found["met"]
    assert found["changes"]
    text = (tmp_path / "shoot.toml").read_text()
    bare = text[: text.index("[[shots.wishes]]")]
    assert tomllib.loads(bare)["shots"][0]["lights"][0]["at"] != [1.0, 1.0, 1.5]
    read = told(light, tmp_path, bare, capsys)
    assert stops(read) == pytest.approx(found["wishes"][0]["got_stops"], abs=0.02)
    assert stops(read) == pytest.approx(3.0, abs=1 / 6)


def test_one_head_and_its_target_as_a_wish_come_to_the_same(tmp_path, capsys):
    target = ONE_FRONT.replace("power = 1.0", 'target = { who = "card", stops = 0.5 }')
    one = told(light, tmp_path, target, capsys)
    other = told(light, tmp_path, target + "[shots.free]\nshutter = false\n", capsys)
    assert other["strobes"][0]["power"] == pytest.approx(one["strobes"][0]["power"], rel=2 ** (1 / 10) - 1)
    assert [w["words"] for w in other["wishes"]] == ["head +0.5 at card"]


def test_light_tells_of_wishes_and_ends_as_balance_does(tmp_path, capsys):
    (tmp_path / "shoot.toml").write_text(FREE + wish("stops = 7", "head"))
    with pytest.raises(NoBalance, match="sidelong balance says why"):
        light(tmp_path)
    said = capsys.readouterr().out
    assert "head +7.0 at card: comes out" in said
    assert "missed" in said
    assert "t0.1 at these powers: head 1/500 s" in said


def test_nd_is_in_the_table_and_in_the_picture(tmp_path, capsys):
    """Three stops of ND: the card's stops fall by three; the film is developed by a speed three stops lower."""
    plain = told(light, tmp_path, ONE_FRONT, capsys)
    dense = ONE_FRONT.replace("[[shots]]", ND).replace("iso = 100", 'iso = 100\nfilters = "ND 3"')
    dark = told(light, tmp_path, dense, capsys)
    assert stops(plain) - stops(dark) == pytest.approx(3.0, abs=1e-9)
    assert dark["nd_stops"] == 3
    shoot = check(tmp_path).shoot
    plan = plan_shot(shoot, shoot.shots[0])
    assert Exposure(plan.light.shutter, plan.light.speed, 5500.0).iso == pytest.approx(plan.light.iso / 8)


def test_nd_is_chosen_with_the_shutter_in_daylight(tmp_path, capsys):
    text = FREE.replace('sky = "dark"', DAYLIT).replace("[[shots]]", ND).replace('shutter = "1/125"', "")
    text = text.replace("iso = 100", "iso = 100\nwhen = 2026-06-10T09:00:00").replace(
        "aperture = 5.6", "aperture = 4"
    )
    found = told(balance, tmp_path, text + wish("stops = -0.5", "ambient", "within = 0.3"), capsys)
    assert found["met"]
    assert found["filters"] == ["ND 3"]
    shoot = check(tmp_path).shoot
    plan = plan_shot(shoot, shoot.shots[0])
    assert [f.id for f in plan.shot.filters] == ["ND 3"]
    assert plan.light.points[0].ambient_stops == pytest.approx(-0.5, abs=0.3)


def test_a_stop_that_is_free_keeps_the_sharp_sharp_and_the_soft_soft(tmp_path, capsys):
    two = FREE.replace("[[kit.bodies]]", '[[marks]]\nname = "far"\nat = [0.3, 3.9, 1.5]\n\n[[kit.bodies]]')
    two = two.replace("aperture = 5.6", 'soft = ["far"]').replace('sharp = ["card"]', 'sharp = ["card"]')
    found = told(balance, tmp_path, two + wish("stops = -6", "head") + "[shots.free]\naperture = true\n", capsys)
    shoot = check(tmp_path).shoot
    free = plan_focus(shoot, shoot.shots[0])
    plan = plan_shot(shoot, shoot.shots[0])
    assert plan.focus.setting.f_number == pytest.approx(found["f_number"])
    assert found["f_number"] >= free.setting.f_number * 0.999
    far = next(p for p in plan.focus.points if p.name == "far")
    assert far.blur_major > plan.focus.blur_limit


def test_the_stage_of_a_balanced_shot_is_as_it_was_balanced(tmp_path):
    """What the picture is traced from, metered again: the head gives what the wish got."""
    (tmp_path / "shoot.toml").write_text(FREE + wish("stops = -1", "head"))
    shoot = check(tmp_path).shoot
    shot = shoot.shots[0]
    planned, stage = plan_light(shoot, shot, plan_focus(shoot, shot))
    full, _ = plan_light(check_of(tmp_path, ONE_FRONT), *shot_of(tmp_path))
    card = Receptor((0.0, 3.0, 1.5), (0.0, -1.0, 0.0))
    exposed = meter(stage, [card]).value[0, 0]
    assert planned.heads[0].power < 1
    before = full.points[0].lights[0]
    assert math.log2(exposed / meter(stage_of(tmp_path), [card]).value[0, 0]) == pytest.approx(
        planned.points[0].lights[0].stops - before.stops, abs=1e-3
    )


def check_of(folder, text):
    (folder / "shoot.toml").write_text(text)
    return check(folder).shoot


def shot_of(folder):
    shoot = check(folder).shoot
    return shoot.shots[0], plan_focus(shoot, shoot.shots[0])


def stage_of(folder):
    shoot = check(folder).shoot
    return plan_light(shoot, *shot_of(folder))[1]


def front(distance, aside):
    """Of a 0.9 x 1.2 m front, what a receptor turned to its plane gets, on its axis or aside of it; by midpoints."""
    grid = (np.arange(150) + 0.5) / 150 - 0.5
    across, up = np.meshgrid(grid * 0.9, grid * 1.2)
    away = np.stack([aside - across, np.full_like(across, distance), -up], axis=-1)
    length = np.linalg.norm(away, axis=-1)
    return float((away[..., 1] ** 2 / length**4).mean())


@pytest.mark.parametrize("span", [(1.2, 3.0), (0.8, 4.0), (0.5, 4.0)])
def test_light_between_the_distances_metered(span):
    nodes = np.geomspace(*span, 5)
    logs = np.log2([[front(d, aside) for aside in (0.0, 1.5)] for d in nodes])
    for distance in np.geomspace(*span, 23):
        found = between(nodes, logs, float(distance))
        true = [front(distance, aside) for aside in (0.0, 1.5)]
        assert np.abs(np.log2(found / true)).max() < 0.005


def test_gel_packs_come_nearest_first():
    gels = (Gel("quarter", 40, 0.0, 0.8), Gel("half", 80, 0.0, 0.7), Gel("full", 160, 0.0, 0.55))
    nearest = gel_packs(flash(5600.0), gels, 1e6 / (1e6 / 5600 + 120))[0]
    assert [gel.id for gel in nearest.gels] == ["quarter", "half"]
    assert nearest.off < 5
    assert nearest.passed == pytest.approx(0.8 * 0.7, rel=0.03)
    assert gel_packs(flash(5600.0), gels, 5600.0)[0].gels == ()
    # of packs as near, the one that passes more
    twins = (Gel("dense", 80, 0.0, 0.5), Gel("clear", 80, 0.0, 0.7))
    assert gel_packs(flash(5600.0), twins, 1e6 / (1e6 / 5600 + 80))[0].gels[0].id == "clear"

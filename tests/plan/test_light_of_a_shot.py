"""The light table of whole shoots: against closed form, and facts of the trade.

The facts (the shutter moves ambient alone, a bounce is softer than a direct head, half the distance is two stops)
are common practice, no source; the closed form is Lambert's law, integrated here on a grid of its own.
"""

import math
from pathlib import Path

import numpy as np
import pytest

from sidelong.plan.predict import plan_shot
from sidelong.shoot.check import check

ONE_FRONT = (Path(__file__).parent / "one_front.toml").read_text()
DAYLIT = ONE_FRONT.replace('sky = "dark"', 'latitude = 54\nlongitude = 2\ntimezone = "UTC"\nsky = "clear"')


def planned(folder, text, name="shoot.toml"):
    path = folder / name
    path.write_text(text)
    checked = check(path)
    assert checked.shoot is not None, checked.faults
    return plan_shot(checked.shoot, checked.shoot.shots[0])


def point(plan, name="card"):
    return next(p for p in plan.light.points if p.name == name)


def front_integral(response):
    """Lux seconds at the card from the 0.9 x 1.2 m front, 8000 lm s leaving it, by midpoints on a 400 x 400 grid."""
    at, card = np.array([1.0, 1.0, 1.5]), np.array([0.0, 3.0, 1.5])
    axis = (card - at) / np.linalg.norm(card - at)
    right = np.cross(axis, [0.0, 0.0, 1.0])
    grid = (np.arange(400) + 0.5) / 400 - 0.5
    u, v = np.meshgrid(grid * 0.9, grid * 1.2)
    away = card - (at + u[..., None] * right + v[..., None] * np.array([0.0, 0.0, 1.0]))
    distance = np.linalg.norm(away, axis=-1)
    luminance = 400 * 40 * 0.5 / (math.pi * 0.9 * 1.2)
    return float((luminance * (away @ axis) / distance**3 * response(-away, distance)).mean() * 0.9 * 1.2)


def test_a_lone_front_gives_what_lambert_says(tmp_path):
    plan = planned(tmp_path, ONE_FRONT)
    (at,) = point(plan).lights
    axis = np.array([1.0, -2.0, 0.0]) / math.sqrt(5)
    to_camera = np.array([0.0, -1.0, 0.0])
    assert at.flat == pytest.approx(front_integral(lambda way, r: way @ axis / r), rel=3e-3)
    assert at.dome == pytest.approx(front_integral(lambda way, r: (1 + way @ to_camera / r) / 2), rel=3e-3)
    card = front_integral(lambda way, r: way @ to_camera / r)
    # film: 0.18 E / (4 N^2 (1 + m)^2), thin lens at 3 m
    reach = 3.0 - 0.05
    magnified = 1 + (reach - math.sqrt(reach**2 - 4 * 0.05**2)) / 2 / 0.05
    expected = math.log2(0.18 * card / (4 * 2**5 * magnified**2) / (10 / 100))
    assert at.stops == pytest.approx(expected, abs=0.01)


def test_the_shutter_moves_the_ambient_alone(tmp_path):
    long = point(planned(tmp_path, DAYLIT.replace("1/125", "1/60")))
    short = point(planned(tmp_path, DAYLIT.replace("1/125", "1/125")))
    assert long.flash_stops == pytest.approx(short.flash_stops, abs=1e-9)
    assert long.ambient_stops - short.ambient_stops == pytest.approx(1.0, abs=1e-9)


def test_the_aperture_moves_both(tmp_path):
    wide = point(planned(tmp_path, DAYLIT.replace("aperture = 5.6", "aperture = 4")))
    narrow = point(planned(tmp_path, DAYLIT))
    assert wide.flash_stops - narrow.flash_stops == pytest.approx(1.0, abs=1e-6)
    assert wide.ambient_stops - narrow.ambient_stops == pytest.approx(1.0, abs=1e-6)


def test_a_target_is_met_within_half_a_step(tmp_path):
    plan = planned(tmp_path, ONE_FRONT.replace("power = 1.0", 'target = { who = "card", stops = 0.5 }'))
    (head,) = plan.light.heads
    assert abs(head.miss_stops) <= 1 / 6 + 1e-9
    assert point(plan).lights[0].stops == pytest.approx(0.5 + head.miss_stops, abs=1e-6)
    assert not head.note


def test_a_target_out_of_reach_says_by_how_much(tmp_path):
    plan = planned(tmp_path, ONE_FRONT.replace("power = 1.0", 'target = { who = "card", stops = 5 }'))
    (head,) = plan.light.heads
    assert head.power == 1.0
    assert head.miss_stops == pytest.approx(point(plan).lights[0].stops - 5.0, abs=1e-6)
    assert "stops less than is asked" in head.note


def test_above_the_sync_speed_the_flash_loses(tmp_path):
    slow = point(planned(tmp_path, ONE_FRONT))
    plan = planned(tmp_path, ONE_FRONT.replace("1/125", "1/1000"))
    sync, shutter = 2 ** (-23 / 3), 2**-10
    assert slow.flash_stops - point(plan).flash_stops == pytest.approx(
        math.log2((sync + shutter) / shutter), abs=1e-6
    )
    assert any("sync" in note for note in plan.light.notes)


def test_a_shutter_left_out_is_set_by_the_ambient(tmp_path):
    text = DAYLIT.replace('shutter = "1/125"', "ambient = -1\nwhen = 2026-06-10T12:00:00")
    plan = planned(tmp_path, text)
    assert plan.light.shutter >= 2 ** (-23 / 3) * 0.999
    assert plan.light.notes


def test_half_the_distance_is_two_stops_for_a_small_source(tmp_path):
    bare = ONE_FRONT.replace('modifier = "box"\n', "").replace("at = [1.0, 1.0, 1.5]", "at = [0.0, {y}, 1.5]")
    far = point(planned(tmp_path, bare.format(y=1.0))).lights[0].flat
    near = point(planned(tmp_path, bare.format(y=2.0))).lights[0].flat
    assert near / far == pytest.approx(4.0, rel=0.01)

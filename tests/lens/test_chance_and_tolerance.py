"""Chances against sampling of the exact blur; leans and slack against the limit itself; the walk against its rule."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.lens.blur import blur
from sidelong.lens.chance import Hand, Sway, chance, frames_for
from sidelong.lens.geometry import geometry_of
from sidelong.lens.response import response, signed_blur
from sidelong.lens.ring import extension_for
from sidelong.lens.tolerance import lean_of, slack_of
from sidelong.lens.values import Lens, Movement, Setting
from sidelong.lens.walk import row_order, walk

LENS = Lens("l", 0.09, 2.8, movement=math.radians(8.5), closest=0.5)
LIMIT = 5e-6


def _setting():
    movement = Movement(swing=math.radians(3.0), tilt=math.radians(0.5))
    return Setting(LENS, movement, extension_for(LENS, movement, np.array([0.0, 0.0, 3.0])), 4.0)


def _people():
    glass = geometry_of(_setting())
    # two on the plane of focus (found along their lines of sight) and one a little off it
    out = []
    for x, off in ((-0.4, 0.0), (0.3, 0.01), (0.0, 0.02)):
        depths = np.linspace(2.0, 4.5, 20001)
        line = np.column_stack([np.full_like(depths, x), np.zeros_like(depths), depths])
        out.append(line[np.argmin(blur(glass, line).major)] + np.array([0.0, 0.0, off]))
    return np.array(out)


def _turned(points, right, up):
    """Points as a camera that has turned right and then up sees them. [rad]"""
    x, y, z = points.T
    x, z = x * math.cos(right) - z * math.sin(right), z * math.cos(right) + x * math.sin(right)
    y, z = y * math.cos(up) - z * math.sin(up), z * math.cos(up) + y * math.sin(up)
    return np.column_stack([x, y, z])


def test_chances_agree_with_sampling_the_exact_blur():
    people = _people()
    moves = [np.diag([0.007, 0.003, 0.02])] * 3
    hand = Hand(
        math.radians(0.1), math.radians(0.1), 8e-6, Sway(0.001, 0.002, 0.0005), math.radians(0.2), math.radians(0.1)
    )
    told = chance(_setting(), people, moves, hand, LIMIT)
    rng = np.random.default_rng(4)
    hits, each, draws = 0, np.zeros(3), 4000
    for _ in range(draws):
        s = _setting()
        moved = replace(
            s.movement,
            swing=s.movement.swing + rng.normal(0, hand.swing),
            tilt=s.movement.tilt + rng.normal(0, hand.tilt),
        )
        shaken = replace(s, movement=moved, extension=s.extension + rng.normal(0, hand.ring))
        at = people + np.array([m @ rng.standard_normal(3) for m in moves])
        at -= rng.normal(0, [hand.camera.side, hand.camera.up, hand.camera.fore])
        at = _turned(at, rng.normal(0, hand.yaw), rng.normal(0, hand.pitch))
        sharp = blur(geometry_of(shaken), at).major <= LIMIT
        each += sharp
        hits += bool(sharp.all())
    # four standard errors of the sampling, and 0.005 for the linear answer
    for k in range(3):
        p = told.each[k]
        assert each[k] / draws == pytest.approx(p, abs=4 * math.sqrt(p * (1 - p) / draws) + 5e-3)
    p = told.together
    assert 0.05 < p < 0.95
    assert hits / draws == pytest.approx(p, abs=4 * math.sqrt(p * (1 - p) / draws) + 5e-3)


def test_one_without_a_blur_is_sharp_in_no_frame():
    """Behind the lens: the others' chances stay what they are."""
    people, moves, hand = _people(), [np.diag([0.007, 0.003, 0.02])] * 3, Hand(0.002, 0.002, 8e-6)
    alone = chance(_setting(), people, moves, hand, LIMIT)
    told = chance(_setting(), np.vstack([people, [0.1, 0.0, -1.0]]), [*moves, moves[0]], hand, LIMIT)
    assert told.each[:3] == pytest.approx(alone.each, abs=1e-12)
    assert told.each[3] == 0.0
    assert (told.together, told.frames_95, told.culprit) == (0.0, None, alone.culprit)
    assert np.isinf(told.spread[3])


def test_frames_to_take():
    assert frames_for(0.5, 0.95) == 5
    assert frames_for(0.96, 0.95) == 1
    assert frames_for(0.0, 0.95) is None
    assert frames_for(1e-5, 0.95) is None
    for p in (0.1, 0.3, 0.8):
        n = frames_for(p, 0.99)
        assert 1 - (1 - p) ** n >= 0.99 > 1 - (1 - p) ** (n - 1)


def test_a_lean_ends_where_the_limit_is():
    people, setting = _people(), _setting()
    lean = lean_of(setting, people[0], LIMIT)
    glass = geometry_of(setting)
    sight = (people[0] - glass.principal) / np.linalg.norm(people[0] - glass.principal)
    assert blur(glass, people[0] - lean.nearer * sight).major == pytest.approx(LIMIT, rel=1e-6)
    assert blur(glass, people[0] + lean.farther * sight).major == pytest.approx(LIMIT, rel=1e-6)
    assert blur(glass, people[0] + np.array([lean.right, 0, 0])).major == pytest.approx(LIMIT, rel=1e-6)
    # up and down hardly leaves the plane of a lens that is mostly swung
    assert lean.up > 2 * lean.nearer


def test_slack_ends_where_the_first_one_is_soft():
    people, setting = _people(), _setting()
    slack = slack_of(setting, people, LIMIT)
    for sign, room in ((-1, slack.swing[0]), (1, slack.swing[1])):
        turned = replace(setting.movement, swing=setting.movement.swing + sign * room)
        worst = blur(geometry_of(replace(setting, movement=turned)), people).major.max()
        assert worst == pytest.approx(LIMIT, rel=1e-5)


def test_the_slopes_are_those_of_the_exact_blur():
    people, setting = _people() + np.array([0.0, 0.0, 0.3]), _setting()
    at = response(setting, people)
    step = 1e-4
    moved = signed_blur(geometry_of(setting), people + np.array([0.0, 0.0, step]))
    assert moved - at.signed == pytest.approx(at.where[:, 2] * step, rel=1e-2)
    # farther away than the plane of focus is negative, and going farther makes it more so
    assert np.all(at.signed < 0)
    assert np.all(at.where[:, 2] < 0)


def test_the_walk_follows_the_row_and_ends_at_infinity():
    lens = Lens("fifty", 0.05, 2.8, movement=math.radians(8), closest=0.45)
    row = np.array([[x, 0.0, 3.0] for x in (-0.9, -0.45, 0.0, 0.45, 0.9, 1.3)])
    start = Setting(lens, Movement(swing=math.radians(3.0)), 0.001, 2.8)
    steps = walk(start, row, 30e-6)
    for i, step in enumerate(steps[:5]):
        assert step.setting is not None
        assert step.blurs[i] < 1e-9
        # the published band, 2 x 94.5 mm at 30 micrometres and 3 m, f/2.8, swing 3 degrees
        assert step.half_width == pytest.approx(0.0945, rel=0.02)
        edge = row[i] + np.array([step.half_width, 0.0, 0.0])
        assert blur(geometry_of(step.setting), edge).major == pytest.approx(30e-6, rel=0.03)
    last = steps[5]
    assert last.setting is None
    assert "infinity" in last.why
    assert 0 < last.smaller < 1
    extension_for(lens, Movement(swing=math.radians(3.0) * last.smaller * 0.999), row[5])


def test_a_row_is_ordered_along_itself():
    row = [np.array([x, 0.1 * x, 3.0]) for x in (0.5, -0.5, 0.0)]
    assert row_order(row) in ([1, 2, 0], [0, 2, 1])

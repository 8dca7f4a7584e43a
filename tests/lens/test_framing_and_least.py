"""Framing held, least blurs and parts of bodies: held, and never better than without them."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import differential_evolution

from sidelong.errors import Impossible
from sidelong.lens.axis import from_movement_and_rotation
from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.live import follow
from sidelong.lens.ring import extension_for
from sidelong.lens.solve import find
from sidelong.lens.stop import stop_needed
from sidelong.lens.values import Lens, Movement, Setting
from sidelong.lens.wish import Framing, Wish
from sidelong.units import f_marks, true_f_number

LENS = Lens("l", 0.045, true_f_number(2.8), movement=math.radians(8.5), pivot=0.012, pupil_ratio=1.3)


def framed(seed, room=0.5e-3, lens=LENS):
    rng = np.random.default_rng(seed)
    sharp = np.stack([rng.uniform(-0.8, 0.8, 4), rng.uniform(-0.3, 0.3, 4), rng.uniform(2.5, 4.5, 4)], axis=1)
    straight = Setting(lens, Movement(), extension_for(lens, Movement(), sharp[0]), 2.8)
    framing = Framing(sharp, blur(geometry_of(straight), sharp).image, room)
    return Wish(lens, sharp, np.zeros((0, 3)), 60e-6, f_marks(lens.widest, lens.smallest), framing=framing)


def off(asked, setting):
    moved = blur(geometry_of(setting), asked.framing.points).image - asked.framing.images
    return float(np.max(np.abs(moved)))


def widest(asked):
    try:
        return find(asked).answer.widest_f
    except Impossible as error:
        return error.figures.get("widest_f", math.inf)


@pytest.mark.parametrize("seed", range(5))
def test_the_framing_is_held_and_shift_buys_some_of_it_back(seed):
    asked = framed(seed)
    shifting = replace(asked, lens=replace(LENS, shift=0.011))
    free = replace(asked, framing=None)
    held, corrected, best = widest(asked), widest(shifting), widest(free)
    assert held >= best * (1 - 1e-6)
    assert corrected <= held * (1 + 1e-6)
    for wish in (asked, shifting):
        try:
            setting = find(wish).answer.setting
        except Impossible:
            continue
        assert off(wish, setting) <= wish.framing.room * (1 + 1e-6)
        assert math.hypot(setting.movement.rise, setting.movement.shift) <= wish.lens.shift * (1 + 1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(3))
def test_held_framing_against_a_general_optimiser(seed):
    asked = framed(seed)

    def needed(x):
        swing, tilt = from_movement_and_rotation(x[0], x[1])
        setting = Setting(LENS, Movement(swing, tilt), x[2], LENS.widest)
        value = stop_needed(setting, asked.sharp, asked.blur_limit)
        over = max(0.0, off(asked, setting) / asked.framing.room - 1.0)
        return (value if math.isfinite(value) else 1e3) + 1e3 * over

    bounds = [(0, LENS.movement), (0, 2 * math.pi), (0, 0.05 * LENS.focal_length)]
    best = differential_evolution(needed, bounds, seed=seed, maxiter=60, popsize=12, tol=1e-10).fun
    assert widest(asked) <= best * 1.001


def test_a_least_blur_is_had_and_one_too_large_says_how_much_can_be():
    rng = np.random.default_rng(5)
    sharp = np.stack([rng.uniform(-0.6, 0.6, 2), rng.uniform(-0.2, 0.2, 2), rng.uniform(2.5, 3.5, 2)], axis=1)
    soft = np.array([[0.4, 0.1, 4.3]])
    lens = replace(LENS, pivot=0.0)
    plain = Wish(lens, sharp, soft, 40e-6, f_marks(lens.widest, lens.smallest))
    most = find(plain).answer.soft_least
    answer = find(replace(plain, least=np.array([0.5 * most]))).answer
    assert answer.soft_residuals[0] >= 1.0
    # what is not asked of the soft one makes the sharp ones sharper
    assert np.max(answer.residuals) < np.max(find(plain).answer.residuals)
    with pytest.raises(Impossible) as caught:
        find(replace(plain, least=np.array([2.0 * most])))
    assert caught.value.figures["share_of_least"] == pytest.approx(0.5, abs=0.01)


def test_one_with_a_least_blur_beside_one_as_soft_as_can_be():
    sharp = np.array([[-0.3, 0.0, 3.0], [0.3, 0.1, 3.2]])
    soft = np.array([[0.5, 0.1, 4.4], [-0.6, 0.0, 2.5]])
    lens = replace(LENS, pivot=0.0)
    both = Wish(lens, sharp, soft, 40e-6, f_marks(lens.widest, lens.smallest), least=np.array([0.0, 100e-6]))
    answer = find(both).answer
    majors = blur(geometry_of(answer.setting), soft).major
    assert majors[1] >= 100e-6
    assert answer.soft_least == pytest.approx(majors[0], rel=1e-12)


@pytest.mark.parametrize("seed", range(4))
def test_more_points_of_a_body_never_widen_the_stop(seed):
    asked = replace(framed(seed), framing=None)
    chin = asked.sharp[:1] + np.array([[0.0, -0.1, 0.05]])
    assert widest(replace(asked, sharp=np.concatenate([asked.sharp, chin]))) >= widest(asked) * (1 - 1e-6)


@pytest.mark.parametrize("seed", range(4))
def test_with_a_least_blur_for_everybody_the_stop_is_the_widest_mark_that_serves(seed):
    rng = np.random.default_rng(seed)
    sharp = np.stack([rng.uniform(-0.6, 0.6, 5), rng.uniform(-0.3, 0.3, 5), rng.uniform(2.5, 3.5, 5)], axis=1)
    soft = np.array([[0.4, 0.1, 5.3], [-0.5, 0.0, 1.6]])
    asked = Wish(LENS, sharp, soft, 7e-6, f_marks(LENS.widest, LENS.smallest), least=np.array([9e-6, 12e-6]))
    answer = find(asked).answer
    assert np.all(answer.soft_residuals >= 1.0)
    assert np.all(answer.residuals <= 1.0)
    wider = [n for n in asked.marks if n < answer.setting.f_number * (1 - 1e-9)]
    assert wider
    for stop in wider[-3:]:
        with pytest.raises(Impossible):
            find(replace(asked, f_number=stop))
    # and while somebody is dragged it does not close step by step
    assert follow(asked, find(asked)).answer.setting.f_number == answer.setting.f_number

"""The bounds: never beaten by any sampled setting, and near the solver's value."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.errors import Impossible
from sidelong.lens.axis import from_movement_and_rotation
from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.interval import interval
from sidelong.lens.proof import softest_bound, widest_bound
from sidelong.lens.solve import find, solve_movement
from sidelong.lens.stop import stop_needed
from sidelong.lens.values import Lens, Movement, Setting
from sidelong.lens.wish import Wish
from sidelong.units import f_marks, true_f_number


def _wish(seed):
    rng = np.random.default_rng(seed)
    lens = Lens(
        "l", float(rng.choice([0.024, 0.045, 0.09])), true_f_number(2.8), movement=math.radians(8.5), closest=0.5,
        pivot=float(rng.choice([0.0, 0.01])), pupil_ratio=float(rng.choice([0.8, 1.0, 1.4])),
    )  # fmt: skip

    def people(n):
        return np.stack([rng.uniform(-0.8, 0.8, n), rng.uniform(-0.35, 0.35, n), rng.uniform(2.5, 4.5, n)], axis=1)

    return Wish(lens, people(4), people(1), 40e-6, f_marks(lens.widest, lens.smallest))


def _random_setting(wish, rng, f_number):
    swing, tilt = from_movement_and_rotation(rng.uniform(0, wish.lens.movement), rng.uniform(0, 2 * math.pi))
    extension = rng.uniform(0, wish.lens.focal_length**2 / 1.5)
    return Setting(wish.lens, Movement(swing, tilt), extension, f_number)


@pytest.mark.parametrize("seed", range(5))
def test_no_sampled_setting_undercuts_the_bound(seed):
    wish = _wish(seed)
    try:
        found = solve_movement(wish).widest_f
    except Impossible as error:
        found = error.figures["widest_f"]
    proved = widest_bound(wish, found)
    assert proved <= found
    assert proved >= found * 0.95
    rng = np.random.default_rng(seed)
    sampled = [
        stop_needed(_random_setting(wish, rng, wish.lens.widest), wish.sharp, wish.blur_limit) for _ in range(400)
    ]
    assert min(s for s in sampled if math.isfinite(s)) >= proved


@pytest.mark.parametrize("seed", range(3))
def test_no_sampled_setting_is_softer_than_the_bound(seed):
    wish = replace(_wish(seed), sharp=_wish(seed).sharp[:2])
    answer = solve_movement(wish)
    proved = softest_bound(wish, answer.soft_least, answer.setting.f_number)
    assert answer.soft_least <= proved <= answer.soft_least * 1.25
    rng = np.random.default_rng(seed)
    for _ in range(1500):
        glass = geometry_of(_random_setting(wish, rng, answer.setting.f_number))
        if np.all(blur(glass, wish.sharp).major <= wish.blur_limit):
            assert float(np.min(blur(glass, wish.soft).major)) <= proved


def test_a_larger_budget_only_tightens():
    wish = _wish(1)
    try:
        found = solve_movement(wish).widest_f
    except Impossible as error:
        found = error.figures["widest_f"]
    bounds = [widest_bound(wish, found, budget=budget) for budget in (0, 8, 40)]
    assert bounds == sorted(bounds)


def test_intervals_hold_what_they_claim():
    rng = np.random.default_rng(0)
    for _ in range(200):
        a, b = np.sort(rng.normal(size=2)), np.sort(rng.normal(size=2))
        x, y = rng.uniform(*a), rng.uniform(*b)
        one, two = interval(*a), interval(*b)
        for result, value in (
            (one + two, x + y), (one - two, x - y), (one * two, x * y), (one.square(), x * x),
            (2.0 - one, 2 - x), (one / (two.square() + 1.0), x / (y * y + 1)),
        ):  # fmt: skip
            assert result.low - 1e-12 <= value <= result.high + 1e-12


def test_what_stopped_in_a_lesser_valley_is_found_out_and_mended():
    """Values of a general optimiser (differential evolution over movement and ring, twelve rotations)."""
    lens = Lens(
        "l", 0.045, 4.0, movement=0.17720566858111378, rotation_step=math.pi / 6, closest=0.5714253477483122,
        pupil_ratio=1.3029215513942047, pivot=-0.005948024087584738, ring_error=3.0414600671627618e-05,
    )  # fmt: skip
    sharp = np.array([[-0.42850126, 0.02157621, 2.87614296]])
    soft = np.array(
        [
            [-0.26617126, -0.0118721, 2.71682335],
            [0.91781993, 0.97674305, 4.51489903],
            [0.93849931, -0.07130173, 3.05414065],
        ]
    )
    wish = Wish(lens, sharp, soft, 66.19765928016585e-6, f_marks(lens.widest, lens.smallest))
    softest = 177.30594e-6
    assert find(wish).answer.soft_least < 0.93 * softest
    assert solve_movement(wish).soft_least >= 0.994 * softest

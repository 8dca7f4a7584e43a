"""Readings on the day: synthetic truths, outliers, and the least squares against a general optimiser's."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from sidelong.errors import InputFault
from sidelong.light.readings import (
    METER_SIGMA,
    STROBE_SIGMA,
    TAIL,
    Prior,
    Said,
    corrected,
    corrected_error,
    foretold,
    learn,
    mean_factor,
    outlier_in_words,
)


def room(seed, points=8, lights=4, bright=0.5):
    """Predicted light of every light at every point: straight, and what a room adds (P, L) each. [lx s]"""
    generator = np.random.default_rng(seed)
    whole = 2.0 ** generator.uniform(-3, 3, (points, lights))
    share = generator.uniform(0.0, bright, (points, lights))
    return whole * (1 - share), whole * share


def one_each(direct, reflected, truth, at):
    """A reading of each light alone, at the point that `at` names for it, of a truth (L + 1,) in stops."""
    lights = direct.shape[1]
    rows = np.eye(lights, dtype=bool)
    seen = [np.where(rows, table[at], 0.0) for table in (direct, reflected)]
    said = Said(seen[0], seen[1], np.ones(lights), np.full(lights, METER_SIGMA))
    return replace(said, value=2.0 ** foretold(said, truth))


def kit(lights):
    return Prior((STROBE_SIGMA,) * lights)


def true_light(direct, reflected, truth):
    return 2.0 ** truth[:-1] * (direct + 2.0 ** truth[-1] * reflected)


@settings(max_examples=60)
@given(st.integers(0, 10**6), st.lists(st.sampled_from([-2.0, 2.0, 0.0]), min_size=4, max_size=4))
def test_one_reading_a_light_brings_heads_two_stops_out_back_at_all_other_people(seed, wrong):
    direct, reflected = room(seed)
    truth = np.array([*wrong, 0.0])
    at = np.random.default_rng(seed + 1).integers(0, len(direct), 4)
    learned = learn(one_each(direct, reflected, truth, at), kit(4))
    found = corrected(learned, direct, reflected).sum(axis=1)
    assert np.abs(np.log2(found / true_light(direct, reflected, truth).sum(axis=1))).max() < 0.15
    assert not learned.outlier.any()


def test_every_head_too_strong_in_a_bright_room_is_not_blamed_on_the_room():
    direct, reflected = room(5, lights=6, bright=0.6)
    truth = np.array([2.0] * 6 + [0.0])
    learned = learn(one_each(direct, reflected, truth, np.arange(6)), kit(6))
    off = np.log2(corrected(learned, direct, reflected) / true_light(direct, reflected, truth))
    assert np.abs(off).max() < 0.25
    assert abs(learned.place) < 0.3


def test_many_readings_tell_the_room_from_the_lights():
    direct, reflected = room(7, points=40, lights=2, bright=0.95)
    truth = np.array([0.6, -0.4, -0.5])
    rows = [np.eye(2, dtype=bool)[k % 2] for k in range(40)]
    said = Said(np.where(rows, direct, 0.0), np.where(rows, reflected, 0.0), np.ones(40), np.full(40, 0.05))
    said = replace(said, value=2.0 ** foretold(said, truth))
    learned = learn(said, kit(2))
    assert np.array([*learned.stops, learned.place]) == pytest.approx(truth, abs=0.03)
    assert learned.place_sigma < 0.05


def test_readings_of_all_lights_together_part_them():
    """Totals where one light or another leads, as light: no reading takes in one light alone."""
    direct = np.array([[8.0, 1.0], [1.0, 6.0], [3.0, 3.0]])
    said = Said(direct, 0 * direct, np.ones(3), np.full(3, METER_SIGMA))
    truth = np.array([1.5, -1.0, 0.0])
    learned = learn(replace(said, value=2.0 ** foretold(said, truth)), kit(2))
    assert learned.stops == pytest.approx(truth[:2], abs=0.15)
    assert list(learned.used) == [3, 3]


@pytest.mark.parametrize("seed", range(12))
def test_least_squares_agrees_with_a_general_optimiser(seed):
    generator = np.random.default_rng(seed)
    direct, reflected = room(seed, points=9, lights=3)
    seen = generator.random((9, 3)) < 0.6
    seen[np.arange(9), generator.integers(0, 3, 9)] = True
    said = Said(np.where(seen, direct, 0.0), np.where(seen, reflected, 0.0), np.ones(9), np.full(9, METER_SIGMA))
    truth = np.array([*generator.normal(0, 0.7, 3), 0.2])
    said = replace(said, value=2.0 ** (foretold(said, truth) + generator.normal(0, 0.03, 9)))
    prior = Prior((0.7, 0.5, 0.7))
    learned = learn(said, prior)
    assert not learned.outlier.any()

    def residuals(x):
        z = x[:-1] / np.array(prior.sigma)
        lights = np.sign(z) * np.sqrt((TAIL + 1) * np.log1p(z**2 / TAIL))
        return np.concatenate([(foretold(said, x) - np.log2(said.value)) / said.sigma, lights, [x[-1] / prior.place]])

    other = least_squares(residuals, truth, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    assert np.array([*learned.stops, learned.place]) == pytest.approx(other.x, abs=2e-5)


def test_stated_uncertainty_is_the_error_made():
    """400 worlds drawn from the prior and the meter: errors over their stated sigma have a spread of 1.

    Their mean square is chi-square over its degrees; 400 of them lie within 1 +- 0.2 (2.8 sigma: false alarm under
    0.6 %). The world's lights are drawn from Student's t, as the prior says.
    """
    generator = np.random.default_rng(3)
    scores = []
    for seed in range(400):
        direct, reflected = room(seed, lights=2)
        truth = np.array([*(STROBE_SIGMA * generator.standard_t(TAIL, 2)), 0.3 * generator.normal()])
        said = one_each(direct, reflected, truth, np.array([0, 1]))
        said = replace(said, value=said.value * 2.0 ** (METER_SIGMA * generator.normal(size=2)))
        learned = learn(said, kit(2))
        off = np.log2(corrected(learned, direct, reflected) / true_light(direct, reflected, truth))
        scores.append(off[5, 0] / corrected_error(learned, direct, reflected)[5, 0])
    assert np.mean(np.square(scores)) == pytest.approx(1.0, abs=0.2)


@pytest.mark.parametrize("wrong", [1.0, -1.0, 3.0])
@pytest.mark.parametrize("index", range(5))
def test_a_slip_of_the_meter_is_named_and_left_out(index, wrong):
    direct, reflected = room(11, points=5, lights=1)
    said = Said(direct, reflected, np.ones(5), np.full(5, METER_SIGMA))
    said = replace(said, value=2.0 ** foretold(said, [0.8, 0.0]))
    clean = learn(said, kit(1))
    value = said.value.copy()
    value[index] *= 2.0**wrong
    learned = learn(replace(said, value=value), kit(1))
    assert list(np.flatnonzero(learned.outlier)) == [index]
    assert learned.stops == pytest.approx(clean.stops, abs=0.03)
    assert learned.miss[index] == pytest.approx(wrong, abs=0.1)
    assert list(learned.used) == [4]
    words = outlier_in_words(learned, index, "key at Ana")
    assert words.startswith(f"key at Ana: left out, {abs(learned.miss[index]):.1f} stops")
    assert ("over" in words) == (wrong > 0)


def test_two_readings_that_contradict_each_other_say_so():
    direct = np.ones((2, 1))
    said = Said(direct, 0 * direct, np.array([1.1, 5.0]), np.full(2, METER_SIGMA))
    learned = learn(said, kit(1))
    assert list(learned.outlier) == [False, True]
    assert "read both again" in outlier_in_words(learned, 1, "key")


def test_an_only_reading_is_believed_however_far_it_is():
    said = Said(np.ones((1, 1)), np.zeros((1, 1)), np.array([2.0**-4]), np.array([METER_SIGMA]))
    learned = learn(said, kit(1))
    assert not learned.outlier.any()
    assert learned.stops[0] == pytest.approx(-4.0, abs=0.05)


def test_without_readings_the_prior_stands():
    none = Said(np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0), np.zeros(0))
    learned = learn(none, Prior((0.7, 0.5)))
    assert learned.stops == pytest.approx([0.0, 0.0])
    assert learned.place_sigma == pytest.approx(0.3)
    # Student's t by its curvature at the top: narrower than its stated width by sqrt(3 / 4)
    assert learned.sigma == pytest.approx(np.array([0.7, 0.5]) * np.sqrt(TAIL / (TAIL + 1)))


@given(st.integers(0, 10**6), st.floats(0.01, 100.0))
def test_the_unit_does_not_matter(seed, unit):
    direct, reflected = room(seed, lights=2)
    said = one_each(direct, reflected, np.array([0.5, -1.0, 0.1]), np.array([0, 3]))
    other = Said(said.direct * unit, said.reflected * unit, said.value * unit, said.sigma)
    assert learn(other, kit(2)).stops == pytest.approx(learn(said, kit(2)).stops, abs=1e-7)


@given(st.integers(0, 10**6))
def test_a_reading_as_foretold_changes_nothing_but_the_doubt(seed):
    direct, reflected = room(seed, lights=2)
    said = one_each(direct, reflected, np.zeros(3), np.array([1, 2]))
    learned = learn(said, kit(2))
    assert learned.stops == pytest.approx([0.0, 0.0], abs=1e-9)
    assert np.all(learned.sigma < STROBE_SIGMA / 2)
    assert mean_factor(learned, direct, reflected) == pytest.approx([1.0, 1.0], abs=1e-8)


def test_a_light_that_does_not_reach_cannot_be_read():
    said = Said(np.zeros((1, 1)), np.zeros((1, 1)), np.array([1.0]), np.array([0.1]))
    with pytest.raises(InputFault, match="reading 1"):
        learn(said, kit(1))
    with pytest.raises(InputFault, match="shape"):
        learn(said, kit(2))

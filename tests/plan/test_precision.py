"""Which points are worth more light paths. The arithmetic is that of independent errors; the limits are our own."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sidelong.plan.precision import LIGHT_ERROR, METER_ERROR, SET_ERROR, error_of_sums, excess, in_stops

STOP = math.log(2.0)


def test_errors_of_sums_in_stops():
    assert in_stops(np.array([[3.0, 4.0]]), np.array([[60.0, 40.0]])) == pytest.approx([5.0 / 100 / STOP])
    assert in_stops(np.array([[0.0, 0.0]]), np.array([[0.0, 0.0]])).tolist() == [0.0]


def test_a_faint_light_may_be_uncertain_and_one_that_counts_may_not():
    value = np.array([[100.0, 1.0], [100.0, 100.0]])
    error = value * np.array([0.001, 0.3])
    faint, equal = excess(value, error, ())
    assert faint < 1.0
    assert equal == pytest.approx(0.3 / STOP / METER_ERROR, rel=1e-3)


def test_a_light_at_a_person_is_known_best():
    value, error = np.full((2, 2), 10.0), np.array([[0.1, 0.0], [0.1, 0.0]])
    person, mark = excess(value, error, (), 1)
    assert person == pytest.approx(0.01 / STOP / LIGHT_ERROR)
    assert mark == pytest.approx(0.01 / STOP / METER_ERROR)


def test_what_a_head_is_set_by_counts_at_its_point_alone():
    value = np.array([[1.0, 99.0], [1.0, 99.0]])
    error = np.array([[0.05, 0.0], [0.05, 0.0]])
    there, elsewhere = excess(value, error, [(0, [0])])
    assert there == pytest.approx(0.05 / STOP / SET_ERROR)
    assert elsewhere < 1.0


def test_other_meters_count_by_themselves():
    value, error = np.full((2, 2), 10.0), np.full((2, 2), 0.01)
    flat_error = np.array([[0.5, 0.01], [0.01, 0.01]])
    one, other = excess(value, error, (), 1, [(value, flat_error)])
    assert one == pytest.approx(0.05 / STOP / METER_ERROR)
    assert other < 1.0


def test_errors_of_meters_that_take_all_lights_together():
    """Steady light over a tenth of a second; the flash alone is known worse than both together."""
    value, error = np.array([[4.0, 40.0], [4.0, 0.1]]), np.array([[0.2, 0.0], [0.2, 0.1]])
    found = error_of_sums(value, error, (True, False), 0.1)
    # the second's steady light lies far under its flash, and is let go
    assert found == pytest.approx([0.05 / STOP, np.hypot(0.2, 0.01) / 4.01 / STOP], rel=5e-3)

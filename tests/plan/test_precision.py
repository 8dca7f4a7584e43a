"""Which points are worth more light paths. The arithmetic is that of independent errors; the limits are our own."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sidelong.plan.precision import PART_ERROR, SET_ERROR, TOTAL_ERROR, excess, in_stops

STOP = math.log(2.0)


def test_errors_of_sums_in_stops():
    assert in_stops(np.array([[3.0, 4.0]]), np.array([[60.0, 40.0]])) == pytest.approx([5.0 / 100 / STOP])
    assert in_stops(np.array([[0.0, 0.0]]), np.array([[0.0, 0.0]])).tolist() == [0.0]


def test_a_faint_light_may_be_uncertain_and_an_equal_one_may_not():
    value = np.array([[100.0, 1.0], [100.0, 100.0]])
    error = value * np.array([0.001, 0.3])
    faint, equal = excess(value, error, (True, False), ())
    assert faint < 1.0
    assert equal == pytest.approx(0.3 / STOP / PART_ERROR, rel=1e-3)


def test_flash_and_ambient_count_by_themselves_until_they_are_far_under():
    value, error = np.array([[4.0, 1.0], [8.0, 0.9]]), np.array([[0.0, 0.1], [0.0, 0.09]])
    near, far = excess(value, error, (True, False), ())
    assert near == pytest.approx(0.1 / STOP / PART_ERROR)
    assert far == pytest.approx(0.09 / 8.9 / STOP / TOTAL_ERROR)


def test_what_a_head_is_set_by_counts_at_its_point_alone():
    value = np.array([[1.0, 99.0], [1.0, 99.0]])
    error = np.array([[0.05, 0.0], [0.05, 0.0]])
    there, elsewhere = excess(value, error, (True, False), [(0, [0])])
    assert there == pytest.approx(0.05 / STOP / SET_ERROR)
    assert elsewhere < 1.0

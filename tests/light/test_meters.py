"""Meters' scales (ISO 2720:1974) and penumbrae by exact geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sidelong.light.meters import C_DOME, C_FLAT, K_SPOT, exposure_value, f_stop, penumbra

UP = np.array([0.0, 0.0, 1.0])


def front(width, height, distance, turned=0.0):
    """Corners of an upright front in direction +x, turned about the vertical."""
    side = np.array([math.sin(turned), math.cos(turned), 0.0]) * width / 2
    middle = np.array([distance, 0.0, 0.0])
    return np.array([middle + i * side + j * UP * height / 2 for i in (-1, 1) for j in (-1, 1)])


def test_scales_of_meters():
    # EV 15 at ISO 100: 4096 cd/m2, 1/125 s at f/16 within the rounding of marks
    assert exposure_value(4096.0, K_SPOT) == pytest.approx(15.0)
    assert f_stop(4096.0, 0.0, 1 / 128, 100, K_SPOT) == pytest.approx(16.0)
    assert exposure_value(2.5, C_FLAT) == pytest.approx(0.0)
    assert exposure_value(3.4, C_DOME) == pytest.approx(0.0)
    assert f_stop(0.0, 340.0 * 64 / 100, 1.0, 100, C_DOME) == pytest.approx(8.0)
    assert exposure_value(0.0, C_FLAT) == -math.inf


def test_penumbra_of_a_front_square_to_the_face():
    # similar triangles: 0.9 m at 1.8 m, 20 mm behind the edge: 10 mm, whatever the height
    for height in (0.01, 1.2):
        assert penumbra(front(0.9, height, 1.8), np.zeros(3), UP, 0.02) == pytest.approx(0.010)


def test_penumbra_of_a_turned_front_against_rays():
    """Rays from both sides past the edge, hit with the plane one by one."""
    outline, throw = front(0.9, 1.2, 1.5, turned=0.7), 0.02
    hits = [-throw / corner[0] * corner[1] for corner in outline]
    assert penumbra(outline, np.zeros(3), UP, throw) == pytest.approx(max(hits) - min(hits))


def test_no_penumbra_where_the_edge_points_at_the_light():
    assert penumbra(front(0.1, 0.1, 1.0), np.zeros(3), np.array([1.0, 0.0, 0.0]), 0.02) is None

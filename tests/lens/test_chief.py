"""Rays out of the picture against the imaging of points: inverse to one another, by formulas derived apart."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sidelong.lens.blur import blur
from sidelong.lens.chief import chief_rays
from sidelong.lens.geometry import geometry_of
from sidelong.lens.values import Lens, Movement, Setting


@pytest.mark.parametrize("curved", [0.0, 0.4])
@pytest.mark.parametrize("movement", [Movement(), Movement(0.12, -0.08, 0.003, -0.005)])
def test_what_a_ray_meets_is_imaged_where_it_left(movement, curved):
    lens = Lens("a", 0.045, 2.8, 22.0, pupil_ratio=0.8, pivot=0.01, field_curvature=curved)
    glass = geometry_of(Setting(lens, movement, 0.0008, 4.0))
    image = np.array([[0.0, 0.0], [0.017, 0.011], [-0.012, 0.004], [0.003, -0.0117]])
    origin, way = chief_rays(glass, image)
    assert np.linalg.norm(way, axis=1) == pytest.approx(1.0)
    for reach in (0.7, 3.0, 4000.0):
        assert blur(glass, origin + reach * way).image == pytest.approx(image, abs=1e-9)


def test_a_ray_to_infinity():
    """With the film in the focal plane an unmoved lens looks along its axis in the middle, aside by the tangent."""
    glass = geometry_of(Setting(Lens("a", 0.05, 2.8, 22.0), Movement(), 0.0, 8.0))
    _, way = chief_rays(glass, np.array([[0.0, 0.0], [0.018, 0.0]]))
    assert way[0] == pytest.approx([0.0, 0.0, 1.0])
    assert math.atan2(way[1, 0], way[1, 2]) == pytest.approx(math.atan(18 / 50))

"""The blur of each pixel against the lens's own figures for the point it shows."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.values import Lens, Movement, Setting
from sidelong.picture.blurmap import blur_map, pixel_positions, points_seen, to_pixels
from sidelong.trace.values import View

angles = st.floats(-0.15, 0.15)


@given(angles, angles, st.floats(0.7, 1.5), st.floats(-0.02, 0.03), st.floats(0.0, 0.008))
def test_a_point_is_found_again_from_where_it_is_imaged(
    swing: float, tilt: float, ratio: float, pivot: float, extension: float
) -> None:
    lens = Lens("any", 0.09, 2.8, pupil_ratio=ratio, pivot=pivot)
    glass = geometry_of(Setting(lens, Movement(swing, tilt, 0.004, -0.006), extension, 2.8))
    points = np.array([[0.3, -0.2, 2.0], [-0.5, 0.4, 5.0], [0.0, 0.0, 1.2], [2.0, 1.0, 40.0]])
    seen = blur(glass, points)
    again = points_seen(glass, seen.image[seen.in_front], points[seen.in_front, 2])
    np.testing.assert_allclose(again, points[seen.in_front], atol=1e-9)


def test_map_agrees_with_the_lens_point_by_point(view: View) -> None:
    glass = geometry_of(view.setting)
    pixels = pixel_positions(view)
    depth = np.linspace(1.5, 8.0, view.width * view.height, dtype=np.float32).reshape(view.height, view.width)
    made = blur_map(view, depth)
    for y, x in ((0, 0), (10, 80), (30, 45), (59, 89)):
        point = points_seen(glass, pixels[y, x][None], depth[y, x : x + 1])
        assert made[y, x] == pytest.approx(blur(glass, point).major[0], rel=1e-5)
        assert blur(glass, point).image[0] == pytest.approx(pixels[y, x], abs=1e-12)


def test_wall_in_focus_is_sharp_and_the_sky_is_not(view: View) -> None:
    straight = dataclasses.replace(
        view, setting=Setting(Lens("plain", 0.09, 2.8), Movement(), 0.09**2 / (3.0 - 0.09), 2.8)
    )
    depth = np.full((view.height, view.width), 3.0, np.float32)
    depth[:10] = np.inf
    made = blur_map(straight, depth)
    # depth counts from the lens at infinity; the ring has moved the principal point 2.8 mm on
    assert made[20:].max() < 0.1e-3
    assert made[:10].min() > 0.5e-3


def test_pixels_and_positions_are_each_others_inverse(view: View) -> None:
    there = to_pixels(view, pixel_positions(view))
    np.testing.assert_allclose(there[0, 0], [0.5, 0.5])
    np.testing.assert_allclose(there[-1, -1], [view.width - 0.5, view.height - 0.5])


def test_unknown_depth_is_unknown_blur(view: View) -> None:
    depth = np.full((view.height, view.width), 3.0, np.float32)
    depth[3, 4] = np.nan
    made = blur_map(view, depth)
    assert np.isnan(made[3, 4])
    assert np.isnan(made).sum() == 1

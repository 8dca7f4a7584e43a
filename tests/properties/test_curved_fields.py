"""Mirror, scale and limit properties of a moved lens of curved field."""

import math
from dataclasses import replace

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st

from sidelong.errors import OutOfReach
from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.plane import hinge_distance
from sidelong.lens.ring import extension_for
from sidelong.lens.values import Lens, Movement, Setting

angle = st.floats(-0.2, 0.2)
kappas = st.floats(-0.2, 0.2)
point = st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(1.5, 9)).map(np.array)
lenses = st.builds(
    lambda f, p, pivot, kappa: Lens("l", f, 2.0, pupil_ratio=p, pivot=pivot, field_curvature=kappa),
    st.sampled_from([0.024, 0.05, 0.09]), st.floats(0.5, 2.0), st.floats(-0.02, 0.03), kappas,
)  # fmt: skip


def focused(lens, swing, tilt, on, rise=0.0, shift=0.0):
    movement = Movement(swing, tilt, rise, shift)
    try:
        extension = extension_for(lens, movement, on)
    except OutOfReach:
        assume(False)
        raise
    return geometry_of(Setting(lens, movement, extension, 2.8))


@given(lenses, angle, angle, point)
def test_the_focused_point_is_sharp(lens, swing, tilt, on):
    assert blur(focused(lens, swing, tilt, on), on).major < 1e-12


@given(lenses, angle, angle, point, point)
def test_left_and_right_are_mirror_images(lens, swing, tilt, on, other):
    mirror = np.array([-1.0, 1.0, 1.0])
    one = blur(focused(lens, swing, tilt, on, 0.004, 0.003), other)
    two = blur(focused(lens, -swing, tilt, on * mirror, 0.004, -0.003), other * mirror)
    assert np.isclose(one.major, two.major, rtol=1e-9, atol=1e-14)
    assert np.isclose(one.minor, two.minor, rtol=1e-9, atol=1e-14)


@given(lenses, angle, angle, point, point, st.floats(0.2, 5))
def test_everything_scales_kappa_kept(lens, swing, tilt, on, other, factor):
    one = blur(focused(lens, swing, tilt, on), other)
    larger = replace(lens, focal_length=lens.focal_length * factor, pivot=lens.pivot * factor)
    two = blur(focused(larger, swing, tilt, on * factor), other * factor)
    assert np.isclose(one.major * factor, two.major, rtol=1e-7, atol=1e-14)
    assert np.allclose(one.image * factor, two.image, rtol=1e-7, atol=1e-14)


@given(lenses, angle, angle, point, point)
def test_a_vanishing_curvature_is_none(lens, swing, tilt, on, other):
    flat = focused(replace(lens, field_curvature=0.0), swing, tilt, on)
    nearly = focused(replace(lens, field_curvature=1e-9), swing, tilt, on)
    one, two = blur(flat, other), blur(nearly, other)
    # the sag is at most kappa f tan^2, its blur that over f/2.8
    assert np.isclose(one.major, two.major, rtol=1e-6, atol=2e-9 * lens.focal_length)
    assert np.allclose(one.image, two.image, rtol=1e-6, atol=1e-12)


@given(st.sampled_from([0.024, 0.05, 0.09]), st.floats(-0.1, 0.1), st.floats(0.0005, 0.01), st.floats(0, 6.28))
def test_a_small_movement_acts_one_minus_two_kappa_as_strong(focal, kappa, movement, rotation):
    lens = Lens("l", focal, 2.0, field_curvature=kappa)
    glass = focused(lens, movement * math.cos(rotation), movement * math.sin(rotation), np.array([0, 0, 1e4 * focal]))
    distance = hinge_distance(glass)
    assert distance is not None
    # exact for f / d = 1, a far point; the film's distance and the movement's square come next
    assert math.isclose(distance, focal / math.sin(movement) / (1 - 2 * kappa), rel_tol=1e-3)

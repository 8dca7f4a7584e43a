"""Mirror, scale, inverse and limit properties of the moved lens."""

import math
from dataclasses import replace

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sidelong.errors import OutOfReach
from sidelong.frames_of_reference import body_to_renderer, camera_frame
from sidelong.lens.axis import from_movement_and_rotation, lens_axis, movement_and_rotation, swing_and_tilt
from sidelong.lens.blur import blur
from sidelong.lens.falloff import irradiance_per_radiance
from sidelong.lens.geometry import geometry_of
from sidelong.lens.plane import hinge_line, plane_of_focus
from sidelong.lens.ring import extension_at, extension_for, ring_distance
from sidelong.lens.values import Lens, Movement, Setting

angle = st.floats(-0.2, 0.2)
point = st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(1.5, 9)).map(np.array)
lenses = st.builds(
    lambda f, p, pivot: Lens("l", f, 2.0, pupil_ratio=p, pivot=pivot),
    st.sampled_from([0.024, 0.05, 0.09]), st.floats(0.5, 2.0), st.floats(-0.02, 0.03),
)  # fmt: skip


def focused(lens, swing, tilt, on, rise=0.0, shift=0.0):
    movement = Movement(swing, tilt, rise, shift)
    try:
        extension = extension_for(lens, movement, on)
    except OutOfReach:
        assume(False)
        raise
    return geometry_of(Setting(lens, movement, extension, 2.8))


@given(lenses, angle, angle, point, point)
def test_left_and_right_are_mirror_images(lens, swing, tilt, on, other):
    mirror = np.array([-1.0, 1.0, 1.0])
    one = blur(focused(lens, swing, tilt, on, 0.004, 0.003), other)
    two = blur(focused(lens, -swing, tilt, on * mirror, 0.004, -0.003), other * mirror)
    assert np.isclose(one.major, two.major, rtol=1e-9, atol=1e-15)
    assert np.isclose(one.minor, two.minor, rtol=1e-9, atol=1e-15)
    assert np.allclose(one.image * mirror[:2], two.image, rtol=1e-9, atol=1e-15)


@given(lenses, angle, angle, point, point, st.floats(0.2, 5))
def test_everything_scales(lens, swing, tilt, on, other, factor):
    one = blur(focused(lens, swing, tilt, on), other)
    larger = replace(lens, focal_length=lens.focal_length * factor, pivot=lens.pivot * factor)
    two = blur(focused(larger, swing, tilt, on * factor), other * factor)
    assert np.isclose(one.major * factor, two.major, rtol=1e-7, atol=1e-15)
    assert np.allclose(one.image * factor, two.image, rtol=1e-7, atol=1e-14)


@given(lenses, angle, angle, point)
def test_the_focused_point_is_sharp_and_on_the_plane(lens, swing, tilt, on):
    glass = focused(lens, swing, tilt, on)
    assert blur(glass, on).major < 1e-12
    normal, offset = plane_of_focus(glass)
    assert abs(normal @ on - offset) < 1e-8


@given(lenses, angle, angle, point)
def test_the_hinge_line_lies_in_the_plane_of_focus(lens, swing, tilt, on):
    assume(math.hypot(swing, tilt) > 1e-3)
    glass = focused(lens, swing, tilt, on)
    line = hinge_line(glass)
    normal, offset = plane_of_focus(glass)
    assert line is not None
    assert abs(normal @ line[0] - offset) < 1e-7 * max(1.0, abs(offset))
    assert abs(normal @ line[1]) < 1e-9


@given(angle, angle)
def test_movement_and_rotation_come_back(swing, tilt):
    assume(math.hypot(swing, tilt) > 1e-6)
    back = from_movement_and_rotation(*movement_and_rotation(swing, tilt))
    assert np.allclose(back, (swing, tilt), atol=1e-9)
    assert np.allclose(swing_and_tilt(lens_axis(swing, tilt)), (swing, tilt), atol=1e-12)


@given(st.sampled_from([0.024, 0.05, 0.09, 0.135]), st.floats(0.6, 1000))
def test_the_ring_comes_back(focal, distance):
    lens = Lens("l", focal, 2.8)
    extension = extension_at(lens, distance)
    assert math.isclose(ring_distance(lens, extension) or math.inf, distance, rel_tol=1e-9)


@given(lenses, angle, angle, point, st.floats(1.4, 22))
def test_stopping_down_never_makes_a_blur_larger(lens, swing, tilt, on, stop):
    glass = focused(lens, swing, tilt, on)
    others = np.array([[0.5, 0.2, 3.0], [-0.7, -0.5, 7.0], [0.1, 0.9, 2.0]])
    wide = blur(replace(glass, pupil_radius=lens.focal_length / 2 / stop), others).major
    narrow = blur(replace(glass, pupil_radius=lens.focal_length / 2 / stop / 1.3), others).major
    assert np.all(narrow <= wide * (1 + 1e-12))


@settings(max_examples=30)
@given(st.sampled_from([1.4, 2.8, 8.0, 22.6]), st.floats(0.5, 2.0), st.floats(0, 0.3))
def test_on_the_axis_of_a_straight_lens_the_irradiance_is_the_camera_equation(stop, ratio, magnification):
    lens = Lens("l", 0.05, stop, pupil_ratio=ratio)
    glass = geometry_of(Setting(lens, Movement(), magnification * 0.05, stop))
    got = irradiance_per_radiance(glass, np.zeros(2))
    expected = math.pi / (4 * stop**2 * (1 + magnification / ratio) ** 2)
    # the bundle's own obliquity enters at second order for a close, fast lens: none at infinity
    assert math.isclose(got, expected, rel_tol=1e-9 + 0.6 * (magnification / stop) ** 2)


@given(st.floats(-0.6, 0.6), st.floats(-0.6, 0.6), st.floats(0.5, 3))
def test_frames_are_what_they_say(x, z, y):
    frame = camera_frame((1.0, 2.0, 1.5), (1.0 + x, 2.0 + y, 1.5 + z))
    assert math.isclose(np.linalg.det(frame.axes), -1.0, abs_tol=1e-12)
    assert math.isclose(np.linalg.det(frame.renderer_to_place()[:3, :3]), 1.0, abs_tol=1e-12)
    p = np.array([0.3, -0.2, 4.0])
    assert np.allclose(frame.to_body(frame.to_place(p)), p)
    assert np.allclose(body_to_renderer(body_to_renderer(p)), p)


def test_a_worked_frame():
    frame = camera_frame((0, 0, 1), (0, 2, 1))
    assert np.allclose(frame.axes, [[1, 0, 0], [0, 0, 1], [0, 1, 0]])
    assert np.allclose(frame.to_body((0.5, 3.0, 1.2)), (0.5, 0.2, 3.0))
    # a point to the camera's right is at negative x for the renderer
    assert np.allclose(body_to_renderer((0.5, 0.2, 3.0)), (-0.5, 0.2, 3.0))

"""Facts of the trade about moved lenses. Common practice, no source; the geometry behind each is in the comments.

Worked numbers: f 90, true f/2.8, subject (0, 0, 3 m), people at x = -+0.9 m, z = 5 m, positions from the moved
principal point. Computed once outside the package from the plane of focus x / J + z / z_a = 1 and rays through the
pupil's rim.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.errors import OutOfReach
from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.plane import hinge_distance, plane_of_focus
from sidelong.lens.ring import extension_for
from sidelong.lens.values import Lens, Movement, Setting

NINETY = Lens("ninety", 0.090, 2.8)
SUBJECT = np.array([0.0, 0.0, 3.0])
SIDES = np.array([[-0.9, 0.0, 5.0], [0.9, 0.0, 5.0]])


def set_on(lens, movement, point=SUBJECT, f_number=None):
    """The set lens with its principal point in the origin, focused on the point."""
    glass = geometry_of(Setting(lens, movement, 0.0, f_number or lens.widest))
    film = lens.focal_length * point[2] / (glass.axis @ point - lens.focal_length)
    return replace(glass, principal=np.zeros(3), film_distance=film)


def major_mm(glass, points):
    return blur(glass, points).major * 1e3


def test_swing_right_left_background_sharp_right_soft():
    glass = set_on(NINETY, Movement(swing=math.radians(3.82255373)))
    assert glass.film_distance * 1e3 == pytest.approx(92.9967935, abs=5e-8)
    left, right = major_mm(glass, SIDES)
    assert left == pytest.approx(0.0, abs=1e-6)
    assert right == pytest.approx(0.805020, abs=5e-7)


def test_swing_left_is_the_mirror_image():
    glass = set_on(NINETY, Movement(swing=-math.radians(3.82255373)))
    left, right = major_mm(glass, SIDES)
    assert right == pytest.approx(0.0, abs=1e-6)
    assert left == pytest.approx(0.805020, abs=5e-7)


def test_lens_straight_both_sides_alike():
    assert major_mm(set_on(NINETY, Movement()), SIDES) == pytest.approx([0.397644, 0.397644], abs=5e-7)


def test_in_front_of_the_subject_the_right_sharpens_when_swung_right():
    glass = set_on(NINETY, Movement(swing=math.radians(3.82255373)))
    left, right = major_mm(glass, np.array([[-0.4, 0.0, 2.2], [0.4, 0.0, 2.2]]))
    assert right < left


def test_every_movement_needs_a_refocus():
    straight = set_on(NINETY, Movement())
    swung = set_on(NINETY, Movement(swing=math.radians(3.82255373)))
    left = replace(swung, film_distance=straight.film_distance)
    assert major_mm(left, SUBJECT[None])[0] == pytest.approx(0.073725, abs=5e-7)
    # and on a whole camera, whose ring carries the glass along the lens's own axis
    ring = extension_for(NINETY, Movement(), SUBJECT)
    turned = geometry_of(Setting(NINETY, Movement(swing=math.radians(3.82255373)), ring, 2.8))
    assert major_mm(turned, SUBJECT[None])[0] > 0.05


def test_tilt_up_above_soft_far_floor_sharp_and_down_the_reverse():
    people = np.array([[0.0, 0.5, 4.5], [0.0, -0.5, 4.5]])
    above, below = major_mm(set_on(NINETY, Movement(tilt=math.radians(5.16360709))), people)
    assert above == pytest.approx(0.669646, abs=5e-7)
    assert below == pytest.approx(0.0, abs=1e-6)
    above, below = major_mm(set_on(NINETY, Movement(tilt=-math.radians(5.16360709))), people)
    assert below == pytest.approx(0.669646, abs=5e-7)
    assert above == pytest.approx(0.0, abs=1e-6)


def test_tilt_up_the_plane_runs_from_above_the_camera_to_the_far_floor():
    normal, offset = plane_of_focus(set_on(NINETY, Movement(tilt=math.radians(5.0))))
    # at the camera's own depth the plane passes above it; far away it passes below the subject
    assert (offset - normal[2] * 0.0) / normal[1] > 0
    assert (offset - normal[2] * 6.0) / normal[1] < 0


def test_from_the_same_place_a_longer_lens_isolates_more():
    beside = np.array([[0.8, 0.0, 3.0]])
    blurs = [
        major_mm(set_on(Lens("l", f, 2.8), Movement(swing=math.radians(4))), beside)[0]
        for f in (0.024, 0.045, 0.09, 0.135)
    ]
    assert blurs == sorted(blurs)
    assert blurs[-1] > 3 * blurs[0]


def test_at_equal_framing_the_background_isolates_more_and_the_row_hardly():
    # the camera steps back with the focal length, so that the subject stays as large on the film
    row, behind = [], []
    for f in (0.024, 0.045, 0.09, 0.135):
        lens, z = Lens("l", f, 2.8), 3.0 * f / 0.09
        glass = set_on(lens, Movement(swing=math.radians(4)), np.array([0.0, 0.0, z]))
        straight = set_on(lens, Movement(), np.array([0.0, 0.0, z]))
        row.append(major_mm(glass, np.array([[0.8, 0.0, z]]))[0])
        behind.append(major_mm(straight, np.array([[0.0, 0.0, z + 2.0]]))[0])
    assert behind == sorted(behind)
    assert behind[-1] > 2 * behind[0]
    assert max(row) < 1.1 * min(row)


def test_walking_the_ring_picks_out_one_person_of_a_row_at_a_time():
    lens = Lens("fifty", 0.050, 2.8)
    row = np.array([[x, 0.0, 3.0] for x in (-0.9, -0.45, 0.0, 0.45, 0.9)])
    distances = (51.74579544, 51.32877496, 50.91842230, 50.51457880, 50.11709082)
    for who, expected in enumerate(distances):
        glass = set_on(lens, Movement(swing=math.radians(3.0)), row[who])
        assert glass.film_distance * 1e3 == pytest.approx(expected, abs=5e-9)
        majors = major_mm(glass, row)
        assert majors[who] == pytest.approx(0.0, abs=1e-9)
        for other in range(5):
            if other != who:
                # neighbours about 0.14 mm, the next about 0.28
                assert majors[other] == pytest.approx(0.14 * abs(other - who), rel=0.06)


def test_the_walk_ends_where_the_ring_would_run_past_infinity():
    lens = Lens("fifty", 0.050, 2.8)
    with pytest.raises(OutOfReach, match="past infinity"):
        extension_for(lens, Movement(swing=math.radians(3.0)), np.array([1.2, 0.0, 3.0]))


def test_hinge_distance_is_f_over_the_sine():
    assert hinge_distance(set_on(NINETY, Movement(swing=math.radians(4)))) == pytest.approx(
        0.09 / math.sin(math.radians(4))
    )

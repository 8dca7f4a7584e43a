"""Rays against boxes and triangles: the two ways agree, and both agree with what was put there."""

import numpy as np
import pytest

from sidelong.geometry.builders import box, ellipsoid
from sidelong.geometry.mesh import Mesh
from sidelong.geometry.planes import line_of_two, plane_at, where_lines_meet
from sidelong.geometry.rays import enter_and_leave, first_hit, segments_hit_boxes, segments_hit_mesh

UNIT = np.array([[[0, 0, 0], [1, 1, 1.0]]])


def test_line_through_a_box_enters_and_leaves_where_it_should():
    enter, leave = enter_and_leave([[-1, 0.5, 0.5]], [[2.0, 0, 0]], UNIT)
    assert (enter[0, 0], leave[0, 0]) == (0.5, 1.0)


@pytest.mark.parametrize(
    ("start", "end", "hit"),
    [
        ((-1, 0.5, 0.5), (2, 0.5, 0.5), True),
        ((-1, 0.5, 0.5), (-0.5, 0.5, 0.5), False),  # stops before it
        ((0.5, 0.5, 0.5), (0.6, 0.5, 0.5), True),  # inside
        ((-1, 1.5, 0.5), (2, 1.5, 0.5), False),  # passes beside it, along its faces' direction
        ((-1, -1, 0.5), (0.5, -0.1, 0.5), False),
        ((-1, 0.5, 0.5), (0, 0.5, 0.5), False),  # ends on its face
    ],
)
def test_segments_against_one_box(start, end, hit):
    assert segments_hit_boxes([start], [end], UNIT)[0] == hit


def test_no_boxes_stop_nothing():
    assert not segments_hit_boxes([[0, 0, 0]], [[1, 1, 1]], np.zeros((0, 2, 3))).any()


def test_boxes_and_their_triangles_stop_the_same_segments():
    random = np.random.default_rng(7)
    starts, ends = random.uniform(-2, 3, (2, 4000, 3))
    outside = ~((starts > 0) & (starts < 1)).all(1) & ~((ends > 0) & (ends < 1)).all(1)
    by_box = segments_hit_boxes(starts[outside], ends[outside], UNIT)
    by_mesh = segments_hit_mesh(starts[outside], ends[outside], box([0, 0, 0], [1, 1, 1]))
    assert (by_box == by_mesh).all()
    assert 0 < by_box.mean() < 1


def test_first_hit_on_a_ball_lies_on_its_surface():
    ball = ellipsoid([0, 0, 0], [1, 1, 1], 48, 64)
    random = np.random.default_rng(3)
    away = random.normal(size=(200, 3))
    away /= np.linalg.norm(away, axis=1, keepdims=True)
    t, face = first_hit(3 * away, -away, ball)
    assert (face >= 0).all()
    # the facets lie within 1 - cos(pi / 48) of the sphere
    assert t == pytest.approx(2.0, abs=1.2 * (1 - np.cos(np.pi / 48)) + 1e-9)


def test_a_mesh_without_faces_is_never_hit():
    t, face = first_hit([[0, 0, 0]], [[0, 0, 1]], Mesh(np.zeros((0, 3)), np.zeros((0, 3), np.int64)))
    assert np.isinf(t[0])
    assert face[0] == -1


def test_line_meets_plane():
    floor = plane_at([0, 0, 2], [0, 0, 5])
    assert where_lines_meet(floor, [1, 1, 0], [0, 1, 1]) == pytest.approx([1, 3, 2])
    assert np.isnan(where_lines_meet(floor, [1, 1, 0], [0, 1, 0])).all()
    assert floor.distance([[0, 0, 3], [9, 9, 1]]) == pytest.approx([1, -1])


def test_two_planes_meet_in_a_line_and_parallel_ones_do_not():
    point, along = line_of_two(plane_at([1, 0, 0], [1, 0, 0]), plane_at([0, 2, 0], [0, 1, 0]))
    assert point == pytest.approx([1, 2, 0])
    assert abs(along[2]) == pytest.approx(1)
    assert line_of_two(plane_at([1, 0, 0], [1, 0, 0]), plane_at([2, 0, 0], [1, 0, 0])) is None

"""Flat polygons: areas, clipping, rectangles less rectangular holes."""

import numpy as np
import pytest

from sidelong.geometry.polygons import (
    centroid,
    clipped,
    convex_clipped,
    inside_polygon,
    polygon_area,
    rectangles_left,
    triangles_left,
)

SQUARE = np.array([[0, 0], [2, 0], [2, 2], [0, 2.0]])


def test_area_is_signed_by_its_sense():
    assert polygon_area(SQUARE) == 4.0
    assert polygon_area(SQUARE[::-1]) == -4.0
    assert polygon_area(SQUARE[:2]) == 0.0


def test_centroid_of_an_l_shape():
    shape = [[0, 0], [2, 0], [2, 1], [1, 1], [1, 2], [0, 2]]
    assert centroid(shape) == pytest.approx([(2 * 1 + 1 * 0.5) / 3, (2 * 0.5 + 1 * 1.5) / 3])


def test_a_triangle_cut_by_a_rectangle():
    piece = clipped([[0, 0], [4, 0], [0, 4]], [1, 1], [5, 5])
    assert polygon_area(piece) == pytest.approx(2.0)
    assert len(clipped([[0, 0], [1, 0], [0, 1]], [2, 2], [3, 3])) == 0


def test_convex_window_agrees_with_the_rectangle():
    triangle = [[-1, 0.5], [3, 0.2], [1, 3]]
    one = polygon_area(clipped(triangle, [0, 0], [2, 2]))
    assert polygon_area(convex_clipped(triangle, SQUARE)) == pytest.approx(one)


def test_points_inside_a_polygon():
    inside = inside_polygon([[1, 1], [3, 1], [0.1, 1.9]], SQUARE)
    assert inside.tolist() == [True, False, True]


def test_rectangle_less_holes_keeps_the_rest():
    holes = [([1, 1], [2, 2]), ([3, 0], [9, 1])]
    left = rectangles_left([0, 0], [4, 3], holes)
    assert sum(np.prod(b - a) for a, b in left) == pytest.approx(12 - 1 - 1)


def test_triangles_have_the_area_that_is_left_and_no_seams():
    vertices, faces = triangles_left([0, 0], [4, 3], [([1, 1], [2, 2]), ([2.5, 0.5], [3.5, 2.5])])
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    areas = ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]) / 2
    assert (areas > 0).all()
    assert areas.sum() == pytest.approx(12 - 1 - 2)
    edges = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    _, counts = np.unique(edges, axis=0, return_counts=True)
    rim = np.linalg.norm(np.diff(vertices[np.unique(edges, axis=0)[counts == 1]], axis=1), axis=2).sum()
    assert counts.max() == 2
    assert rim == pytest.approx(2 * (4 + 3) + 4 + 2 * (1 + 2))  # outline and both holes, nothing else is open


def test_a_hole_over_all_leaves_nothing():
    vertices, faces = triangles_left([0, 0], [1, 1], [([-1, -1], [2, 2])])
    assert len(vertices) == len(faces) == 0

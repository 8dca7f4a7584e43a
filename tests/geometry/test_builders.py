"""Meshes from sizes and lines: closed, turned outward, of the area and volume that solid geometry gives."""

import numpy as np
import pytest

from sidelong.geometry.builders import (
    area,
    beam_between,
    box,
    ellipsoid,
    is_closed,
    joined,
    loft,
    rectangle,
    sheet,
    strands,
    tube,
    turned,
    volume,
)

CIRCLE = np.linspace(0, 2 * np.pi, 64, endpoint=False)


def test_box_has_its_volume_and_area():
    solid = box([1, 2, 3], [2, 4, 6])
    assert volume(solid) == pytest.approx(6.0)
    assert area(solid) == pytest.approx(2 * (1 * 2 + 2 * 3 + 1 * 3))
    assert is_closed(solid)


def test_beam_between_two_points_is_a_box_turned():
    bar = beam_between([0, 0, 0], [1.0, 2.0, 2.0], 0.1, 0.2)
    assert volume(bar) == pytest.approx(3.0 * 0.1 * 0.2)
    assert is_closed(bar)


def test_upright_beam_is_built_too():
    assert volume(beam_between([0, 0, 1], [0, 0, 0], 0.1, 0.1)) == pytest.approx(0.01)


def test_ellipsoid_approaches_four_thirds_pi_abc():
    # inscribed facets lose about (pi / n)^2: 64 x 96 facets stay within half a per cent
    body = ellipsoid([1, 1, 1], [1.0, 2.0, 3.0], rings=64, sides=96)
    assert volume(body) == pytest.approx(4 / 3 * np.pi * 6, rel=5e-3)
    assert volume(body) < 4 / 3 * np.pi * 6
    assert is_closed(body)


@pytest.mark.parametrize("end", [[0, 0, 2.0], [2.0, 0, 0], [1.0, -1.0, 1.0], [0, 0, -2.0]])
def test_straight_tube_is_a_prism_whichever_way_it_runs(end):
    line = np.array([[0, 0, 0], np.array(end) / 2, end])
    solid = tube(line, 0.1, sides=12)
    prism = 0.5 * 12 * 0.1**2 * np.sin(2 * np.pi / 12) * np.linalg.norm(end)
    assert volume(solid) == pytest.approx(prism)
    assert is_closed(solid)


def test_strands_face_outward():
    threads = strands([[0, 0, 0], [1, 1, 0]], [[0, 0, 1], [2, 1, 1]], 0.01)
    prism = 3 * np.sqrt(3) / 4 * 0.01**2
    # open at both ends, but the ends lie square to the threads: about the origin they add nothing for the first
    first = type(threads)(threads.vertices[:6], threads.faces[:6])
    assert volume(first) == pytest.approx(prism * 2 / 3, rel=1e-6)


def test_turned_body_has_the_volume_of_a_cone_frustum():
    cone = turned([[2.0, 0.0], [1.0, 3.0]], sides=720)
    assert volume(cone) == pytest.approx(np.pi * 3 / 3 * (4 + 2 + 1), rel=1e-4)
    assert is_closed(cone)


def test_loft_between_two_squares_is_a_prism():
    square = np.array([[-1, -1, 0], [1, -1, 0], [1, 1, 0], [-1, 1, 0.0]])
    assert volume(loft(np.stack([square, square + np.array([0, 0, 5])]))) == pytest.approx(20.0)


def test_rectangle_faces_along_u_cross_v():
    flat = rectangle([0, 0, 0], [2, 0, 0], [0, 3, 0])
    a, b, c = flat.vertices[flat.faces[0]]
    assert np.cross(b - a, c - a)[2] > 0
    assert area(flat) == pytest.approx(6.0)


def test_sheet_faces_along_column_cross_row():
    grid = np.array([[[0, 0, 0], [1, 0, 0]], [[0, 1, 0], [1, 1, 0.0]]])
    a, b, c = sheet(grid).vertices[sheet(grid).faces[0]]
    assert np.cross(b - a, c - a)[2] > 0


def test_joined_meshes_keep_their_volume():
    assert volume(joined([box([0, 0, 0], [1, 1, 1]), box([2, 0, 0], [3, 1, 2])])) == pytest.approx(3.0)


def test_a_box_with_a_face_missing_is_not_closed():
    solid = box([0, 0, 0], [1, 1, 1])
    assert not is_closed(type(solid)(solid.vertices, solid.faces[:-1]))

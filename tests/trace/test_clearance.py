"""Points that lie in surfaces are read in front of them, on the camera's side. Exact geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sidelong.geometry.mesh import Mesh
from sidelong.light.values import Emitter
from sidelong.spectra.grids import flat
from sidelong.trace.clearance import IN_FRONT, in_front
from sidelong.trace.meter import meter_scene
from sidelong.trace.scene import Piece, assemble
from sidelong.trace.values import Receptor

EYE = (0.0, 3.0, 1.5)
LAMP = Emitter(
    "lamp", "steady", "sphere", 1000.0, flat(1.0), (0.4, 2.0, 1.6), (0, -1.0, 0), (0, 0, 1.0), "disc", (0.06, 0.06)
)
SHIFTS = (-1e-6, 0.0, 1e-6)


def quad(a, b, c, d):
    return Mesh(np.array([a, b, c, d], float), np.array([[0, 1, 2], [0, 2, 3]]))


@pytest.fixture
def wall(make_grey):
    """The plane y = 0 in front of the camera."""
    return Piece(quad((-2, 0, 0), (2, 0, 0), (2, 0, 3), (-2, 0, 3)), make_grey(0.5))


@pytest.fixture
def floor(make_grey):
    return Piece(quad((-2, -2, 0), (2, -2, 0), (2, 4, 0), (-2, 4, 0)), make_grey(0.3))


def test_free_air_stays_exactly_where_it_is(wall):
    solids = assemble([wall], (LAMP,)).solids
    for at in [(0.3, 0.0011, 1.3), (0.3, -0.5, 1.3), (2.1, 0.0, 1.3), LAMP.at]:
        assert in_front(solids, at, EYE) == at


@pytest.mark.parametrize("shift", SHIFTS)
def test_in_a_wall_it_comes_to_the_camera_s_side(wall, shift):
    solids = assemble([wall], ()).solids
    assert in_front(solids, (0.3, shift, 1.3), EYE) == pytest.approx((0.3, IN_FRONT, 1.3), abs=1e-9)
    assert in_front(solids, (0.3, shift, 1.3), (0, -3, 1)) == pytest.approx((0.3, -IN_FRONT, 1.3), abs=1e-9)


@pytest.mark.parametrize("shift", SHIFTS)
def test_in_a_corner_it_is_in_front_of_both(wall, floor, shift):
    solids = assemble([wall, floor], ()).solids
    assert in_front(solids, (0.3, shift, -shift), EYE) == pytest.approx((0.3, IN_FRONT, IN_FRONT), abs=1e-9)


def test_of_a_thin_sheet_it_is_the_face_towards_the_camera(wall, make_grey):
    back = Piece(quad((-2, -8e-4, 0), (-2, -8e-4, 3), (2, -8e-4, 3), (2, -8e-4, 0)), make_grey(0.5))
    solids = assemble([wall, back], ()).solids
    assert in_front(solids, (0.3, -4e-4, 1.3), EYE)[1] == pytest.approx(IN_FRONT, abs=1e-9)


def test_readings_do_not_hang_on_the_last_digit(wall):
    """Shifted by a millionth of a metre either way it reads the same, and what Lambert's law says of the lit side."""
    scene = assemble([wall], (LAMP,))
    held = [Receptor(in_front(scene.solids, (0.3, shift, 1.3), EYE), (0, 1, 0)) for shift in SHIFTS]
    reading = meter_scene(scene, held)
    way = np.array(LAMP.at) - np.array(held[1].at)
    exact = 1000 / (4 * math.pi) * way[1] / np.linalg.norm(way) ** 3
    assert reading.value[:, 0] == pytest.approx(exact, rel=2e-3)
    assert np.ptp(reading.value[:, 0]) <= 2 * reading.error.max() + 1e-6 * exact

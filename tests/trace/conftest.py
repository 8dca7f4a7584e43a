"""Small scenes that the tests of the tracer share."""

from __future__ import annotations

import numpy as np
import pytest

from sidelong.geometry.mesh import Mesh
from sidelong.spectra.grids import flat
from sidelong.spectra.values import Finish
from sidelong.trace.scene import Piece


def box(low: tuple[float, float, float], high: tuple[float, float, float], inward: bool = True) -> Mesh:
    """A closed box, its faces seen from inside or from outside. [m]"""
    a, b = np.array(low, float), np.array(high, float)
    corners = np.array([[x, y, z] for z in (0, 1) for y in (0, 1) for x in (0, 1)], float) * (b - a) + a
    quads = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    faces = np.array([[q[0], q[i], q[i + 1]] for q in quads for i in (1, 2)], np.int64)
    return Mesh(corners, faces[:, ::-1] if inward else faces)


def rectangle(low: tuple[float, float], high: tuple[float, float], z: float) -> Mesh:
    """A level rectangle that faces up. [m]"""
    v = np.array([[low[0], low[1], z], [high[0], low[1], z], [high[0], high[1], z], [low[0], high[1], z]], float)
    return Mesh(v, np.array([[0, 1, 2], [0, 2, 3]], np.int64))


def grey(reflectance: float, name: str = "") -> Finish:
    """A matt finish of an even reflectance."""
    return Finish(name or f"grey {reflectance:g}", flat(reflectance))


@pytest.fixture
def make_box():
    return box


@pytest.fixture
def make_rectangle():
    return rectangle


@pytest.fixture
def make_grey():
    return grey


@pytest.fixture
def closed_room(make_box, make_grey):
    """A closed 4 m cube of a reflectance, as pieces."""
    return lambda reflectance: [Piece(make_box((0, 0, 0), (4, 4, 4)), make_grey(reflectance))]

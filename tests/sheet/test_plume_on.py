"""The plume on the plan against the bell curves it is made of."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sidelong.light.plume import half_strength
from sidelong.place.values import Air, Place, Plume, Room
from sidelong.sheet.drawing import Arrow, Polygon
from sidelong.sheet.plume_on import plume_on

PLUME = Plume((1.0, 2.0, 0.5), (5.0, 2.0, 1.5), output=0.05, drift=0.3, spread=0.2, diffusivity=0.015)


def outline_of(place):
    return np.array(next(s for s in plume_on(place) if isinstance(s, Polygon)).points)


def test_half_as_dense_where_the_bell_curve_halves():
    for distance in (0.0, 1.0, 4.0):
        sigma = math.sqrt(PLUME.spread**2 + 2 * PLUME.diffusivity * distance / PLUME.drift)
        assert math.exp(-(half_strength(PLUME, distance) ** 2) / (2 * sigma**2)) == pytest.approx(0.5)


def test_it_widens_about_its_axis():
    points = outline_of(Place(air=Air(plume=PLUME)))
    length = math.dist(PLUME.at, PLUME.to)
    for x, distance in ((1.0, 0.0), (5.0, length)):
        off = np.abs(points[np.isclose(points[:, 0], x)][:, 1] - 2.0)
        assert off == pytest.approx(half_strength(PLUME, distance))
    arrow = next(s for s in plume_on(Place(air=Air(plume=PLUME))) if isinstance(s, Arrow))
    assert arrow.head[0] > arrow.tail[0]
    assert arrow.head[1] == pytest.approx(2.0)


def test_it_ends_at_the_walls_of_its_room():
    room = Room("narrow", (0.0, 1.85, 0.0), (4.5, 3.0, 3.0))
    points = outline_of(Place(air=Air(plume=PLUME), rooms=(room,)))
    assert points[:, 0].max() == pytest.approx(4.5)
    assert points[:, 1].min() == pytest.approx(1.85)


def test_no_plume_nothing_drawn():
    assert plume_on(Place(air=Air(extinction=0.01))) == []

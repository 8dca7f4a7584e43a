"""Outlines for drawings: their areas and where the gaps are."""

import numpy as np
import pytest

from sidelong.geometry.polygons import inside_polygon, polygon_area
from sidelong.place.bounds import bounding_box, elevation_lines, plan_lines
from sidelong.place.values import Block, Opening, Place, Room

DOOR = Opening("door", "far", 1.0, 0.0, 1.0, 2.0)
HIGH = Opening("high", "left", 1.0, 1.6, 0.5, 0.4)
ROOM = Room("room", (0, 0, 0), (5, 3, 2.5), {}, (DOOR, HIGH), 0.2)
CRATE = Block("crate", "crate", (2, 1, 0), (1.0, 0.5, 0.4), np.pi / 6)
BEAM = Block("beam", "beam", (2, 1.5, 2.2), (0.2, 3, 0.2))
PLACE = Place(rooms=(ROOM,), blocks=(CRATE, BEAM))


def area_of(lines, kind):
    return sum(abs(polygon_area(p.points)) for p in lines if p.kind == kind)


def test_plan_walls_leave_gaps_for_openings_whatever_their_height():
    lines = plan_lines(PLACE)
    assert area_of(lines, "wall") == pytest.approx(5.4 * 3.4 - 15 - 0.2 * (1.0 + 0.5))
    assert area_of(lines, "room") == pytest.approx(15)
    assert area_of(lines, "opening") == pytest.approx(0.2 * 1.5)
    assert [p.name for p in lines if p.kind == "overhead"] == ["beam"]
    assert area_of(lines, "block") == pytest.approx(0.5)


def test_plan_polygons_are_anticlockwise():
    assert all(polygon_area(p.points) > 0 for p in plan_lines(PLACE))
    assert all(polygon_area(p.points) > 0 for p in elevation_lines(PLACE))


def test_no_wall_covers_an_opening():
    middle = np.array([[1.5, 3.1], [-0.1, 1.25]])
    assert not any(inside_polygon(middle, p.points).any() for p in plan_lines(PLACE) if p.kind == "wall")


def test_two_rooms_share_a_wall_once():
    place = Place(rooms=(Room("a", (0, 0, 0), (3, 3, 2.5)), Room("b", (3.2, 0, 0), (3, 3, 2.5))))
    assert area_of(plan_lines(place), "wall") == pytest.approx(6.7 * 3.5 - 18)


def test_elevation_shows_floor_roof_and_end_walls():
    lines = elevation_lines(Place(rooms=(ROOM,)))
    walls = area_of(lines, "wall")  # cut through y = 1.5, where the high window in the left wall just ends
    outline = 5.4 * (2.5 + 0.2 + 0.3)
    assert walls == pytest.approx(outline - 5 * 2.5)
    assert [p.name for p in lines if p.kind == "opening"] == ["door"]


def test_bounding_box_holds_walls_and_blocks():
    far = Place(rooms=(ROOM,), blocks=(Block("post", "post", (8, 1, 0), (0.2, 0.2, 3)),))
    low, high = bounding_box(far)
    assert low == pytest.approx([-0.2, -0.2, 0.0])
    assert high == pytest.approx([8.1, 3.2, 3.0])
    assert bounding_box(Place()).shape == (2, 3)

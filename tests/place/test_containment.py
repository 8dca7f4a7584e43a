"""What lies in which room, block or wall, and what stands between two points."""

import math

import numpy as np
import pytest

from sidelong.place.containment import (
    blocked,
    inside_block,
    inside_wall,
    room_at,
    sight_line_blocked,
    what_blocks,
)
from sidelong.place.values import Block, Opening, Place, Room

DOOR = Opening("door", "right", 1.0, 0.0, 1.0, 2.0)
ONE = Room("one", (0, 0, 0), (4, 3, 2.5), {}, (DOOR,), 0.2)
TWO = Room("two", (4.2, 0, 0), (4, 3, 2.5), {}, (), 0.2)
CRATE = Block("crate", "box", (2, 1.5, 0), (1.0, 0.2, 1.0), math.radians(90))
PLACE = Place(rooms=(ONE, TWO), blocks=(CRATE,))


def test_rooms_hold_points_on_their_floor():
    assert room_at(PLACE, (1, 1, 0)).name == "one"
    assert room_at(PLACE, (5, 1, 2.5)).name == "two"
    assert room_at(PLACE, (4.1, 1.5, 1)) is None
    assert room_at(PLACE, (1, 1, 3)) is None


def test_points_in_walls():
    points = [
        [4.1, 0.5, 1],
        [4.1, 1.5, 1],
        [-0.1, 1, 1],
        [0, 1, 1],
        [1, 1, 0],
        [1, 1, -0.1],
        [1, 1, 9],
        [-0.1, -0.1, 1],
    ]
    assert inside_wall(PLACE, points).tolist() == [True, False, True, False, False, True, False, True]


def test_a_point_on_the_seam_of_two_solid_boxes_is_in_the_wall():
    heights = np.linspace(0.05, 2.45, 97)
    assert inside_wall(PLACE, np.stack([np.full(97, 4.1), np.full(97, 0.999), heights], axis=1)).all()


def test_blocks_hold_points_by_their_turned_box():
    assert inside_block(PLACE, (2.0, 1.9, 0.5)).name == "crate"
    assert inside_block(PLACE, (2.4, 1.5, 0.5)) is None
    net = Place(blocks=(Block("net", "net", (0, 0, 0), (2, 2, 2)),))
    assert inside_block(net, (0, 0, 1)) is None


def test_sight_through_the_door_and_not_through_the_wall():
    assert not sight_line_blocked(PLACE, (3, 1.5, 1.2), (6, 1.5, 1.2))
    assert sight_line_blocked(PLACE, (3, 0.5, 1.2), (6, 0.5, 1.2))
    assert sight_line_blocked(PLACE, (3, 1.5, 2.3), (6, 1.5, 2.3))  # over the door's head


def test_blocks_stop_a_line_and_can_be_looked_through():
    a, b = (1, 1.5, 0.5), (3, 1.5, 0.5)
    assert sight_line_blocked(PLACE, a, b)
    assert not sight_line_blocked(PLACE, a, b, but=("crate",))
    assert not sight_line_blocked(PLACE, (1, 1.5, 1.5), (3, 1.5, 1.5))
    assert what_blocks(PLACE, a, b) == "crate"
    assert what_blocks(PLACE, (3, 0.5, 1.2), (6, 0.5, 1.2)) == "a wall"
    assert what_blocks(PLACE, (1, 2.5, 1.5), (3, 2.5, 1.5)) is None


def test_one_looks_under_a_table_but_not_through_its_top():
    place = Place(blocks=(Block("table", "table", (0, 0, 0), (1, 1, 0.75)),))
    assert not sight_line_blocked(place, (-2, 0, 0.3), (2, 0, 0.3))
    assert sight_line_blocked(place, (-2, 0, 1.5), (2, 0, 0.0))


def test_many_lines_broadcast():
    from_one = np.array([[[1, 1.5, 0.5]], [[1, 1.5, 1.5]]])
    to_all = np.array([[[3, 1.5, 0.5], [3, 1.5, 1.5], [6, 1.5, 1.4]]])
    found = blocked(PLACE, from_one, to_all)
    assert found.shape == (2, 3)
    assert found.tolist() == [[True, True, True], [True, False, False]]


def test_a_place_without_walls_blocks_nothing():
    assert not blocked(Place(), [[0, 0, 0.5]], [[9, 9, 9]]).any()
    assert not inside_wall(Place(), [[0, 0, 0]]).any()


@pytest.mark.parametrize("height", [0.0, 0.5, 2.5])
def test_faces_are_no_hindrance(height):
    assert not sight_line_blocked(Place(rooms=(ONE,)), (0, 0, height), (4, 3, height))

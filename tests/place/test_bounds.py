"""The box about a place."""

import pytest

from sidelong.place.bounds import bounding_box
from sidelong.place.values import Block, Place, Room

ROOM = Room("room", (0, 0, 0), (5, 3, 2.5), {}, (), 0.2)


def test_bounding_box_holds_walls_and_blocks():
    far = Place(rooms=(ROOM,), blocks=(Block("post", "post", (8, 1, 0), (0.2, 0.2, 3)),))
    low, high = bounding_box(far)
    assert low == pytest.approx([-0.2, -0.2, 0.0])
    assert high == pytest.approx([8.1, 3.2, 3.0])
    assert bounding_box(Place()).shape == (2, 3)

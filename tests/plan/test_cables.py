"""Where cables are led, and how long they are."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sidelong.day.cautions import cautions
from sidelong.place.values import Block, Opening, Place, Room
from sidelong.plan.cables import LOOP, Cable, cable_in_words, cables, feeds
from sidelong.plan.floor_way import WAY_OUT, counted, crossings, floor_of, is_way_out, length_of, ways
from sidelong.shoot.check import load
from sidelong.shoot.values import Shoot

DOOR = Opening("door", "near", along=2.5, sill=0.0, width=1.0, height=2.0)
ROOM = Room("room", (0.0, 0.0, 0.0), (6.0, 4.0, 2.6), openings=(DOOR,))
TOML = """
sidelong = 1
[place]
[[place.rooms]]
name = "room"
at = [0, 0, 0.5]
size = [6, 4, 2.6]
[[place.rooms.openings]]
name = "door"
wall = "near"
kind = "door"
along = 2.5
sill = 0
width = 1
height = 2
[[people]]
name = "Runa"
at = [3, 3, 0.5]
[kit]
[[kit.lenses]]
id = "lens"
focal = 50
widest = 2
[[kit.strobes]]
id = "key"
energy = 400
efficacy = 15
FED
[[kit.power]]
id = "socket"
at = AT
cable = 5
MORE
[[shots]]
id = "one"
when = 2026-03-20T12:00:00
sharp = ["Runa"]
[shots.camera]
at = [0.4, 2.0, 2.0]
aim = "Runa"
[[shots.lights]]
strobe = "key"
at = [5, 1, 2.5]
power = 0.25
"""


def shoot(folder: Path, at: str = "[1, 0, 0.8]", fed: str = "", more: str = "") -> Shoot:
    (folder / "shoot.toml").write_text(TOML.replace("AT", at).replace("FED", fed).replace("MORE", more))
    return load(folder)


def way_of(place: Place, start: tuple[float, float], end: tuple[float, float]) -> np.ndarray:
    way = ways(floor_of(place, [start, end]), start, [end])[0]
    assert way is not None
    return way


def test_a_cable_goes_round_the_space_before_a_door() -> None:
    place = Place(rooms=(ROOM,))
    start, end = (1.0, 0.05), (5.0, 0.05)
    way = way_of(place, start, end)
    floor = floor_of(place, [start, end])
    assert crossings(floor, np.array([start, end]))[0][0].name == "door"
    assert crossings(floor, way) == []
    # 0.6 m into the room and back, where the straight way is 4 m
    assert 4.2 < length_of(way) < 5.3


def test_a_generator_outside_crosses_the_only_door() -> None:
    place = Place(rooms=(ROOM,))
    start, end = (3.0, -2.0), (3.0, 2.0)
    floor = floor_of(place, [start, end])
    way = ways(floor, start, [end])[0]
    assert way is not None
    ((out, (x, y)),) = crossings(floor, way)
    assert out.name == "door"
    assert 2.5 <= x <= 3.5
    assert -1.0 < y < 0.6


def test_with_two_doors_it_comes_in_by_the_one_that_is_no_way_out() -> None:
    hatch = Opening("hatch", "near", along=5.0, sill=0.0, width=0.6, height=1.0)
    assert is_way_out(DOOR)
    assert not is_way_out(hatch)
    place = Place(rooms=(Room("room", ROOM.at, ROOM.size, openings=(DOOR, hatch)),))
    start, end = (3.0, -2.0), (3.0, 2.0)
    floor = floor_of(place, [start, end])
    way = ways(floor, start, [end])[0]
    assert way is not None
    assert crossings(floor, way) == []
    through = [p for p in way if -0.3 < p[1] < 0.1]
    assert through
    assert all(5.0 <= p[0] <= 5.6 for p in through)


def test_it_keeps_to_the_wall_rather_than_cross_the_floor() -> None:
    way = way_of(Place(rooms=(Room("room", (0, 0, 0), (8.0, 6.0, 2.5)),)), (1.0, 0.05), (7.95, 5.0))
    fine = np.concatenate([np.linspace(a, b, 50) for a, b in pairwise(way)])
    by_wall = (fine[:, 1] < 0.4) | (fine[:, 0] > 7.6)
    assert by_wall.mean() > 0.9


@pytest.mark.parametrize(
    "thing",
    [Block("crate", "crate", (3.0, 2.0, 0.0), (1.0, 2.0, 1.0)), Room("pit", (2.5, 1.0, -1.5), (1.0, 2.0, 1.5))],
)
def test_it_goes_round_what_stands_there_and_round_a_pit(thing: Block | Room) -> None:
    rooms = (Room("room", ROOM.at, ROOM.size), *((thing,) if isinstance(thing, Room) else ()))
    place = Place(rooms=rooms, blocks=(thing,) if isinstance(thing, Block) else ())
    way = way_of(place, (1.5, 2.0), (4.5, 2.0))
    fine = np.concatenate([np.linspace(a, b, 100) for a, b in pairwise(way)])
    inside = (np.abs(fine[:, 0] - 3.0) < 0.35) & (np.abs(fine[:, 1] - 2.0) < 0.85)
    assert not inside.any()


def test_no_way_through_a_wall() -> None:
    place = Place(rooms=(Room("room", ROOM.at, ROOM.size),))
    floor = floor_of(place, [(3.0, -1.0), (3.0, 2.0)])
    assert ways(floor, (3.0, -1.0), [(3.0, 2.0)]) == [None]


@settings(max_examples=25, deadline=None)
@given(st.tuples(*[st.floats(0.2, 5.8), st.floats(0.2, 3.8)] * 2))
def test_a_way_starts_and_ends_where_it_should_and_is_no_shorter_than_straight(
    ends: tuple[float, float, float, float],
) -> None:
    start, end = ends[:2], ends[2:]
    place = Place(rooms=(ROOM,))
    way = way_of(place, start, end)
    assert tuple(way[0]) == start
    assert tuple(way[-1]) == end
    straight = math.dist(start, end)
    assert length_of(way) >= straight - 1e-9
    # nothing counts for more than a way out, so that no way can be longer than that for the straight one
    assert length_of(way) <= WAY_OUT * straight + 1.0
    floor = floor_of(place, [start, end])
    assert counted(floor, way_of(place, end, start)) == pytest.approx(counted(floor, way), rel=0.1, abs=0.5)


def test_the_length_is_floor_outlet_stand_and_loop(tmp_path: Path) -> None:
    made = shoot(tmp_path)
    (cable,) = cables(made, made.shots[0])
    assert (cable.source, cable.head) == ("socket", "key")
    assert cable.way[0] == (1.0, 0.0)
    assert cable.way[-1] == (5.0, 1.0)
    # the room's floor is half a metre up
    assert cable.down == pytest.approx(0.3)
    assert cable.up == pytest.approx(2.0)
    assert cable.along >= math.dist((1, 0), (5, 1))
    assert cable.length == pytest.approx(cable.along + 2.3 + LOOP)
    assert cable.too_short == (cable.length > 5.0)
    assert cable.too_short
    assert "does not reach" in cable_in_words(cable)
    printed = next(c for c in cautions(made) if c.title == "Cables")
    assert "more than the kit's" in printed.why


def test_which_source_feeds_a_head(tmp_path: Path) -> None:
    alone = shoot(tmp_path)
    assert feeds(alone.kit, alone.kit.strobes["key"]) == "socket"
    two = shoot(tmp_path, more='[[kit.power]]\nid = "box"\nkind = "battery"\n')
    assert feeds(two.kit, two.kit.strobes["key"]) is None
    assert cables(two, two.shots[0]) == ()
    named = shoot(tmp_path, fed='fed_by = "box"', more='[[kit.power]]\nid = "box"\nkind = "battery"\nat = [5, 3.5]\n')
    assert [c.source for c in cables(named, named.shots[0])] == ["box"]


def test_a_crossing_is_told_in_words_and_among_the_cautions(tmp_path: Path) -> None:
    made = shoot(tmp_path, at="[3, -2, 0.5]")
    (cable,) = cables(made, made.shots[0])
    assert [c.opening for c in cable.crossings] == ["door"]
    assert "ramp it or tape it" in cable_in_words(cable)
    printed = next(c for c in cautions(made) if c.title == "Cables")
    assert "crosses the way out at door" in printed.why
    assert "Local codes" in printed.text


def test_words_state_the_parts_and_the_kit() -> None:
    cable = Cable("socket", "key", ((0, 0), (3, 4)), 5.0, 0.3, 2.0, 10.0)
    assert cable_in_words(cable) == (
        "socket to key: 7.80 m, of it 5.00 m along the floor, 2.00 m up to the head; the kit has 10.00 m"
    )

"""The elevation: heights are true, the plane of focus and the hinge lie where a tilted lens puts them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sidelong.sheet.cut import camera_cut
from sidelong.sheet.drawing import Circle, Line, Text
from sidelong.sheet.elevation_view import elevation_of_place, elevation_of_shot


def test_camera_looks_to_the_right_of_the_page(loft):
    frame = loft[1][0].focus.frame
    cut = camera_cut(frame)
    assert cut.project(frame.at) == pytest.approx((0.0, 1.35))
    u, v = cut.project(frame.at + 2 * frame.forward)
    assert (u, v) == pytest.approx((2.0, 1.35))
    assert cut.direction(frame.right)[0] == pytest.approx(0.0, abs=1e-12)


def test_heads_stand_at_eye_height(loft):
    plan = loft[1][1]
    head = next(s for s in elevation_of_shot(plan).of_pen("sharp person") if isinstance(s, Circle))
    eyes = next(p.at for p in plan.focus.points if p.name == "Skipper Torvald")
    assert head.centre[1] == pytest.approx(eyes[2], abs=0.01)
    assert head.centre[0] == pytest.approx(camera_cut(plan.focus.frame).project(eyes)[0], abs=0.1)


def test_tilted_plane_passes_through_the_eyes_and_the_hinge(loft):
    """Tilted up by 4 degrees the plane runs from above the camera down to the far side, through the eyes."""
    plan = loft[1][1]
    drawing = elevation_of_shot(plan)
    (u0, v0), (u1, v1) = sorted(next(s for s in drawing.of_pen("plane of focus") if isinstance(s, Line)).points)
    assert v1 < v0
    cut = camera_cut(plan.focus.frame)
    ring = next(s for s in drawing.of_pen("hinge") if isinstance(s, Circle))
    principal = cut.project(plan.focus.frame.to_place(plan.focus.principal_point))
    assert ring.centre == pytest.approx((principal[0], principal[1] + 0.045 / math.sin(math.radians(4))), abs=1e-9)
    eyes = cut.project(next(p.at for p in plan.focus.points if p.name == "Skipper Torvald"))
    for u, v in (ring.centre, eyes):
        assert (u1 - u0) * (v - v0) - (v1 - v0) * (u - u0) == pytest.approx(0.0, abs=1e-6)


def test_lens_is_drawn_tilted(loft):
    straight, tilted = (elevation_of_shot(loft[1][k]).of_pen("camera") for k in (3, 1))
    lenses = [np.array(shapes[1].points) for shapes in (straight, tilted)]
    angles = []
    for lens in lenses:
        sides = np.roll(lens, -1, axis=0) - lens
        longest = sides[np.argmax(np.hypot(*sides.T))]
        angles.append(math.degrees(math.atan2(longest[1], longest[0])) % 180)
    assert angles[0] % 90 == pytest.approx(0.0, abs=1e-6)
    assert angles[1] % 90 == pytest.approx(4.0, abs=0.01)


def test_title_says_when_the_plane_is_not_there(loft):
    for plan in loft[1]:
        drawing = elevation_of_shot(plan)
        drawn = bool(drawing.of_pen("plane of focus"))
        assert ("does not cross" in drawing.title) != drawn


def test_place_from_the_side_tells_everyones_eyes(loft):
    shoot, plans = loft
    eyes = {p.name: p.at for p in plans[0].focus.points}
    words = [s.words for s in elevation_of_place(shoot, eyes).of_pen("person") if isinstance(s, Text)]
    assert len(words) == 6
    assert "Skipper Torvald, eyes 1.71 m" in words


def test_door_in_the_end_wall_is_open(loft):
    """The sea door lies on x = 0, where the section along the loft passes it (y = 1.6): no wall up to 2.05 m."""
    shoot, _plans = loft
    boxes = [np.array(s.points) for s in elevation_of_place(shoot, {}).of_pen("wall")]

    def in_wall(u, v):
        return any((b.min(0) <= (u, v)).all() and ((u, v) <= b.max(0)).all() for b in boxes)

    assert not in_wall(-0.1, 1.0)
    assert in_wall(-0.1, 2.2)
    assert in_wall(9.1, 1.0)
    assert in_wall(4.5, 2.5)
    assert in_wall(4.5, -0.1)


def test_pit_under_the_floor_is_open_where_the_floor_is(loft):
    """A pit 1 m deep under the loft, its mouth 4 to 6 m along: floor and pit are open there, closed beside."""
    from dataclasses import replace

    from sidelong.place.values import Opening, Room

    shoot, _ = loft
    loft_room = shoot.place.rooms[0]
    mouth = Opening("mouth", "floor", 4.0, 1.0, 2.0, 1.2)
    below = Opening("mouth below", "ceiling", 0.5, 0.5, 2.0, 1.2)
    pit = Room("pit", (3.5, 0.5, -1.25), (3.0, 2.2, 1.0), openings=(below,))
    rooms = (replace(loft_room, openings=(*loft_room.openings, mouth)), pit)
    both = replace(shoot, place=replace(shoot.place, rooms=rooms))
    boxes = [np.array(s.points) for s in elevation_of_place(both, {}).of_pen("wall")]

    def in_wall(u, v):
        return any((b.min(0) <= (u, v)).all() and ((u, v) <= b.max(0)).all() for b in boxes)

    assert not in_wall(5.0, -0.1)
    assert not in_wall(5.0, -0.7)
    assert in_wall(2.0, -0.1)
    assert in_wall(3.8, -0.1)
    assert in_wall(5.0, -1.4)

"""Where the sun reaches, against cases worked by hand."""

import math

import numpy as np
import pytest

from sidelong.geometry.polygons import polygon_area
from sidelong.place.cells import opening_box
from sidelong.place.sunlight import opening_samples, reached, sun_patches, sun_through
from sidelong.place.values import Block, Opening, Place, Room

WINDOW = Opening("window", "near", 2.0, 1.0, 1.0, 1.0, glass=0.8)


def room(thickness, *openings):
    return Room("room", (0, 0, 0), (6, 5, 2.6), {}, openings or (WINDOW,), thickness)


def towards(elevation, aside=0.0):
    """The sun over the near wall (-y), `aside` degrees towards +x."""
    e, a = math.radians(elevation), math.radians(aside)
    return np.array([math.sin(a) * math.cos(e), -math.cos(a) * math.cos(e), math.sin(e)])


def test_patch_of_a_thin_wall_is_the_window_thrown_on_the_floor():
    # tan 45 = 1: the sill at 1 m lands 1 m in, the head at 2 m lands 2 m in
    ((name, patch),) = sun_patches(Place(rooms=(room(1e-6),)), towards(45))
    assert name == "window"
    assert patch.min(0) == pytest.approx([2, 1], abs=1e-5)
    assert patch.max(0) == pytest.approx([3, 2], abs=1e-5)
    assert polygon_area(patch) == pytest.approx(1.0, abs=1e-4)


def test_a_thick_wall_cuts_the_patch_from_above():
    # a ray that clears the outer head at 2 m has sunk 0.3 tan e on its way through a wall of 0.3 m
    for elevation in (30.0, 45.0):
        slope = math.tan(math.radians(elevation))
        ((_, patch),) = sun_patches(Place(rooms=(room(0.3),)), towards(elevation))
        assert patch[:, 1].min() == pytest.approx(1 / slope)
        assert patch[:, 1].max() == pytest.approx(min((2 - 0.3 * slope) / slope, 5.0))


def test_patch_slides_with_the_bearing():
    ((_, patch),) = sun_patches(Place(rooms=(room(1e-6),)), towards(45, aside=30))
    run = 1.0  # level run of a ray that falls one metre at 45 degrees
    assert patch[:, 0].min() == pytest.approx(2 - 2 * run * 0.5, abs=1e-5)
    assert patch[:, 0].max() == pytest.approx(3 - 1 * run * 0.5, abs=1e-5)


def test_patch_is_cut_by_the_far_wall_and_gone_beyond_it():
    ((_, patch),) = sun_patches(Place(rooms=(room(1e-6),)), towards(math.degrees(math.atan(1.5 / 5))))
    assert patch[:, 1].max() == pytest.approx(5.0)
    assert sun_patches(Place(rooms=(room(1e-6),)), towards(5)) == ()


def test_no_patch_with_the_sun_behind_or_down():
    assert sun_patches(Place(rooms=(room(0.3),)), -towards(30) * [1, 1, -1]) == ()
    assert sun_patches(Place(rooms=(room(0.3),)), towards(-1)) == ()


def test_roof_light_throws_a_patch_of_its_own_size():
    roof = Opening("roof", "ceiling", 2.0, 2.0, 1.0, 1.0)
    ((_, patch),) = sun_patches(Place(rooms=(room(1e-6, roof),)), [0, 0, 1])
    assert polygon_area(patch) == pytest.approx(1.0)


def test_reached_agrees_with_the_patch_over_the_floor():
    place = Place(rooms=(room(0.3),))
    sun = towards(35, aside=20)
    ((_, patch),) = sun_patches(place, sun)
    x, y = np.meshgrid(np.arange(0.025, 6, 0.05), np.arange(0.025, 5, 0.05), indexing="ij")
    lit = reached(place, np.stack([x.ravel(), y.ravel(), np.zeros(x.size)], axis=1), sun[None])[:, 0]
    # counted on a grid of 5 cm: the border of a patch this size holds under 3 % of its cells either way
    assert lit.sum() * 0.05**2 == pytest.approx(polygon_area(patch), rel=0.03)


def test_blocks_and_the_horizon_stop_the_sun():
    place = Place(rooms=(room(0.3),), blocks=(Block("shed", "box", (2.5, -2, 0), (4, 1, 4)),))
    point = np.array([[2.5, 1.5, 0.0]])
    bare = Place(rooms=place.rooms)
    directions = np.stack([towards(45), towards(-45), towards(45) * [1, -1, 1]])
    assert reached(bare, point, directions).tolist() == [[True, False, False]]
    assert reached(place, point, directions[:1]).tolist() == [[False]]


def test_sun_through_an_opening_is_the_part_its_reveal_leaves():
    window, place = WINDOW, Place(rooms=(room(0.3),))
    # of one metre of height the reveal shades 0.3 tan e: 0.3 at 45 degrees; seen on 9 x 9 points, so to 1/18
    part = sun_through(place, place.rooms[0], window, np.stack([towards(45), -towards(-45), towards(-5)]))
    assert part[0] == pytest.approx(0.7, abs=1 / 18)
    assert part[1] == part[2] == 0.0


def test_samples_of_an_opening_lie_on_its_face():
    place = Place(rooms=(room(0.3),))
    points = opening_samples(place, place.rooms[0], WINDOW)
    low, high = opening_box(place.rooms[0], WINDOW)
    assert ((points[:, [0, 2]] > low[[0, 2]]) & (points[:, [0, 2]] < high[[0, 2]])).all()
    assert points[:, 1] == pytest.approx(0.0, abs=2e-4)

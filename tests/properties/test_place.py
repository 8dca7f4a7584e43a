"""Places made at random: the masonry is always closed, and what is solid is what blocks and what is seen."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sidelong.geometry.builders import is_closed, joined, volume
from sidelong.geometry.polygons import polygon_area
from sidelong.geometry.rays import segments_hit_mesh
from sidelong.place.cells import SOLID, cells, solid_boxes
from sidelong.place.containment import blocked, inside_wall
from sidelong.place.shell import masonry
from sidelong.place.sunlight import reached, sun_patches
from sidelong.place.values import Opening, Place, Room

tenths = lambda low, high: st.integers(round(low * 10), round(high * 10)).map(lambda n: n / 10)


@st.composite
def rooms(draw, name="room"):
    size = draw(st.tuples(tenths(2, 8), tenths(2, 6), tenths(2, 4)))
    openings = []
    for k, wall in enumerate(
        draw(st.lists(st.sampled_from(["left", "right", "near", "far", "ceiling"]), max_size=4))
    ):
        u = size[1] if wall in ("left", "right") else size[0]
        v = size[1] if wall == "ceiling" else size[2]
        along, sill = draw(tenths(0, u - 0.5)), draw(tenths(0, v - 0.5))
        openings.append(Opening(f"{name} {k}", wall, along, sill, draw(tenths(0.3, 0.5)), draw(tenths(0.3, 0.5))))
    at = (draw(tenths(-6, 6)), draw(tenths(-6, 6)), 0.0)
    return Room(name, at, size, {}, tuple(openings), draw(tenths(0.1, 0.6)))


@st.composite
def places(draw):
    return Place(rooms=tuple(draw(rooms(f"room {k}")) for k in range(draw(st.integers(1, 3)))))


@settings(max_examples=40, deadline=None)
@given(places())
def test_masonry_is_closed_and_is_as_big_as_its_solid_boxes(place):
    whole = joined([t.mesh for t in masonry(cells(place))])
    assert is_closed(whole)
    boxes = solid_boxes(place)
    assert volume(whole) == pytest.approx(np.prod(boxes[:, 1] - boxes[:, 0], axis=1).sum(), rel=1e-9)


@settings(max_examples=15, deadline=None)
@given(places(), st.integers(0, 2**32 - 1))
def test_what_blocks_is_what_is_seen(place, seed):
    random = np.random.default_rng(seed)
    starts = random.uniform([-8, -8, 0.05], [16, 14, 4], (60, 3))
    ends = random.uniform([-8, -8, 0.05], [16, 14, 4], (60, 3))
    free = ~inside_wall(place, starts) & ~inside_wall(place, ends)
    whole = joined([t.mesh for t in masonry(cells(place))])
    assert (blocked(place, starts, ends) == segments_hit_mesh(starts, ends, whole))[free].all()


@settings(max_examples=30, deadline=None)
@given(places(), st.integers(0, 2**32 - 1))
def test_inside_wall_agrees_with_the_cells(place, seed):
    grid = cells(place)
    random = np.random.default_rng(seed)
    index = np.stack([random.integers(0, n, 80) for n in grid.label.shape], axis=1)
    middle = np.stack([(grid.edges[k][index[:, k]] + grid.edges[k][index[:, k] + 1]) / 2 for k in range(3)], axis=1)
    assert (inside_wall(place, middle) == (grid.label[tuple(index.T)] == SOLID)).all()


@settings(max_examples=25, deadline=None)
@given(rooms(), st.floats(0.1, 1.4), st.floats(0, 6.28))
def test_the_middle_of_a_patch_is_in_the_sun(room, elevation, bearing):
    sun = np.array([np.cos(bearing) * np.cos(elevation), np.sin(bearing) * np.cos(elevation), np.sin(elevation)])
    place = Place(rooms=(room,))
    for _, patch in sun_patches(place, sun):
        if polygon_area(patch) > 1e-4:
            middle = np.append(patch.mean(axis=0), room.at[2])
            assert reached(place, middle, sun).all()

"""The masonry: closed, of the areas and volume that the room's sizes give, with openings where they are stated."""

from dataclasses import replace

import numpy as np
import pytest

from sidelong.geometry.builders import area, is_closed, joined, volume
from sidelong.geometry.rays import first_hit
from sidelong.place.cells import cells, solid_boxes
from sidelong.place.shell import GROUND_RADIUS, finish_of, ground, masonry, things
from sidelong.place.values import Block, Opening, Place, Room

WINDOW = Opening("window", "near", 1.0, 0.9, 0.8, 1.0, glass=0.9, kind="window")
DOOR = Opening("door", "right", 0.5, 0.0, 1.1, 2.0, kind="door")
ROOF = Opening("roof light", "ceiling", 3.0, 1.0, 1.0, 0.5)
LOFT = Room("loft", (0, 0, 0), (6, 3, 2.5), {"walls": "plaster", "floor": "slate"}, (WINDOW, DOOR, ROOF), 0.3)
PLACE = Place(rooms=(LOFT,))


def of(place, name):
    return next(t for t in masonry(cells(place)) if t.name == name)


def test_masonry_is_closed_and_holds_what_is_left_of_its_box():
    whole = joined([t.mesh for t in masonry(cells(PLACE))])
    assert is_closed(whole)
    box = 6.6 * 3.6 * (2.5 + 0.3 + 0.3)
    ways = 0.3 * (0.8 * 1.0 + 1.1 * 2.0 + 1.0 * 0.5)
    assert volume(whole) == pytest.approx(box - 6 * 3 * 2.5 - ways)


def test_a_room_of_the_same_shape_keeps_its_own_finish():
    before = {t.finish for t in masonry(cells(PLACE))}
    brick = Place(rooms=(replace(LOFT, finish={"all": "brick"}),))
    assert "plaster" in before
    assert "plaster" not in {t.finish for t in masonry(cells(brick))}
    assert cells(brick).rooms == brick.rooms


def test_solid_boxes_hold_the_same_volume_and_do_not_overlap():
    boxes = solid_boxes(PLACE)
    sizes = np.prod(boxes[:, 1] - boxes[:, 0], axis=1)
    assert sizes.sum() == pytest.approx(volume(joined([t.mesh for t in masonry(cells(PLACE))])))
    for k, a in enumerate(boxes):
        for b in boxes[k + 1 :]:
            assert (np.minimum(a[1], b[1]) - np.maximum(a[0], b[0])).min() < 1e-9


@pytest.mark.parametrize(
    ("face", "expected"),
    [
        ("near", 6 * 2.5 - 0.8),
        ("far", 6 * 2.5),
        ("left", 3 * 2.5),
        ("right", 3 * 2.5 - 2.2),
        ("floor", 18.0),
        ("ceiling", 18 - 0.5),
    ],
)
def test_each_face_has_its_area_less_its_openings(face, expected):
    assert area(of(PLACE, f"loft, {face}").mesh) == pytest.approx(expected)


def test_reveals_are_as_deep_as_the_wall():
    assert area(of(PLACE, "window, reveal").mesh) == pytest.approx(2 * (0.8 + 1.0) * 0.3)
    assert area(of(PLACE, "door, reveal").mesh) == pytest.approx((1.1 + 2 * 2.0) * 0.3)
    assert area(of(PLACE, "door, threshold").mesh) == pytest.approx(1.1 * 0.3)


def test_faces_point_into_the_room():
    for name, inward in (("left", [1, 0, 0]), ("far", [0, -1, 0]), ("floor", [0, 0, 1]), ("ceiling", [0, 0, -1])):
        mesh = of(PLACE, f"loft, {name}").mesh
        a, b, c = (mesh.vertices[mesh.faces[:, k]] for k in range(3))
        normals = np.cross(b - a, c - a)
        assert (normals @ np.array(inward) > 0).all()


def test_rays_from_inside_meet_the_masonry_or_leave_through_an_opening():
    whole = joined([t.mesh for t in masonry(cells(PLACE))])
    random = np.random.default_rng(11)
    away = random.normal(size=(3000, 3))
    origin = np.tile([2.2, 1.3, 1.1], (3000, 1))
    t, _ = first_hit(origin, away, whole)
    out = np.isinf(t)
    assert 0.01 < out.mean() < 0.2
    for o, d in zip(origin[out], away[out], strict=True):
        through = [
            o + d * (0 - o[1]) / d[1] if d[1] < 0 else None,
            o + d * (6 - o[0]) / d[0] if d[0] > 0 else None,
            o + d * (2.5 - o[2]) / d[2] if d[2] > 0 else None,
        ]
        inside = [
            through[0] is not None and 1.0 <= through[0][0] <= 1.8 and 0.9 <= through[0][2] <= 1.9,
            through[1] is not None and 0.5 <= through[1][1] <= 1.6 and 0.0 <= through[1][2] <= 2.0,
            through[2] is not None and 3.0 <= through[2][0] <= 4.0 and 1.0 <= through[2][1] <= 1.5,
        ]
        assert any(inside)


def test_two_rooms_with_a_gap_share_the_wall_between_them():
    door = Opening("between", "right", 1.0, 0.0, 0.9, 2.0, kind="door")
    one = Room("one", (0, 0, 0), (4, 3, 2.4), {}, (door,), 0.2)
    two = Room("two", (4.35, 0, 0), (3, 3, 2.4), {}, (), 0.2)
    place = Place(rooms=(one, two))
    whole = joined([t.mesh for t in masonry(cells(place))])
    assert is_closed(whole)
    assert area(of(place, "two, left").mesh) == pytest.approx(3 * 2.4 - 1.8)
    assert area(of(place, "between, reveal").mesh) == pytest.approx((0.9 + 4.0) * 0.35)


def test_touching_rooms_keep_a_partition_and_the_first_its_size():
    door = Opening("between", "right", 1.0, 0.0, 0.9, 2.0)
    place = Place(rooms=(Room("one", (0, 0, 0), (4, 3, 2.4), {}, (door,)), Room("two", (4, 0, 0), (3, 3, 2.4))))
    assert is_closed(joined([t.mesh for t in masonry(cells(place))]))
    assert of(place, "one, right").mesh.vertices[:, 0] == pytest.approx(4.0)
    assert of(place, "two, left").mesh.vertices[:, 0] == pytest.approx(4.04)
    assert area(of(place, "one, right").mesh) == pytest.approx(3 * 2.4 - 1.8)


def test_overlapping_rooms_are_one_space():
    place = Place(rooms=(Room("one", (0, 0, 0), (4, 3, 2.4)), Room("two", (3, 1, 0), (4, 1, 2.4))))
    assert area(of(place, "one, right").mesh) == pytest.approx((3 - 1) * 2.4)


def test_a_pit_under_a_hole_in_the_floor_is_open():
    hole = Opening("mouth", "floor", 1.0, 1.0, 2.0, 0.8)
    below = Opening("below", "ceiling", 0.0, 0.0, 2.0, 0.8)
    place = Place(
        rooms=(
            Room("shed", (0, 0, 0), (6, 3, 3), {}, (hole,)),
            Room("pit", (1, 1, -1.2), (2, 0.8, 1.2), {}, (below,)),
        )
    )
    whole = joined([t.mesh for t in masonry(cells(place))])
    t, _ = first_hit([[2, 1.4, 1.0]], [[0, 0, -1.0]], whole)
    assert t[0] == pytest.approx(2.2)
    everything = joined([th.mesh for th in things(place)])
    assert first_hit([[2, 1.4, 1.0]], [[0, 0, -1.0]], everything)[0][0] == pytest.approx(2.2)


def test_finish_is_looked_up_face_first():
    assert finish_of(LOFT, "floor") == "slate"
    assert finish_of(LOFT, "near") == "plaster"
    assert finish_of(LOFT, "reveal") == "plaster"
    assert finish_of(LOFT, "ceiling") == "lime wash"
    assert finish_of(Room("r", (0, 0, 0), (1, 1, 1), {"all": "brick"}), "outside") == "brick"


def test_window_has_a_frame_a_sill_and_a_pane_within_its_hole():
    found = {t.name: t for t in things(PLACE)}
    assert {"window, window", "window, sill", "window, pane", "door, door"} <= set(found)
    frame = found["window, window"].mesh.vertices
    assert frame.min(0) == pytest.approx([1.0, -0.2135, 0.9], abs=1e-3)
    assert frame[:, 0].max() == pytest.approx(1.8)
    assert frame[:, 2].max() == pytest.approx(1.9)
    assert found["window, pane"].finish == "glass 0.9"
    assert area(found["window, pane"].mesh) == pytest.approx(0.8)
    assert volume(found["window, sill"].mesh) > 0
    assert not any(name.startswith("roof light, w") for name in found)  # a hole stays bare


def test_joinery_faces_outward_on_every_wall():
    openings = tuple(
        Opening(wall, wall, 0.5, 0.8, 0.8, 0.8, 0.9, None, "window") for wall in ("left", "right", "near", "far")
    )
    place = Place(rooms=(Room("r", (0, 0, 0), (3, 3, 2.5), {}, openings),))
    for thing in things(place):
        if thing.name.endswith((", window", ", sill")):
            assert volume(thing.mesh) > 0, thing.name


def test_ground_lies_under_the_floor_and_not_inside_the_building():
    flat = ground(PLACE)
    assert flat.mesh.vertices[:, 2] == pytest.approx(-0.02)
    assert flat.finish == "ground 0.2"
    a, b, c = (flat.mesh.vertices[flat.mesh.faces[:, k]] for k in range(3))
    assert (np.cross(b - a, c - a)[:, 2] > 0).all()
    assert area(flat.mesh) > 0.9 * np.pi * GROUND_RADIUS**2
    down = np.array([[0, 0, -1.0]])
    assert np.isinf(first_hit([[2, 1, -0.01]], down, flat.mesh)[0][0])
    assert first_hit([[20, 40, 1.0]], down, flat.mesh)[0][0] == pytest.approx(1.02)


def test_place_without_rooms_is_ground_alone():
    found = things(Place(ground=0.3))
    assert [t.name for t in found] == ["ground"]
    assert found[0].mesh.vertices[:, 2] == pytest.approx(0.0)


def test_things_are_the_same_every_time():
    blocks = (
        Block("heap", "net heap", (2, 1, 0), (1, 0.8, 0.4)),
        Block("crate", "crate", (4, 1, 0), (0.7, 0.4, 0.3)),
    )
    place = Place(rooms=(LOFT,), blocks=blocks)
    for one, two in zip(things(place), things(place), strict=True):
        assert one.name == two.name
        assert (one.mesh.vertices == two.mesh.vertices).all()
        assert (one.mesh.faces == two.mesh.faces).all()

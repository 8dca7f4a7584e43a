"""The plan: true sizes, the plane of focus where the lens puts it, the zone where the blur is within the limit."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.place.values import MeshFile
from sidelong.sheet.cut import plan_cut, plane_trace
from sidelong.sheet.drawing import Circle, Line, Polygon, clip_line
from sidelong.sheet.page_furniture import bar_length, compass, scale_bar
from sidelong.sheet.plan_view import eye_height, plan_of_place, plan_of_shot


def points_of(shapes):
    return [p for s in shapes if isinstance(s, (Line, Polygon)) for p in s.points]


def test_scale_bar_has_the_length_it_says(loft):
    drawing = plan_of_shot(loft[1][0])
    words = [t.words for t in drawing.of_pen("scale") if hasattr(t, "words")]
    assert words == ["0", "2 m"]
    assert bar_length(drawing.of_pen("scale")) == pytest.approx(2.0, abs=1e-12)


@pytest.mark.parametrize(
    ("longest", "imperial", "length"), [(0.9, False, 0.5), (7, False, 5), (7, True, 20 * 0.3048)]
)
def test_scale_bar_is_the_longest_round_one(longest, imperial, length):
    assert bar_length(scale_bar((0.3, -0.4), longest, imperial)) == pytest.approx(length)


@pytest.mark.parametrize("north", [0.0, 35.0, 168.0, 330.0])
def test_north_arrow_points_to_true_north(north):
    """`north` is the bearing of the plan's +y: true north lies that angle anticlockwise of up the page."""
    shapes = compass((0.0, 0.0), 1.0, math.radians(north), ())
    tip = next(s for s in shapes if isinstance(s, Polygon)).points[0]
    assert math.degrees(math.atan2(-tip[0], tip[1])) % 360 == pytest.approx(north % 360, abs=1e-9)


def test_sun_stands_at_its_bearing():
    """North up the page: a sun in the east stands to the right and its light runs to the left."""
    shapes = compass((0.0, 0.0), 1.0, 0.0, [(math.radians(90), "sun 06:00")])
    disc = next(s for s in shapes if isinstance(s, Circle) and s.pen == "sun")
    arrow = next(s for s in shapes if hasattr(s, "head"))
    assert disc.centre == pytest.approx((1.55, 0.0), abs=1e-12)
    assert arrow.head[0] < arrow.tail[0]


def test_plane_of_focus_passes_through_the_point_focused_on(loft):
    for plan in loft[1]:
        cut = plan_cut(next(p.at[2] for p in plan.focus.points if p.name == plan.focus.focus_on))
        at = next(p.at for p in plan.focus.points if p.name == plan.focus.focus_on)
        (x0, y0), (x1, y1) = plane_trace(cut, plan.focus.plane_normal, plan.focus.plane_offset, (-50, -50, 50, 50))
        off = abs((x1 - x0) * (y0 - at[1]) - (y1 - y0) * (x0 - at[0])) / math.hypot(x1 - x0, y1 - y0)
        assert off < 1e-6


def test_swing_to_the_left_puts_the_plane_along_the_bench(loft):
    """Swung left the plane runs from the left foreground to the right background: here close to the bench wall."""
    plan = loft[1][0]
    trace = next(s for s in plan_of_shot(plan).of_pen("plane of focus") if isinstance(s, Line))
    (x0, y0), (x1, y1) = sorted(trace.points)
    assert abs(math.degrees(math.atan2(y1 - y0, x1 - x0))) < 5
    assert all(2.2 < y < 3.2 for y in (y0, y1))


def test_zone_ends_where_the_blur_reaches_the_limit(loft):
    for plan in loft[1][:2]:
        cut, focus = plan_cut(eye_height(plan.focus)), plan.focus
        ticks = [s for s in plan_of_shot(plan).of_pen("zone") if isinstance(s, Line)]
        assert len(ticks) > 10
        ends = np.array([p for t in ticks for p in t.points])
        middles = np.array([np.mean(t.points, axis=0) for t in ticks])
        lens = geometry_of(focus.setting)
        shares = [blur(lens, focus.frame.to_body(cut.lift(p))).major / focus.blur_limit for p in (ends, middles)]
        assert shares[0].max() < 1.002
        assert shares[1].max() < 1.0
        image = blur(lens, focus.frame.to_body(cut.lift(ends))).image
        assert np.abs(image[:, 0]).max() <= 0.018 + 1e-4
        # an end within the picture and the room is one that the blur set
        inside = (np.abs(image[:, 0]) < 0.0175) & (ends[:, 0] < 8.9) & (ends[:, 1] > 0.1) & (ends[:, 1] < 3.1)
        assert inside.sum() > 5
        assert shares[0][inside].min() > 0.97


def test_hinge_line_of_a_swing_pierces_the_plan_at_its_distance(loft):
    plan = loft[1][0]
    ring = next(s for s in plan_of_shot(plan).of_pen("hinge") if isinstance(s, Circle))
    principal = plan.focus.frame.to_place(plan.focus.principal_point)
    assert math.dist(ring.centre, principal[:2]) == pytest.approx(0.045 / math.sin(math.radians(1.4)), rel=1e-6)


def test_tilt_shows_no_hinge_on_the_plan(loft):
    assert not plan_of_shot(loft[1][1]).of_pen("hinge")


def test_people_are_told_apart_by_shape_and_words(loft):
    drawing = plan_of_shot(loft[1][0])
    assert len([s for s in drawing.of_pen("sharp person") if isinstance(s, Circle)]) == 5
    assert len([s for s in drawing.of_pen("soft person") if isinstance(s, Circle)]) == 1
    words = {s.words for s in drawing.of_pen("person") if hasattr(s, "words")}
    assert {"Signe, sharp", "Skipper Torvald, soft"} <= words


def test_people_face_where_they_look(loft):
    """The skipper faces 165 degrees from +x: the nose lies on that side of the head."""
    drawing = plan_of_shot(loft[1][0])
    nose = next(s for s in drawing.of_pen("soft person") if isinstance(s, Polygon)).points[1]
    head = next(s for s in drawing.of_pen("soft person") if isinstance(s, Circle)).centre
    assert math.degrees(math.atan2(nose[1] - head[1], nose[0] - head[0])) == pytest.approx(165, abs=0.5)


def test_walls_are_open_where_openings_are(loft):
    boxes = [np.array(s.points) for s in plan_of_place(*loft).of_pen("wall")]

    def in_wall(x, y):
        return any((b.min(0) <= (x, y)).all() and ((x, y) <= b.max(0)).all() for b in boxes)

    assert in_wall(4.5, -0.1)
    assert in_wall(-0.1, 0.2)
    assert in_wall(9.1, 1.0)
    assert not in_wall(2.6, -0.1)  # a window
    assert not in_wall(-0.1, 1.5)  # the door
    assert not in_wall(4.5, 1.5)


def test_far_things_do_not_shrink_the_plan(build):
    from dataclasses import replace

    from sidelong.place.values import Block

    shoot, plans = build()
    far = Block("far shore", "box", (-400.0, 50.0, 0.0), (120.0, 600.0, 90.0))
    wide = replace(shoot, place=replace(shoot.place, blocks=(*shoot.place.blocks, far)))
    moved = tuple(replace(p, shoot=wide) for p in plans)
    assert plan_of_place(wide, moved).bounds == plan_of_place(shoot, plans).bounds


def test_empty_place_still_draws(build):
    from dataclasses import replace

    shoot, _ = build(shots=1)
    bare = replace(shoot, people=(), marks=(), shots=(), place=replace(shoot.place, rooms=(), blocks=()))
    drawing = plan_of_place(bare)
    assert drawing.width > 0
    assert drawing.height > 0


@pytest.mark.parametrize(
    ("start", "end", "expected"),
    [
        ((-1, 0.5), (2, 0.5), ((0, 0.5), (1, 0.5))),
        ((0.2, 0.2), (0.8, 0.8), ((0.2, 0.2), (0.8, 0.8))),
        ((-1, -1), (-1, 2), None),
        ((-1, 2), (2, 2), None),
    ],
)
def test_clip_line(start, end, expected):
    assert clip_line(start, end, (0, 0, 1, 1)) == expected


def test_many_people_get_numbers(build):
    _, plans = build([f"A rather long name, number {k}" for k in range(20)], shots=1)
    words = [s.words for s in plan_of_shot(plans[0]).of_pen("person") if hasattr(s, "words")]
    assert words[:2] == ["1, sharp", "2, sharp"]
    assert words[-1] == "20, soft"


def test_cables_are_drawn_from_where_their_outlet_is_to_the_head(loft):
    shoot, plan = loft[0], loft[1][0]
    power = {id_: replace(source, at=(0.5, 0.0, 0.3)) for id_, source in shoot.kit.power.items()}
    placed = replace(shoot, kit=replace(shoot.kit, power=power))
    bare = plan_of_shot(plan)
    drawing = plan_of_shot(replace(plan, shoot=placed))
    assert bare.of_pen("cable") == ()
    lines = [s for s in drawing.of_pen("cable") if isinstance(s, Line)]
    assert [line.points[0] for line in lines] == [(0.5, 0.0)] * len(plan.shot.lights)
    assert [line.points[-1] for line in lines] == [tuple(light.at[:2]) for light in plan.shot.lights]
    words = [s.words for s in drawing.of_pen("cable") if hasattr(s, "words")]
    assert any(w.startswith("cable ") and w.endswith(" m") for w in words)


def test_a_mesh_from_a_file_is_drawn_turned_where_it_stands(loft, tmp_path):
    """A metre long, half a metre wide: its corners on the plan, its name beside; not there, it is left out."""
    file = tmp_path / "stove.obj"
    file.write_text("v 0 0 0\nv 1 0 0\nv 1 .9 0\nv 0 .9 1\nf 1 2 3\nf 1 3 4\n", encoding="utf-8")
    shoot, plans = loft
    mesh = MeshFile("stove", str(file), (2.0, 1.0, 0.0), math.radians(90))
    drawing = plan_of_place(replace(shoot, place=replace(shoot.place, meshes=(mesh,))), plans)
    outlines = [sorted(s.points) for s in drawing.of_pen("block") if isinstance(s, Polygon)]
    wanted = [(1.1, 1.0), (1.1, 2.0), (2.0, 1.0), (2.0, 2.0)]
    assert any(len(o) == 4 and np.allclose(o, wanted, atol=1e-9) for o in outlines)
    assert "stove" in [t.words for t in drawing.of_pen("block") if hasattr(t, "words")]
    gone = replace(mesh, name="gone", path=str(tmp_path / "gone.obj"))
    drawing = plan_of_place(replace(shoot, place=replace(shoot.place, meshes=(gone,))), plans)
    assert "gone" not in [t.words for t in drawing.of_pen("block") if hasattr(t, "words")]


def test_a_flat_mesh_has_an_outline_too(loft, tmp_path):
    """A rug has no hull in space."""
    file = tmp_path / "rug.obj"
    file.write_text("v 0 0 0\nv 1 0 0\nv 1 .9 0\nv 0 .9 0\nf 1 2 3\nf 1 3 4\n", encoding="utf-8")
    shoot, plans = loft
    rug = MeshFile("rug", str(file), (2.0, 1.0, 0.0))
    drawing = plan_of_place(replace(shoot, place=replace(shoot.place, meshes=(rug,))), plans)
    outlines = [sorted(s.points) for s in drawing.of_pen("block") if isinstance(s, Polygon)]
    wanted = [(2.0, 1.0), (2.0, 1.9), (3.0, 1.0), (3.0, 1.9)]
    assert any(len(o) == 4 and np.allclose(o, wanted, atol=1e-9) for o in outlines)

"""Heads, stands, shadows and mirror images in a picture, against projections and similar triangles done apart."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.values import Film, Movement
from sidelong.place.shell import things
from sidelong.place.values import Opening
from sidelong.plan.in_picture import InPicture, in_picture
from sidelong.plan.in_picture_answer import in_picture_answer, in_picture_in_words, where_in_words
from sidelong.plan.predict import plan_shot
from sidelong.shoot.check import check

TWO_HEADS = (Path(__file__).parent / "two_heads_in_a_room.toml").read_text()
SITTER = """[[people]]
name = "Eve"
at = [3.0, 5.0]
facing = [3.0, 0.5]

[[marks]]
name = "Ana"
"""
STRAIGHT = ('aim = "Ana"', "aim = [3.0, 6.0, 1.5]")
AWAY = (-2.0, -20.0, 1.0)
OPENING = Opening("pane", "far", 0.5, 0.3, 5.0, 2.4)
"""A hole without bars, so that all of the pane is seen."""


def pane_at(place):
    """How far along y the pane in the far wall stands. [m]"""
    panes = [thing.mesh.vertices[:, 1] for thing in things(place) if thing.finish.startswith("glass")]
    assert len(panes) == 1
    return float(panes[0].mean())


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    path = tmp_path_factory.mktemp("seen") / "shoot.toml"
    toml = TWO_HEADS.replace('[[marks]]\nname = "Ana"\n', SITTER, 1).replace(*STRAIGHT, 1)
    path.write_text(toml)
    checked = check(path)
    assert checked.shoot is not None, checked.faults
    return plan_shot(checked.shoot, checked.shoot.shots[0], most_paths=512)


def with_heads(plan, **heads):
    """The plan with its heads moved: name = (at, axis); the lens as it is."""
    emitters = []
    for emitter in plan.stage.emitters:
        at, axis = heads.get(emitter.name, (emitter.at, emitter.axis))
        unit = np.array(axis, float) / np.linalg.norm(axis)
        up = np.array([0.0, 0.0, 1.0]) - unit[2] * unit
        up = tuple(map(float, up / np.linalg.norm(up)))
        emitters.append(replace(emitter, at=tuple(map(float, at)), axis=tuple(map(float, unit)), up=up))
    return replace(plan, stage=replace(plan.stage, emitters=tuple(emitters)))


def moved_lens(plan, movement):
    setting = replace(plan.focus.setting, movement=movement)
    return replace(plan, focus=replace(plan.focus, setting=setting))


def projected(plan, point):
    """Where a point of the place is imaged. [m]"""
    return blur(geometry_of(plan.focus.setting), plan.focus.frame.to_body(np.array([point], float))).image[0]


def of(found, name, kind):
    return next((one for one in found if one.name == name and one.kind == kind), None)


@pytest.mark.parametrize("movement", [Movement(), Movement(0.10, -0.05, 0.004, 0.0)])
def test_a_head_in_the_picture_lies_where_the_lens_images_it(plan, movement):
    """A front square to the camera: its middle, and its area by the four corners as the lens images them."""
    here = moved_lens(with_heads(plan, key=((2.2, 5.5, 1.5), (0.0, -1.0, 0.0)), fill=(AWAY, (0, 1, 0))), movement)
    head = of(in_picture(here).seen, "key", "light")
    corners = np.array(
        [projected(here, (2.2 + x * 0.45, 5.5, 1.5 + z * 0.6)) for x, z in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    )
    assert np.all(np.abs(corners) < [0.018, 0.012]), "the whole front should be in the picture"
    x, y = corners.T
    area = 0.5 * abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    assert head.share == pytest.approx(area / (0.036 * 0.024), rel=0.02)
    assert head.at == pytest.approx(corners.mean(0), abs=2.5e-4)
    assert head.hidden == 0.0


def test_a_stand_moved_out_of_the_picture_is_not_told(plan):
    inside = in_picture(with_heads(plan, key=((2.0, 4.0, 2.9), (0, -1, 0)), fill=(AWAY, (0, 1, 0))))
    pole = of(inside.seen, "key", "stand")
    # the pole stands under the middle of the head, behind the front
    assert pole.at[0] == pytest.approx(projected(plan, (2.0, 4.0 + 0.4 + 0.125, 1.0))[0], abs=3e-4)
    assert pole.share > 0
    for x in (-0.3, 6.3):
        outside = in_picture(with_heads(plan, key=((x, 1.0, 2.9), (0, -1, 0)), fill=(AWAY, (0, 1, 0))))
        assert outside.seen == ()


def test_what_stands_behind_a_person_is_hidden(plan):
    """A small head right behind Eve, in line with the camera: it would show and does not."""
    eyes = np.array(next(p.at for p in plan.focus.points if p.name == "Eve"))
    camera = np.array(plan.shot.camera.at)
    behind = camera + (eyes - camera) * 1.2 - [0.0, 0.0, 0.15]
    found = in_picture(with_heads(plan, fill=(behind, (0, 1, 0)), key=(AWAY, (0, 1, 0))))
    head = of(found.seen, "fill", "light")
    assert head.hidden > 0.9
    assert head.share < 1e-3


def test_mirrored_places_are_seen_mirrored(plan):
    """Heads and swing mirrored in the camera's upright plane x = 3: the same shares, left for right."""
    movement = Movement(0.08, 0.03, 0.002, 0.001)
    one = moved_lens(
        with_heads(plan, key=((2.6, 3.0, 2.0), (1, -1, 0)), fill=((3.6, 3.5, 1.9), (-1, -1, 0))), movement
    )
    other = moved_lens(
        with_heads(plan, key=((3.4, 3.0, 2.0), (-1, -1, 0)), fill=((2.4, 3.5, 1.9), (1, -1, 0))),
        replace(movement, swing=-movement.swing, shift=-movement.shift),
    )
    # Eve's figure is not the same on both sides: without her
    here, there = (in_picture(replace(p, stage=replace(p.stage, people=()))) for p in (one, other))
    assert {(s.name, s.kind) for s in here.seen} >= {("key", "light"), ("key", "stand"), ("fill", "stand")}
    assert len(here.seen) == len(there.seen)
    for a in here.seen:
        b = of(there.seen, a.name, a.kind)
        assert b.share == pytest.approx(a.share, rel=0.05)
        assert b.at == pytest.approx((-a.at[0], a.at[1]), abs=4e-4)
    assert len(here.shadows) == len(there.shadows)


def test_the_shadow_of_a_stand_falls_by_similar_triangles(plan):
    """A bare head's light past the other's stand onto the far wall: where the line through both meets it."""
    source, pole = np.array([2.0, 1.0, 1.4]), np.array([2.4, 3.0])
    # the other head is turned up and its front lies high over the picture: only its stand throws
    here = with_heads(plan, fill=(source, (0, 1, 0)), key=((2.4, 3.0 + 0.525, 2.9), (0, 1, 0)))
    here = replace(here, stage=replace(here.stage, people=()))
    found = in_picture(here)
    shadow = next(s for s in found.shadows if s.kind == "stand" and s.light == "fill")
    pole_y = 3.0
    x = source[0] + (pole[0] - source[0]) * (8.0 - source[1]) / (pole_y - source[1])
    assert shadow.name == "key"
    assert shadow.on == "wall"
    assert shadow.at[0] == pytest.approx(projected(here, (x, 8.0, 1.2))[0], abs=6e-4)


def test_half_of_a_front_behind_an_edge_is_half_hidden_from_the_eyes(plan):
    """The other head's front stands across the way from Eve's eyes to the key, its upright edge in the middle."""
    eyes = np.array(next(p.at for p in plan.focus.points if p.name == "Eve"))
    way = np.array([-1.0, -1.5, 0.0]) / math.hypot(1.0, 1.5)
    left = np.array([way[1], -way[0], 0.0])
    fill, key = (e for e in (plan.stage.emitters[1], plan.stage.emitters[0]))
    large = replace(key, name=fill.name)
    staged = replace(plan, stage=replace(plan.stage, emitters=(plan.stage.emitters[0], large)))
    for side, part in ((0.45, 0.5), (1.2, 0.0), (0.0, 1.0)):
        at = eyes + 1.2 * way + side * left
        here = with_heads(staged, key=(eyes + 2.5 * way, -way), fill=(at, way))
        shades = [s for s in in_picture(here).shades if s.light == "key" and s.kind == "light"]
        assert sum(s.part for s in shades) == pytest.approx(part, abs=0.04)
        assert all(s.who == "Eve" and s.name == "fill" for s in shades)


def test_a_head_mirrored_in_a_pane_lies_where_its_mirror_image_would(plan):
    """A pane in the far wall: the image of the front behind it, as far as the front stands before it."""
    room = plan.stage.place.rooms[0]
    glass = replace(OPENING, glass=0.85)
    place = replace(plan.stage.place, rooms=(replace(room, openings=(glass,)),))
    front = (2.0, 2.0, 1.9)
    here = with_heads(plan, key=(front, (0.0, 1.0, 0.0)), fill=(AWAY, (0, 1, 0)))
    here = replace(here, stage=replace(here.stage, place=place, people=()))
    found = in_picture(here)
    image = next(m for m in found.mirrored if m.name == "key")
    pane = pane_at(place)
    assert image.at == pytest.approx(projected(here, (front[0], 2 * pane - front[1], front[2])), abs=4e-4)
    # turned the other way its back is black
    away = with_heads(here, key=(front, (0.0, -1.0, 0.0)))
    assert in_picture(away).mirrored == ()


def test_words_and_figures(plan):
    here = with_heads(plan, key=((2.2, 5.5, 1.5), (0.0, -1.0, 0.0)), fill=(AWAY, (0, 1, 0)))
    found, film = in_picture(here), plan.shot.body.film
    words = in_picture_in_words(found, film)
    assert any(w.startswith("key is in the picture, at the left, ") and w.endswith("% of it") for w in words)
    answer = in_picture_answer(found, film)["in_the_picture"]
    head = next(s for s in answer["seen"] if s["kind"] == "light")
    assert head["image_mm"] == pytest.approx([1e3 * v for v in of(found.seen, "key", "light").at])
    assert in_picture_in_words(InPicture((), (), (), ()), film) == ()


def test_ninths_of_a_picture():
    film = Film(0.036, 0.024)
    assert where_in_words((-0.01, 0.01), film) == "upper left"
    assert where_in_words((0.0, -0.01), film) == "lower middle"
    assert where_in_words((0.012, 0.001), film) == "at the right"
    assert where_in_words((0.001, 0.001), film) == "in the middle"

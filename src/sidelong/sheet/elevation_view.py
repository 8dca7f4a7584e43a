"""The elevation: an upright section through the camera's axis, seen from the camera's right."""

from __future__ import annotations

import math

import numpy as np

from sidelong.frames_of_reference import BodyFrame
from sidelong.people.values import Person
from sidelong.plan.stage import head_names
from sidelong.plan.values import ShotPlan
from sidelong.sheet.cut import Cut, camera_cut
from sidelong.sheet.drawing import Box, Drawing, Line, Point, Shape, Text, box_around
from sidelong.sheet.naming import on_drawing
from sidelong.sheet.page_furniture import scale_bar
from sidelong.sheet.plan_view import PEN_OF_WANTED, focus_on
from sidelong.sheet.section import room_span, section
from sidelong.sheet.symbols import camera_on, cross, light_on, person_from_side
from sidelong.sheet.walls import blocks_on, near_blocks
from sidelong.shoot.values import Shoot
from sidelong.units import metres_in_words

Eyes = dict[str, tuple[float, float, float]]


def elevation_of_shot(plan: ShotPlan) -> Drawing:
    """One shot from the side: heights, the plane of focus and the zone on the upright plane through the camera's
    axis,
    the lens as it is tilted, the lights. People beside that plane are drawn where they are seen, not cut. [m]"""
    cut = camera_cut(plan.focus.frame)
    eyes = {p.name: p.at for p in plan.focus.points if p.kind == "person"}
    box = elevation_box(cut, plan.shoot, eyes, (plan,))
    wanted = {p.name: p.wanted for p in plan.focus.points}
    shapes: list[Shape] = [*blocks_on(cut, plan.shoot.place, box), *section(cut, plan.shoot.place)]
    shapes += focus_on(cut, plan.focus, plan.shot.body.film.height, _inner(cut, plan, box))
    names: list[Shape] = []
    for title, light in zip(head_names(plan.shot), plan.shot.lights, strict=True):
        shapes += light_on(cut, light)
        half = max(light.modifier.size) / 2 if light.modifier is not None else 0.0
        names.append(Text(cut.project(light.at), title, "light", clear=max(0.3, half + 0.08), strong=True))
    for person in _far_first(cut, plan.shoot.people):
        state = wanted.get(person.name, "free")
        at = eyes.get(person.name, _eyes_guess(person))
        shapes += person_from_side(cut, person, at, PEN_OF_WANTED[state])
        words = on_drawing(plan.shoot, person.name, state)
        names.append(Text(cut.project(at), words, "person", clear=0.16, strong=state == "sharp"))
    for point in (p for p in plan.focus.points if p.kind == "mark" and p.wanted != "free"):
        u, v = cut.project(point.at)
        if box[0] <= u <= box[2] and box[1] <= v <= box[3]:
            shapes += cross((u, v))
            names.append(Text((u, v), on_drawing(plan.shoot, point.name, point.wanted), "mark", clear=0.09))
    camera = cut.project(plan.focus.frame.at)
    shapes += camera_on(cut, plan.focus)
    height = metres_in_words(float(plan.focus.frame.at[2]), plan.shoot.imperial)
    names.append(Text(camera, f"camera, {height} up", "camera", clear=0.25))
    bar, bounds = _bar(box, plan.shoot)
    title = "Elevation, seen from the camera's right"
    if not any(s.pen == "plane of focus" for s in shapes):
        title += "; the plane of focus does not cross it here"
    return Drawing(title, (*_cropped(shapes, box), *names, *bar), bounds)


def elevation_of_place(shoot: Shoot, eyes: Eyes) -> Drawing:
    """The place from its side: a section along its longer direction, with everyone's height. [m]"""
    across = np.array([1.0, 0.0, 0.0])
    extents = np.array([r.size[:2] for r in shoot.place.rooms], float).reshape(-1, 2)
    if len(extents) and extents[:, 1].max() > extents[:, 0].max():
        across = np.array([0.0, 1.0, 0.0])
    middle = np.array([*_middle(shoot), 0.0])
    origin = middle - across * float(middle @ across)
    frame = BodyFrame(origin, np.cross(across, [0, 0, 1.0]), np.array([0, 0, 1.0]), across)
    cut = camera_cut(frame)
    box = elevation_box(cut, shoot, eyes, ())
    shapes: list[Shape] = [*blocks_on(cut, shoot.place, box), *section(cut, shoot.place)]
    names: list[Shape] = []
    for person in _far_first(cut, shoot.people):
        at = eyes.get(person.name, _eyes_guess(person))
        shapes += person_from_side(cut, person, at, "person")
        height = metres_in_words(float(at[2]), shoot.imperial)
        names.append(Text(cut.project(at), f"{on_drawing(shoot, person.name)}, eyes {height}", "person", clear=0.16))
    for mark in shoot.marks:
        shapes += cross(cut.project(mark.at))
    bar, bounds = _bar(box, shoot)
    seen = "near" if across[0] else "right"
    return Drawing(f"Elevation, seen from the {seen} side", (*_cropped(shapes, box), *names, *bar), bounds)


def _middle(shoot: Shoot) -> tuple[float, float]:
    """The middle of the largest room, else of the people."""
    if shoot.place.rooms:
        room = max(shoot.place.rooms, key=lambda r: r.size[0] * r.size[1])
        return room.at[0] + room.size[0] / 2, room.at[1] + room.size[1] / 2
    if not shoot.people:
        return 0.0, 0.0
    return tuple(np.mean([p.at[:2] for p in shoot.people], axis=0))


def _eyes_guess(person: Person) -> tuple[float, float, float]:
    """Where the eyes are when no plan says so: 0.936 of the stature standing, drawn only. [m]"""
    share = {"standing": 0.936, "sitting": 0.70, "kneeling": 0.70}[person.pose]
    return person.at[0], person.at[1], person.at[2] + share * person.height


def _far_first(cut: Cut, people: tuple[Person, ...]) -> list[Person]:
    right = np.array([cut.across[1], -cut.across[0]])
    return sorted(people, key=lambda p: float(np.array(p.at[:2]) @ right))


def elevation_box(cut: Cut, shoot: Shoot, eyes: Eyes, plans: tuple[ShotPlan, ...]) -> Box:
    """The box that holds rooms cut, people, camera and lights on an upright cut, and a margin. [m]"""
    points: list[Point] = []
    for room in shoot.place.rooms:
        span = room_span(cut, room)
        if span is not None:
            t = room.thickness
            points += [(span[0] - t, room.at[2] - t), (span[1] + t, room.at[2] + room.size[2] + t)]
    indoors = bool(points)
    for person in shoot.people:
        u, z = cut.project(eyes.get(person.name, _eyes_guess(person)))
        points += [(u - 0.3, person.at[2]), (u + 0.3, z + 0.2)]
    for plan in plans:
        u, z = cut.project(plan.focus.frame.at)
        points += [(u - 0.35, 0.0), (u + 0.2, z + 0.2)]
        for light in plan.shot.lights:
            lu, lz = cut.project(light.at)
            points += [(lu - 0.5, 0.0), (lu + 0.5, lz + 0.4)]
    if not indoors:
        for block in near_blocks(cut, shoot.place, box_around(points)):
            points += list(cut.project_all(block.corners))
    return box_around(points, 0.02 if indoors else 0.3)


def _inner(cut: Cut, plan: ShotPlan, box: Box) -> Box:
    """The section of the room that the camera stands in, else that of the point focused on, else the box above the
    floor: where focus is drawn. [m]"""
    places = [0.0, *(cut.project(p.at)[0] for p in plan.focus.points if p.name == plan.focus.focus_on)]
    for across in places:
        for room in plan.shoot.place.rooms:
            span = room_span(cut, room)
            if span is not None and span[0] <= across <= span[1] and room.at[2] + room.size[2] > 0:
                return span[0], room.at[2], span[1], room.at[2] + room.size[2]
    return box[0], 0.0, box[2], box[3]


def _cropped(shapes: list[Shape], box: Box) -> list[Shape]:
    """Shapes with the endless ground cut to the box."""
    kept: list[Shape] = []
    for shape in shapes:
        if isinstance(shape, Line) and shape.pen == "ground":
            shape = Line(tuple((min(max(x, box[0]), box[2]), y) for x, y in shape.points), "ground")
        kept.append(shape)
    return kept


def _bar(box: Box, shoot: Shoot) -> tuple[tuple[Shape, ...], Box]:
    width = box[2] - box[0]
    strip = max(0.3, 0.055 * width)
    bar = scale_bar((box[0] + 0.02 * width, box[1] - strip * 0.85), min(width * 0.36, 20.0), shoot.imperial)
    return bar, (box[0], box[1] - strip, box[2], math.fsum([box[3], 0.02]))

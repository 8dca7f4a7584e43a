"""The plan: the place from above with people, camera, lights, sun, and the plane of focus at eye height."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np

from sidelong.people.values import Person
from sidelong.place.sunlight import sun_patches
from sidelong.place.values import Place, Vector
from sidelong.plan.stage import head_names
from sidelong.plan.values import FocusPlan, PointFocus, ShotPlan
from sidelong.sheet.cables_on import cables_on
from sidelong.sheet.cut import Cut, picture_edges, plan_cut, plane_trace, zone_ticks
from sidelong.sheet.drawing import Box, Circle, Drawing, Line, Pen, Point, Polygon, Shape, Text, box_around, clip_line
from sidelong.sheet.naming import on_drawing
from sidelong.sheet.page_furniture import compass, scale_bar
from sidelong.sheet.plume_on import plume_on
from sidelong.sheet.symbols import STAND_DIAMETER, camera_on, cross, light_on, person_from_above
from sidelong.sheet.walls import blocks_on, blocks_overhead, near_blocks, room_box, standing, walls_on_plan
from sidelong.shoot.values import Shoot
from sidelong.units import metres_in_words

PEN_OF_WANTED: dict[str, Pen] = {"sharp": "sharp person", "soft": "soft person", "free": "person"}


def plan_of_place(shoot: Shoot, plans: Sequence[ShotPlan] = ()) -> Drawing:
    """The place, everyone in it, and where each shot's camera stands, with the sun at each shot's time. [m]"""
    cut = plan_cut(0.0)
    people = [s for p in shoot.people for s in person_from_above(p, "person")]
    names = [Text((p.at[0], p.at[1]), on_drawing(shoot, p.name), "person", clear=0.24) for p in shoot.people]
    box = plan_box(shoot, plans)
    shapes = [
        *blocks_on(cut, shoot.place, box), *walls_on_plan(shoot.place), *_openings_named(shoot.place), *people,
        *_cameras(cut, plans), *marks_on(shoot, cut, box), *blocks_overhead(cut, shoot.place, box), *names,
        *_blocks_named(shoot.place, box),
    ]  # fmt: skip
    furniture, bounds = _furniture(box, shoot, _suns(plans))
    return Drawing("Plan", (*shapes, *furniture), bounds)


def _cameras(cut: Cut, plans: Sequence[ShotPlan]) -> list[Shape]:
    """Each shot's camera; those within a hand's breadth of one another share a label."""
    shapes: list[Shape] = []
    spots: dict[tuple[int, int], list[int]] = {}
    for number, plan in enumerate(plans, 1):
        shapes += camera_on(cut, plan.focus)
        x, y = cut.project(plan.focus.frame.at)
        spots.setdefault((round(x * 4), round(y * 4)), []).append(number)
    for numbers in spots.values():
        words = f"camera{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"
        shapes.append(
            Text(cut.project(plans[numbers[0] - 1].focus.frame.at), words, "camera", clear=0.25, strong=True)
        )
    return shapes


def _suns(plans: Sequence[ShotPlan]) -> list[tuple[float, str]]:
    """Bearing of the sun at each shot, and its time in words, in the order of the day. [rad]"""
    up = [
        (p.shot.when, p.light.daylight.azimuth) for p in plans if p.light.daylight and p.light.daylight.elevation > 0
    ]
    return [(bearing, f"sun {when:%H:%M}") for when, bearing in sorted(set(up))]


def plan_of_shot(plan: ShotPlan) -> Drawing:
    """One shot from above: who is where and how sharp, the picture's edges, the lights, the sun, the plane of focus
    and the zone within the blur limit, both cut at the height of the eyes that are to be sharp. [m]"""
    shoot, focus = plan.shoot, plan.focus
    cut = plan_cut(eye_height(focus))
    box = plan_box(shoot, (plan,))
    inner = _inside(shoot.place, focus, box)
    floor = _floor_under(shoot.place, focus)
    daylight = plan.light.daylight
    to_sun: Vector | None = daylight.to_sun if daylight is not None and daylight.sun_normal > 0 else None
    suns = [(daylight.azimuth, f"sun {plan.shot.when:%H:%M}")] if daylight is not None and to_sun is not None else []
    patches = [p for _, p in sun_patches(shoot.place, to_sun)] if to_sun is not None else []
    shapes: list[Shape] = [
        *(Polygon(tuple((float(x), float(y)) for x, y in p), "sun patch") for p in patches),
        *blocks_on(cut, shoot.place, box), *walls_on_plan(shoot.place),
        *focus_at_floor(cut, plan_cut(floor), focus, plan.shot.body.film.width, inner),
        *focus_on(cut, focus, plan.shot.body.film.width, inner), *plume_on(shoot.place), *cables_on(plan),
        *_lights(plan, cut),
        *_people(plan), *camera_on(cut, focus), *marks_on(shoot, cut, box, focus.points),
        *blocks_overhead(cut, shoot.place, box),
    ]  # fmt: skip
    furniture, bounds = _furniture(box, shoot, suns)
    return Drawing(
        f"Plan, focus cut {metres_in_words(cut.origin[2], shoot.imperial)} above the floor",
        (*shapes, *furniture),
        bounds,
    )


def eye_height(focus: FocusPlan) -> float:
    """Mean height of the points that are to be sharp, else of the point focused on, else of the camera. [m]"""
    wanted = [p.at[2] for p in focus.points if p.wanted == "sharp"]
    wanted = wanted or [p.at[2] for p in focus.points if p.name == focus.focus_on]
    return float(np.mean(wanted)) if wanted else float(focus.frame.at[2])


def focus_on(cut: Cut, focus: FocusPlan, film_size: float, box: Box) -> tuple[Shape, ...]:
    """Plane of focus, zone, hinge line and the picture's edges on any cut, inside a box of the page. [m]"""
    shapes: list[Shape] = []
    for start, direction in picture_edges(cut, focus, film_size):
        run = clip_line(start, (start[0] + 1e3 * direction[0], start[1] + 1e3 * direction[1]), box)
        if run is not None:
            shapes.append(Line((start, run[1]), "field of view"))
    spacing = max(0.06, 0.014 * max(box[2] - box[0], box[3] - box[1]))
    shapes += zone_ticks(cut, focus, film_size, box, spacing)
    trace = plane_trace(cut, focus.plane_normal, focus.plane_offset, box)
    if trace is not None:
        shapes.append(Line(trace, "plane of focus"))
        end = max(trace, key=lambda p: math.dist(p, cut.project(focus.frame.at)))
        shapes.append(Text(end, "plane of focus", "plane of focus", clear=0.05, strong=True))
    shapes += _hinge(cut, focus, box)
    return tuple(shapes)


def focus_at_floor(cut: Cut, floor: Cut, focus: FocusPlan, film_size: float, box: Box) -> tuple[Shape, ...]:
    """Plane of focus and zone where they meet the floor; nothing where the plane is so steep that this is the same
    as on `cut`. [m]"""
    here, below = (plane_trace(c, focus.plane_normal, focus.plane_offset, box) for c in (cut, floor))
    if below is None or (here is not None and _apart(here, below) < 0.08):
        return ()
    spacing = 2 * max(0.06, 0.014 * max(box[2] - box[0], box[3] - box[1]))
    ticks = zone_ticks(floor, focus, film_size, box, spacing)
    end = max(below, key=lambda p: math.dist(p, cut.project(focus.frame.at)))
    return (
        *(Line(tick.points, "zone at the floor") for tick in ticks),
        Line(below, "plane at the floor"),
        Text(end, "at the floor", "plane at the floor", clear=0.05),
    )


def _apart(one: tuple[Point, Point], other: tuple[Point, Point]) -> float:
    """How far two straight lines lie from one another at most, at the ends of the first. [m]"""
    (ax, ay), (bx, by) = other
    length = math.dist(*other) or 1.0
    return max(abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / length for x, y in one)


def _floor_under(place: Place, focus: FocusPlan) -> float:
    """Height of the floor of the room that the camera stands in, else 0. [m]"""
    at = focus.frame.at
    for room in place.rooms:
        inner = room_box(room)
        if inner[0] <= at[0] <= inner[2] and inner[1] <= at[1] <= inner[3]:
            return room.at[2]
    return 0.0


def _hinge(cut: Cut, focus: FocusPlan, box: Box) -> list[Shape]:
    """A ringed point where the hinge line pierces the cut inside the box; nothing where it runs beside it."""
    if focus.hinge_line is None:
        return []
    point, direction = (np.asarray(v, float) for v in focus.hinge_line)
    page_normal = np.cross(cut.across, cut.up)
    through = float(direction @ page_normal)
    if abs(through) < 0.3:
        return []
    u, v = cut.project(point + direction * float((cut.origin - point) @ page_normal) / through)
    if not (box[0] <= u <= box[2] and box[1] <= v <= box[3]):
        return []
    return [Circle((u, v), 0.07, "hinge"), Text((u, v), "hinge line", "hinge", clear=0.1)]


def plan_box(shoot: Shoot, plans: Sequence[ShotPlan]) -> Box:
    """The box that holds rooms, people, cameras, lights and the marks near them, in the open the blocks too. [m]"""
    points: list[Point] = []
    for room in shoot.place.rooms:
        left, bottom, right, top = room_box(room, outside=True)
        points += [(left, bottom), (right, top)]
    reach = 0.3 if points else 0.3 + STAND_DIAMETER / 2
    loose: list[Point] = [(p.at[0], p.at[1]) for p in shoot.people]
    for plan in plans:
        loose.append((float(plan.focus.frame.at[0]), float(plan.focus.frame.at[1])))
        loose += [(light.at[0], light.at[1]) for light in plan.shot.lights]
    points += [(x + dx, y + dy) for x, y in loose for dx, dy in ((-reach, -reach), (reach, reach))]
    core = box_around(points, 0.02 if shoot.place.rooms else 0.3)
    if not shoot.place.rooms:
        cut = plan_cut(0.0)
        for block in near_blocks(cut, shoot.place, core):
            points += list(cut.project_all(block.corners))
    points += [(m.at[0], m.at[1]) for m in shoot.marks if math.dist(_nearest(core, m.at), m.at[:2]) < 2.0]
    return box_around(points, 0.02 if shoot.place.rooms else 0.3)


def _nearest(box: Box, at: Vector) -> Point:
    return min(max(at[0], box[0]), box[2]), min(max(at[1], box[1]), box[3])


def _inside(place: Place, focus: FocusPlan, box: Box) -> Box:
    """The room that the camera stands in, else that of the point focused on, else the whole box: where focus is
    drawn. [m]"""
    points = [focus.frame.at, *(np.array(p.at) for p in focus.points if p.name == focus.focus_on)]
    for point in points:
        for room in place.rooms:
            inner = room_box(room)
            if inner[0] <= point[0] <= inner[2] and inner[1] <= point[1] <= inner[3]:
                return inner
    return box


def _people(plan: ShotPlan) -> list[Shape]:
    by_name = {p.name: p for p in plan.focus.points if p.kind == "person"}
    shapes: list[Shape] = []
    for person in plan.shoot.people:
        point = by_name.get(person.name)
        shapes += person_from_above(person, PEN_OF_WANTED[point.wanted if point else "free"])
    return shapes + [_name_of(plan.shoot, p, by_name.get(p.name)) for p in plan.shoot.people]


def _name_of(shoot: Shoot, person: Person, point: PointFocus | None) -> Text:
    wanted = "free" if point is None else point.wanted
    words = on_drawing(shoot, person.name, wanted)
    return Text((person.at[0], person.at[1]), words, "person", clear=0.24, strong=wanted == "sharp")


def _lights(plan: ShotPlan, cut: Cut) -> list[Shape]:
    shapes: list[Shape] = []
    for sheet in plan.stage.sheets:
        axis, up = np.array(sheet.axis), np.array(sheet.up)
        side = np.cross(up, axis) * sheet.size[0] / 2
        at = np.array(sheet.at)
        shapes.append(Line((cut.project(at - side), cut.project(at + side)), "light"))
        shapes.append(Text(cut.project(at), sheet.name, "light", clear=0.1))
    for light in plan.shot.lights:
        shapes += light_on(cut, light)
    for title, light in zip(head_names(plan.shot), plan.shot.lights, strict=True):
        half = max(light.modifier.size) / 2 if light.modifier is not None else 0.0
        words = f"{title}, {metres_in_words(light.at[2], plan.shoot.imperial)} up"
        shapes.append(Text(cut.project(light.at), words, "light", clear=max(0.3, half + 0.08), strong=True))
    return shapes


def marks_on(shoot: Shoot, cut: Cut, box: Box, points: Iterable[PointFocus] = ()) -> list[Shape]:
    """A small cross and a name at every mark inside the box, with what is wanted of it. [m]"""
    wanted = {p.name: p.wanted for p in points if p.wanted != "free"}
    shapes: list[Shape] = []
    for mark in shoot.marks:
        u, v = cut.project(mark.at)
        if box[0] <= u <= box[2] and box[1] <= v <= box[3]:
            words = on_drawing(shoot, mark.name, wanted.get(mark.name, "free"))
            shapes += [*cross((u, v)), Text((u, v), words, "mark", clear=0.09)]
    return shapes


def _openings_named(place: Place) -> list[Shape]:
    shapes: list[Shape] = []
    for room in place.rooms:
        left, bottom, right, top = room_box(room)
        for o in room.openings:
            middle = o.along + o.width / 2
            at = {
                "near": (left + middle, bottom - room.thickness), "far": (left + middle, top + room.thickness),
                "left": (left, bottom + middle), "right": (right, bottom + middle),
            }.get(o.wall, (left + middle, bottom + o.sill + o.height / 2))  # fmt: skip
            shapes.append(Text(at, o.name, "opening", clear=0.06))
    return shapes


def _blocks_named(place: Place, box: Box) -> list[Shape]:
    """Names of the blocks and meshes that take up room on the floor: from 0.8 m2 on. [m]"""
    shapes: list[Shape] = []
    for thing in standing(place):
        low, high = thing.corners.min(axis=0), thing.corners.max(axis=0)
        x, y = (float(v) for v in (low[:2] + high[:2]) / 2)
        inside = box[0] <= x <= box[2] and box[1] <= y <= box[3]
        if inside and low[2] < 1.0 and 0.8 <= thing.area < 40.0:
            shapes.append(Text((x, y), thing.name, "block"))
    return shapes


def _furniture(box: Box, shoot: Shoot, suns: Sequence[tuple[float, str]]) -> tuple[tuple[Shape, ...], Box]:
    """Scale bar below on the left, compass below on the right, and the box grown to hold them."""
    width = box[2] - box[0]
    radius = max(0.2, 0.028 * width)
    strip = radius * 3.7
    bar = scale_bar((box[0] + 0.02 * width, box[1] - strip * 0.6), min(width * 0.36, 20.0), shoot.imperial)
    rose = compass((box[2] - radius * 5.0, box[1] - strip * 0.5), radius, shoot.place.north, suns)
    return (*bar, *rose), (box[0], box[1] - strip, box[2], box[3])

"""Rooms as an upright cut passes them: floor, ceiling, end walls, what is cut through and what is seen behind."""

from __future__ import annotations

import math

from sidelong.place.values import Opening, Place, Room
from sidelong.sheet.cut import Cut
from sidelong.sheet.drawing import Box, Line, Point, Shape, clip_line, rectangle
from sidelong.sheet.walls import less, room_box, slot_on_plan

Span = tuple[float, float]


def section(cut: Cut, place: Place) -> tuple[Shape, ...]:
    """Floor, ceiling and end walls of every room that the upright cut passes, less what is open, and the openings
    in the walls behind. [m]"""
    passed = [(room, span) for room in place.rooms if (span := room_span(cut, room)) is not None]
    if not passed:
        return (Line(((-100.0, 0.0), (100.0, 0.0)), "ground"),)
    slabs = [slab for room, span in passed for slab in _slabs(room, span)]
    holes = [(span[0], room.at[2], span[1], room.at[2] + room.size[2]) for room, span in passed]
    holes += [hole for room, span in passed for hole in _end_holes(cut, room, span) + _level_holes(cut, room)]
    for hole in holes:
        slabs = [rest for slab in slabs for rest in less(slab, hole)]
    seen = [_seen_opening(cut, room, o) for room, _ in passed for o in room.openings if _is_behind(cut, o)]
    return (*(rectangle(*slab, "wall") for slab in slabs), *seen)


def room_span(cut: Cut, room: Room) -> Span | None:
    """Where the upright cut runs through a room, along the page [m]; None when it misses it.

    When the cut runs nearly along a wall the span is the room's true length; a slanting cut gets the whole
    depth of the room as it is seen, so that all who are in the room are drawn inside it.
    """
    if _through(cut, room_box(room)) is None:
        return None
    x0, y0, x1, y1 = room_box(room)
    reach = [cut.project((x, y, 0.0))[0] for x in (x0, x1) for y in (y0, y1)]
    return min(reach), max(reach)


def is_square(cut: Cut) -> bool:
    """Whether an upright cut runs along the walls, within eight degrees. [-]"""
    return max(abs(float(cut.across[0])), abs(float(cut.across[1]))) > math.cos(math.radians(8))


def _through(cut: Cut, box: Box) -> tuple[Point, Point] | None:
    """Where the cut's trace on the plan runs through a rectangle of the plan."""
    x, y = float(cut.origin[0]), float(cut.origin[1])
    dx, dy = float(cut.across[0]) * 1e3, float(cut.across[1]) * 1e3
    return clip_line((x - dx, y - dy), (x + dx, y + dy), box)


def _slabs(room: Room, span: Span) -> list[Box]:
    low, high, t = room.at[2], room.at[2] + room.size[2], room.thickness
    return [
        (span[0] - t, low - t, span[1] + t, low),
        (span[0] - t, high, span[1] + t, high + t),
        (span[0] - t, low, span[0], high),
        (span[1], low, span[1] + t, high),
    ]


def _end_holes(cut: Cut, room: Room, span: Span) -> list[Box]:
    """Openings that the cut itself passes through, in the end walls of a square cut."""
    if not is_square(cut):
        return []
    end_walls = ("left", "right") if abs(float(cut.across[0])) > abs(float(cut.across[1])) else ("near", "far")
    holes: list[Box] = []
    for opening in (o for o in room.openings if o.wall in end_walls):
        slot = slot_on_plan(room, opening, 0.0)
        if _through(cut, slot) is None:
            continue
        middle = cut.project(((slot[0] + slot[2]) / 2, (slot[1] + slot[3]) / 2, 0.0))[0]
        near = span[0] if abs(middle - span[0]) < abs(middle - span[1]) else span[1]
        sill = room.at[2] + opening.sill
        reach = room.thickness + 0.01
        holes.append((near - reach, sill, near + reach, sill + opening.height))
    return holes


def _level_holes(cut: Cut, room: Room) -> list[Box]:
    """Openings in floor and ceiling that the cut passes through."""
    holes: list[Box] = []
    for opening in (o for o in room.openings if o.wall in ("floor", "ceiling")):
        run = _through(cut, slot_on_plan(room, opening, 0.0))
        if run is not None:
            ends = sorted(cut.project((x, y, 0.0))[0] for x, y in run)
            level = room.at[2] + (room.size[2] if opening.wall == "ceiling" else 0.0)
            holes.append((ends[0], level - room.thickness - 0.01, ends[1], level + room.thickness + 0.01))
    return holes


def _is_behind(cut: Cut, opening: Opening) -> bool:
    """Whether the wall of an opening faces the reader: its inward normal points to the camera's right."""
    inward = {"left": (1, 0), "right": (-1, 0), "near": (0, 1), "far": (0, -1)}.get(opening.wall)
    if inward is None:
        return False
    right = (float(cut.across[1]), -float(cut.across[0]))
    return inward[0] * right[0] + inward[1] * right[1] > 0.5


def _seen_opening(cut: Cut, room: Room, opening: Opening) -> Shape:
    slot = slot_on_plan(room, opening, 0.0)
    low, high = room.at[2] + opening.sill, room.at[2] + opening.sill + opening.height
    reach = [cut.project((x, y, 0.0))[0] for x in (slot[0], slot[2]) for y in (slot[1], slot[3])]
    box = rectangle(min(reach), low, max(reach), high, "opening")
    return Line((*box.points, box.points[0]), "opening")

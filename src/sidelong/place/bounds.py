"""The place's bounding box, and its outlines in plan and elevation for drawings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sidelong.geometry.polygons import rectangles_left
from sidelong.place.cells import WALLS, masonry_box, opening_box, room_box, solid_boxes, tunnel_depth
from sidelong.place.furnishings import turn_of
from sidelong.place.values import Block, Place

Points = NDArray[np.float64]
CUT = 1.2
"""Height over the lowest floor at which a plan cuts the walls. [m]"""


@dataclass(frozen=True)
class Polygon2:
    """A filled outline of a drawing: `points` (K, 2) [m], anticlockwise, in the plan's x, y or an elevation's
    horizontal (x or y) and z. `name` is of the room, opening or block it belongs to."""

    kind: Literal["wall", "room", "opening", "block", "overhead"]
    name: str
    points: Points


def bounding_box(place: Place) -> Points:
    """Lowest and highest corner (2, 3) of rooms with their walls and of blocks; two metres about 0 if empty. [m]"""
    boxes = [masonry_box(r) for r in place.rooms]
    for box, room in zip(boxes, place.rooms, strict=True):
        box[0, 2] = room.at[2]
    for block in place.blocks:
        feet = _footprint(block)
        boxes.append(np.array([[*feet.min(axis=0), block.at[2]], [*feet.max(axis=0), block.at[2] + block.size[2]]]))
    if not boxes:
        return np.array([[-1.0, -1.0, 0.0], [1.0, 1.0, 2.0]])
    return np.stack([np.min([b[0] for b in boxes], axis=0), np.max([b[1] for b in boxes], axis=0)])


def plan_lines(place: Place, cut: float | None = None) -> tuple[Polygon2, ...]:
    """The plan: rooms' floors, walls as cut at a height (gaps where openings are), openings, blocks' footprints.

    Parameters
    ----------
    place : Place
    cut : float or None
        Height in the place frame; None takes CUT over the lowest floor. Windows whose sill lies higher or head
        lower are drawn as openings all the same, their walls cut through their middle. [m]

    Returns
    -------
    tuple of Polygon2
        In drawing order: rooms, walls, openings, blocks; blocks that begin above the cut are "overhead".
    """
    lowest = min((room.at[2] for room in place.rooms), default=0.0)
    height = lowest + CUT if cut is None else cut
    found = [
        Polygon2("room", r.name, _rectangle(*room_box(r)[:, :2])) for r in place.rooms if _spans(room_box(r), height)
    ]
    found += [Polygon2("wall", "", _rectangle(low, high)) for low, high in _cut_walls(place, height)]
    for room in place.rooms:
        for opening in room.openings:
            if opening.wall not in ("floor", "ceiling"):
                way = opening_box(room, opening, tunnel_depth(place, room, opening))
                found.append(Polygon2("opening", opening.name, _rectangle(way[0, :2], way[1, :2])))
            elif opening.wall == "floor":
                hole = opening_box(room, opening)
                found.append(Polygon2("opening", opening.name, _rectangle(hole[0, :2], hole[1, :2])))
    for block in place.blocks:
        kind: Literal["overhead", "block"] = "overhead" if block.at[2] >= height else "block"
        found.append(Polygon2(kind, block.name, _footprint(block)))
    return tuple(found)


def elevation_lines(place: Place, look: Literal["x", "y"] = "y") -> tuple[Polygon2, ...]:
    """A section seen along +y (horizontal x) or along +x (horizontal y): rooms, cut walls, openings, blocks.

    The section runs through the middle of each room; openings are those of the wall behind it (far, or right) and,
    where the section cuts through floor and ceiling, the gaps. Points are (horizontal, z). [m]
    """
    flat, deep = (0, 1) if look == "y" else (1, 0)
    across: tuple[int, int] = (flat, 2)
    found: list[Polygon2] = []
    for room in place.rooms:
        box = room_box(room)
        found.append(Polygon2("room", room.name, _rectangle(*box[:, across])))
    for room in place.rooms:
        middle = room_box(room)[:, deep].mean() + 1e-4  # a hair aside: an opening may end in the very middle
        boxes = solid_boxes(place)
        cut = boxes[(boxes[:, 0, deep] < middle) & (middle < boxes[:, 1, deep])]
        found += [Polygon2("wall", room.name, _rectangle(b[0, across], b[1, across])) for b in cut]
        for opening in room.openings:
            axis, side = WALLS[opening.wall]
            if axis == deep and side > 0:
                hole = opening_box(room, opening)
                found.append(Polygon2("opening", opening.name, _rectangle(hole[0, across], hole[1, across])))
    for block in place.blocks:
        feet = _footprint(block)[:, flat]
        low, high = np.array([feet.min(), block.at[2]]), np.array([feet.max(), block.at[2] + block.size[2]])
        found.append(Polygon2("block", block.name, _rectangle(low, high)))
    return tuple(found)


def _cut_walls(place: Place, height: float) -> list[tuple[Points, Points]]:
    """The walls about each room as rectangles of the plan, less rooms and openings, none twice."""
    taken: list[tuple[Points, Points]] = []
    for room in place.rooms:
        if _spans(room_box(room), height):
            taken.append((room_box(room)[0, :2], room_box(room)[1, :2]))
        for opening in room.openings:
            if opening.wall not in ("floor", "ceiling"):
                way = opening_box(room, opening, tunnel_depth(place, room, opening))
                taken.append((way[0, :2], way[1, :2]))
    walls: list[tuple[Points, Points]] = []
    for room in place.rooms:
        outer = masonry_box(room)
        if _spans(outer, height):
            pieces = rectangles_left(outer[0, :2], outer[1, :2], taken + walls)
            walls += pieces
    return walls


def _spans(box: Points, height: float) -> bool:
    return bool(box[0, 2] < height < box[1, 2])


def _rectangle(low: Points, high: Points) -> Points:
    return np.array([[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]])


def _footprint(block: Block) -> Points:
    x, y = block.size[0] / 2, block.size[1] / 2
    corners = np.array([[-x, -y], [x, -y], [x, y], [-x, y]])
    return np.asarray(corners @ turn_of(block)[:2, :2].T + np.asarray(block.at, float)[:2])

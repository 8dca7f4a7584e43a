"""Rooms, openings and blocks as a plan cuts them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import FileFault
from sidelong.geometry.polygons import clipped
from sidelong.place.meshes import read_mesh
from sidelong.place.values import Block, MeshFile, Opening, Place, Room, Vector
from sidelong.sheet.cut import Cut, outline
from sidelong.sheet.drawing import Box, Line, Pen, Polygon, Shape, rectangle

Points = NDArray[np.float64]

_PLAN_CUT = 1.2
"""Height above the floor at which a plan is cut; openings wholly above or below it are dashed. Common practice.
[m]"""


def room_box(room: Room, outside: bool = False) -> Box:
    """The room's inner rectangle on the plan, or that of its walls' outer faces. [m]"""
    t = room.thickness if outside else 0.0
    return (room.at[0] - t, room.at[1] - t, room.at[0] + room.size[0] + t, room.at[1] + room.size[1] + t)


def block_corners(block: Block) -> Points:
    """The eight corners (8, 3) of a block's box, place frame. [m]"""
    c, s = math.cos(block.turn), math.sin(block.turn)
    turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]])
    half = np.array(block.size) / 2
    signs = np.array([(i, j, k) for i in (-1, 1) for j in (-1, 1) for k in (0, 2)], float)
    return np.asarray((signs * half) @ turn.T + np.array(block.at))


def walls_on_plan(place: Place) -> tuple[Shape, ...]:
    """Walls with their thickness, cut by every opening at the height of the cut; other openings dashed. [m]"""
    cut_through = [(r, o) for r in place.rooms for o in r.openings if _is_cut(o)]
    slots = [slot_on_plan(r, o, r.thickness * 2) for r, o in cut_through]
    pieces = [piece for room in place.rooms for piece in _wall_boxes(room)]
    for hole in [*slots, *(room_box(r) for r in place.rooms)]:
        pieces = [rest for piece in pieces for rest in less(piece, hole)]
    shapes: list[Shape] = [rectangle(*piece, "wall") for piece in pieces]
    shapes += [s for room in place.rooms for s in _inner_edges(room, slots)]
    for room, opening in cut_through:
        shapes += _opening_in_wall(room, opening)
    for room in place.rooms:
        for opening in room.openings:
            if not _is_cut(opening):
                box = rectangle(*slot_on_plan(room, opening, 0.0), "opening")
                shapes.append(
                    Line((*box.points, box.points[0]), "overhead" if opening.wall == "ceiling" else "opening")
                )
    return tuple(shapes)


def _is_cut(opening: Opening) -> bool:
    upright = opening.wall not in ("floor", "ceiling")
    return upright and opening.sill <= _PLAN_CUT + 0.4 and opening.sill + opening.height >= _PLAN_CUT - 0.4


def _wall_boxes(room: Room) -> list[Box]:
    x0, y0, x1, y1 = room_box(room)
    ox0, oy0, ox1, oy1 = room_box(room, outside=True)
    return [(ox0, oy0, ox1, y0), (ox0, y1, ox1, oy1), (ox0, y0, x0, y1), (x1, y0, ox1, y1)]


def slot_on_plan(room: Room, opening: Opening, deeper: float) -> Box:
    """The opening's rectangle on the plan through its wall, made `deeper` both ways across the wall. [m]"""
    x0, y0, x1, y1 = room_box(room)
    t, start, end = room.thickness, opening.along, opening.along + opening.width
    if opening.wall == "near":
        return (x0 + start, y0 - t - deeper, x0 + end, y0)
    if opening.wall == "far":
        return (x0 + start, y1, x0 + end, y1 + t + deeper)
    if opening.wall == "left":
        return (x0 - t - deeper, y0 + start, x0, y0 + end)
    if opening.wall == "right":
        return (x1, y0 + start, x1 + t + deeper, y0 + end)
    return (x0 + start, y0 + opening.sill, x0 + end, y0 + opening.sill + opening.height)


def less(piece: Box, hole: Box) -> list[Box]:
    """What is left of a rectangle once another is taken away: up to four rectangles."""
    left, bottom, right, top = piece
    a, b, c, d = max(left, hole[0]), max(bottom, hole[1]), min(right, hole[2]), min(top, hole[3])
    if c - a <= 1e-9 or d - b <= 1e-9:
        return [piece]
    rest = [(left, bottom, right, b), (left, d, right, top), (left, b, a, d), (c, b, right, d)]
    return [r for r in rest if r[2] - r[0] > 1e-9 and r[3] - r[1] > 1e-9]


def _inner_edges(room: Room, slots: Iterable[Box]) -> list[Shape]:
    """The room's inner outline as thin walls, open where an opening is: it also parts rooms that touch."""
    x0, y0, x1, y1 = room_box(room)
    thin = 0.004
    edges: list[Box] = [
        (x0, y0 - thin, x1, y0), (x0, y1, x1, y1 + thin), (x0 - thin, y0, x0, y1), (x1, y0, x1 + thin, y1)
    ]  # fmt: skip
    for slot in slots:
        wide = (slot[0] - thin, slot[1] - thin, slot[2] + thin, slot[3] + thin)
        edges = [rest for edge in edges for rest in less(edge, wide)]
    return [rectangle(*edge, "wall") for edge in edges]


def _opening_in_wall(room: Room, opening: Opening) -> list[Shape]:
    """A window: both faces and its glass; a door: its threshold; a hole: its outer edge."""
    left, bottom, right, top = slot_on_plan(room, opening, 0.0)
    level = opening.wall in ("near", "far")
    shares = {"window": (0.0, 0.42, 0.58, 1.0), "door": (0.0, 1.0), "hole": (0.0, 1.0)}[opening.kind]
    shapes: list[Shape] = []
    for share in shares:
        if level:
            y = bottom + (top - bottom) * share
            shapes.append(Line(((left, y), (right, y)), "opening"))
        else:
            x = left + (right - left) * share
            shapes.append(Line(((x, bottom), (x, top)), "opening"))
    return shapes


class Standing(NamedTuple):
    """A block or a mesh: what it is called, where it stands, its corners (N, 3), place frame [m], and the `area` that
    it takes up on the floor [m2]."""

    name: str
    at: Vector
    corners: Points
    area: float


def standing(place: Place) -> list[Standing]:
    """All that stands in a place, blocks and meshes; a mesh whose file cannot be read is left out, which the check
    tells. [m]"""
    found = [Standing(b.name, b.at, block_corners(b), b.size[0] * b.size[1]) for b in place.blocks]
    for mesh in place.meshes:
        corners = mesh_corners(mesh)
        if corners is not None:
            across, deep, _ = np.ptp(corners, axis=0)
            found.append(Standing(mesh.name, mesh.at, corners, float(across * deep)))
    return found


@lru_cache(maxsize=256)
def mesh_corners(mesh: MeshFile) -> Points | None:
    """The corners (N, 3) of a mesh's hull, place frame, which has its outline from everywhere; None where its file
    cannot be read. [m]"""
    from scipy.spatial import ConvexHull, QhullError  # late: slow import

    try:
        vertices = np.asarray(read_mesh(mesh).mesh.vertices, float)
        return np.asarray(vertices[ConvexHull(vertices).vertices])
    except FileFault:
        return None
    except QhullError:  # it is flat, or a line
        return vertices


def blocks_on(cut: Cut, place: Place, box: Box) -> tuple[Shape, ...]:
    """Outlines of all that stands there on a cut, as far as it lies in a box of the page; the lowest first, so that
    what stands on another is drawn over it. [m]"""
    order = sorted((b for b in standing(place) if _belongs(place, b)), key=lambda b: float(b.corners[:, 2].max()))
    drawn = [b for b in order if cut.film_axis == 1 or not _overhead(b)]
    pen: Pen = "block" if cut.film_axis == 0 else "block behind"
    return tuple(shape for b in drawn if (shape := _within(outline(cut, b.corners, pen), box)) is not None)


def _belongs(place: Place, thing: Standing) -> bool:
    """Whether a thing stands in a room (or its walls); in the open all do."""
    boxes = [room_box(room, outside=True) for room in place.rooms]
    x, y = thing.at[0], thing.at[1]
    return not boxes or any(b[0] <= x <= b[2] and b[1] <= y <= b[3] for b in boxes)


def _within(shape: Polygon, box: Box) -> Polygon | None:
    left = clipped(np.array(shape.points), box[:2], box[2:])
    return Polygon(tuple((float(x), float(y)) for x, y in left), shape.pen) if len(left) >= 3 else None


def near_blocks(cut: Cut, place: Place, core: Box) -> list[Standing]:
    """What stands there and belongs to a place: no farther from a box of the page than half its larger side. [m]"""
    reach = max(2.0, 0.5 * max(core[2] - core[0], core[3] - core[1]))
    near = (core[0] - reach, core[1] - reach, core[2] + reach, core[3] + reach)

    def lies_near(thing: Standing) -> bool:
        return all(near[0] <= u <= near[2] and near[1] <= v <= near[3] for u, v in cut.project_all(thing.corners))

    return [thing for thing in standing(place) if lies_near(thing)]


def blocks_overhead(cut: Cut, place: Place, box: Box) -> tuple[Shape, ...]:
    """On a plan, what hangs above everyone's head: to be drawn dashed over all else. [m]"""
    drawn = (_within(outline(cut, b.corners, "overhead"), box) for b in standing(place) if _overhead(b))
    return tuple(shape for shape in drawn if shape is not None)


def _overhead(thing: Standing) -> bool:
    return float(thing.corners[:, 2].min()) > 1.8

"""The masonry of a place as a grid of cells, each solid or hollow: one truth for what is seen and what is blocked.

Rooms are boxes along the axes. Each stands in a box of masonry, thicker by its walls; what lies in a room is
hollow, and so is the way through an opening, out to the next hollow cell. Rooms that overlap are one space. Two
rooms that touch keep a partition of 4 cm, cut out of the later one, so that a door can be put into it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sidelong.place.values import Opening, Place, Room, Wall

Points = NDArray[np.float64]

OUTSIDE: Final = 0
SOLID: Final = -1
PARTITION: Final = 0.04
_TOUCH: Final = 0.005
_GROUND_GAP: Final = 0.02

WALLS: Final[Mapping[Wall, tuple[int, int]]] = {
    "left": (0, -1),
    "right": (0, 1),
    "near": (1, -1),
    "far": (1, 1),
    "floor": (2, -1),
    "ceiling": (2, 1),
}
"""The axis that each wall is square to, and on which side of the room it lies."""


@dataclass(frozen=True)
class Cells:
    """`edges`: the grid's coordinates along x, y, z [m]. `label` (X, Y, Z): SOLID, OUTSIDE, 1 + r in room r, or
    1 + R + k in the k-th opening of `tunnels`; `owner` (X, Y, Z): the room whose masonry a solid cell is."""

    edges: tuple[Points, Points, Points]
    label: NDArray[np.int64]
    owner: NDArray[np.int64]
    rooms: tuple[Room, ...]
    tunnels: tuple[tuple[int, Opening], ...]
    """Room index and opening."""


def ground_level(place: Place) -> float:
    """Height of the open ground: 2 cm under the floors when there are rooms, else 0. [m]"""
    return -_GROUND_GAP if place.rooms else 0.0


def room_box(room: Room) -> Points:
    """Lowest and highest corner of a room's inside, (2, 3). [m]"""
    low = np.asarray(room.at, float)
    return np.stack([low, low + np.asarray(room.size, float)])


def masonry_box(room: Room) -> Points:
    """Lowest and highest corner of the masonry about a room, (2, 3); it reaches down into the ground. [m]"""
    box = room_box(room) + np.array([[-1.0], [1.0]]) * room.thickness
    box[0, 2] = min(box[0, 2], -0.3)
    return box


def opening_box(room: Room, opening: Opening, beyond: float = 0.0) -> Points:
    """Lowest and highest corner of the way through a wall, (2, 3), from the room's face `beyond` metres out. [m]"""
    axis, side = WALLS[opening.wall]
    inner = room_box(room)
    first, second = (0, 2) if axis == 1 else (1, 2) if axis == 0 else (0, 1)
    box = np.empty((2, 3))
    face = inner[1 if side > 0 else 0, axis]
    box[:, axis] = sorted((face, face + side * beyond))
    box[:, first] = inner[0, first] + opening.along + np.array([0.0, opening.width])
    box[:, second] = inner[0, second] + opening.sill + np.array([0.0, opening.height])
    return box


def tunnel_depth(place: Place, room: Room, opening: Opening) -> float:
    """How far it is through the wall at an opening: the wall's thickness, or the gap to the room beyond. [m]"""
    axis, side = WALLS[opening.wall]
    mine, other_axes = room_box(room), [k for k in range(3) if k != axis]
    hole = opening_box(room, opening)
    depth = room.thickness
    for other in place.rooms:
        if other is room:
            continue
        theirs = room_box(other)
        gap = theirs[0, axis] - mine[1, axis] if side > 0 else mine[0, axis] - theirs[1, axis]
        meets = all(hole[0, k] < theirs[1, k] and theirs[0, k] < hole[1, k] for k in other_axes)
        if meets and -_TOUCH <= gap <= room.thickness + other.thickness:
            depth = max(gap, 0.0) + (PARTITION if gap < _TOUCH else 0.0)
    return depth


def cells(place: Place) -> Cells:
    """The masonry of all the rooms as cells."""
    # kept by shape alone, so that names and finishes are this place's own
    return replace(_cells(tuple(_Frozen(r) for r in place.rooms)), rooms=place.rooms)


def solid_boxes(place: Place) -> Points:
    """The masonry as boxes along the axes that do not overlap, (B, 2, 3). [m]"""
    return _solid_boxes(tuple(_Frozen(r) for r in place.rooms))


class _Frozen:
    """A room as a key of the cache: equal when everything that shapes the masonry is."""

    def __init__(self, room: Room) -> None:
        self.room = room
        self.key = (room.at, room.size, room.openings, room.thickness)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Frozen) and self.key == other.key

    def __hash__(self) -> int:
        return hash(self.key)


@lru_cache(maxsize=16)
def _cells(keys: tuple[_Frozen, ...]) -> Cells:
    rooms = tuple(k.room for k in keys)
    place = Place(rooms=rooms)
    tunnels = tuple((r, opening) for r, room in enumerate(rooms) for opening in room.openings)
    inner = [room_box(room) for room in rooms]
    outer = [masonry_box(room) for room in rooms]
    ways = [opening_box(rooms[r], o, tunnel_depth(place, rooms[r], o)) for r, o in tunnels]
    partitions = [box for j in range(len(rooms)) for i in range(j) for box in _partition(inner[i], inner[j])]
    boxes = inner + outer + ways + partitions
    edges = tuple(np.unique(np.round([b[:, k] for b in boxes], 6)) if boxes else np.zeros(0) for k in range(3))
    shape = tuple(max(len(e) - 1, 0) for e in edges)
    label, owner = np.full(shape, OUTSIDE, np.int64), np.zeros(shape, np.int64)
    for r, box in enumerate(outer):
        label[_slices(edges, box)], owner[_slices(edges, box)] = SOLID, r
    for r, box in enumerate(inner):
        label[_slices(edges, box)] = 1 + r
    for box in partitions:
        label[_slices(edges, box)] = SOLID
    for k, box in enumerate(ways):
        part = label[_slices(edges, box)]
        part[part == SOLID] = 1 + len(rooms) + k
    return Cells((edges[0], edges[1], edges[2]), label, owner, rooms, tunnels)


def _partition(first: Points, second: Points) -> list[Points]:
    """The slab kept where a room touches an earlier one, inside the later one."""
    found = []
    for axis in range(3):
        others = [k for k in range(3) if k != axis]
        if not all(first[0, k] < second[1, k] - _TOUCH and second[0, k] < first[1, k] - _TOUCH for k in others):
            continue
        for face, side in ((second[0, axis], 1.0), (second[1, axis], -1.0)):
            facing = first[1, axis] if side > 0 else first[0, axis]
            if abs(face - facing) < _TOUCH:
                slab = np.stack([np.maximum(first[0], second[0]), np.minimum(first[1], second[1])])
                slab[:, axis] = sorted((facing, face + side * PARTITION))
                found.append(slab)
    return found


def _slices(edges: tuple[Points, ...], box: Points) -> tuple[slice, slice, slice]:
    ends = [np.searchsorted(e, np.round(box[:, k], 6) - 1e-9) for k, e in enumerate(edges)]
    return slice(*map(int, ends[0])), slice(*map(int, ends[1])), slice(*map(int, ends[2]))


@lru_cache(maxsize=16)
def _solid_boxes(keys: tuple[_Frozen, ...]) -> Points:
    grid = _cells(keys)
    left = grid.label == SOLID
    found: list[Points] = []
    while left.any():
        start = np.array(np.unravel_index(int(np.argmax(left)), left.shape))
        stop = start + 1
        for axis in (2, 1, 0):  # grow as far as all is solid, one axis after the other
            while stop[axis] < left.shape[axis]:
                layer = [slice(int(a), int(b)) for a, b in zip(start, stop, strict=True)]
                layer[axis] = slice(int(stop[axis]), int(stop[axis]) + 1)
                if not left[tuple(layer)].all():
                    break
                stop[axis] += 1
        left[tuple(slice(int(a), int(b)) for a, b in zip(start, stop, strict=True))] = False
        found.append(np.array([[grid.edges[k][n[k]] for k in range(3)] for n in (start, stop)]))
    return np.array(found).reshape(-1, 2, 3)

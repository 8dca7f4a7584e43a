"""Ways along a floor: round what stands there, along the walls rather than across, and past the ways out.

A grid of squares, each with what a metre over it counts for; the way of least count by Dijkstra, then pulled tight
wherever a straight piece counts hardly more than the grid's. What a metre counts for is our own judgement after
common practice: along the walls, out of the picture, never where feet go.

Source
------
dijkstra1959
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from sidelong.place.furnishings import kind_of
from sidelong.place.values import Block, Opening, Place, Room

Points = NDArray[np.float64]
Flat = tuple[float, float]
Box = tuple[float, float, float, float]

ALONG_WALL, BEHIND, OPEN_FLOOR, UNDER, OVER, THROUGH, WAY_OUT = 1.0, 1.2, 1.8, 2.2, 8.0, 40.0, 60.0
"""What a metre counts for: by a wall, close behind what stands there, over open floor, under a bench, over what is
low, through what stands there, across a way out. Our own figures."""
SEEN, FEET = 3.0, 4.0
"""Times that in the picture, and about people. Our own figures."""
BY_WALL = 0.3
"""So near is along a wall. [m]"""
BEFORE_DOOR = 0.6
"""A way out is kept free so far before it and behind it. [m]"""
_FINEST, _MOST = 0.1, 130
_AROUND = 1.5
_FOOT = 0.35
_STOREY, _LOW = 0.6, 0.2


@dataclass(frozen=True)
class WayOut:
    """An opening that one can walk out through: its name, and the box on the plan that is kept free. [m]"""

    name: str
    box: Box


@dataclass(frozen=True, eq=False)
class Floor:
    """Squares of `step` [m] from `low` (2,) [m] on: `counts` (X, Y) for a metre over each, inf in masonry."""

    low: Points
    step: float
    counts: Points
    ways_out: tuple[WayOut, ...]

    def square(self, points: Points) -> NDArray[np.int64]:
        """Squares (..., 2) of points (..., 2), place frame; those outside at the edge. [m]"""
        found = np.floor((np.asarray(points, float) - self.low) / self.step).astype(np.int64)
        return np.clip(found, 0, np.array(self.counts.shape) - 1)

    def middle(self, squares: NDArray[np.int64]) -> Points:
        """Middles (..., 2) of squares (..., 2), place frame. [m]"""
        return np.asarray(self.low + (squares + 0.5) * self.step)


def is_way_out(opening: Opening) -> bool:
    """Whether one can walk out through an opening."""
    upright = opening.wall not in ("floor", "ceiling")
    return upright and opening.sill < 0.3 and opening.height > 1.6 and opening.width > 0.55


def floor_of(
    place: Place, spots: Sequence[Flat], level: float = 0.0, people: Sequence[Flat] = (), seen: Sequence[Flat] = ()
) -> Floor:
    """The floor of a place at the height `level`, large enough for its rooms and `spots`. Place frame [m].

    Rooms below it are pits, which ways go round; storeys above do not count. `people`, and the camera among them,
    stand where feet must not trip; `seen` are the corners of the convex part of the floor that is in the picture.
    """
    corners = [p for room in place.rooms for p in _corners(_grown(_inside(room), room.thickness))] + list(spots)
    low, high = np.min(corners, axis=0) - _AROUND, np.max(corners, axis=0) + _AROUND
    step = max(_FINEST, float((high - low).max()) / _MOST)
    if place.rooms:
        # the first room's walls lie between squares
        corner = np.array(place.rooms[0].at[:2])
        low = corner - np.ceil((corner - low) / step) * step
    size = np.maximum(np.ceil((high - low) / step).astype(int), 1)
    x, y = np.meshgrid(*(low[k] + (np.arange(size[k]) + 0.5) * step for k in (0, 1)), indexing="ij")
    counts = np.full(x.shape, OPEN_FLOOR)
    here = [room for room in place.rooms if abs(room.at[2] - level) < _STOREY]
    ways_out = _masonry(here, x, y, counts, step)
    for pit in place.rooms:
        if pit.at[2] < level - 0.3 and pit.at[2] + pit.size[2] < level + 0.3:
            counts[_in_box(_inside(pit), x, y)] = THROUGH
    for block in place.blocks:
        _block(block, x, y, counts)
    if len(seen) > 2:
        counts[_in_convex(np.asarray(seen, float), x, y)] *= SEEN
    for px, py in people:
        counts[np.hypot(x - px, y - py) < _FOOT] *= FEET
    for way in ways_out:
        inside = _in_box(_grown(way.box, 0.75 * step), x, y) & np.isfinite(counts)
        counts[inside] = np.maximum(counts[inside], WAY_OUT)
    return Floor(low, step, counts, tuple(ways_out))


def ways(floor: Floor, start: Flat, ends: Sequence[Flat]) -> list[Points | None]:
    """The way (K, 2) from a point to each of others, corners only, both ends among them; None where masonry shuts
    it off. Place frame [m]."""
    from scipy.sparse import csr_array  # late: slow import
    from scipy.sparse.csgraph import dijkstra  # late: slow import

    here = _free(floor, np.array(start))
    weights, one, other = _edges(floor)
    count = floor.counts.size
    graph = csr_array((weights, (one, other)), shape=(count, count))
    width = floor.counts.shape[1]
    _, before = dijkstra(graph, directed=False, indices=int(here[0] * width + here[1]), return_predecessors=True)
    return [_way(floor, before, start, here, end) for end in ends]


def crossings(floor: Floor, way: Points) -> list[tuple[WayOut, Flat]]:
    """The ways out that a way (K, 2) lies across, each with the middle of the piece that does. [m]"""
    found = []
    fine = _sampled(way, 0.02)
    for out in floor.ways_out:
        # half a square about it: ways that keep clear of it keep three quarters off
        inside = fine[_in_box(_grown(out.box, 0.5 * floor.step), fine[:, 0], fine[:, 1])]
        if len(inside) > 1:
            x, y = inside[len(inside) // 2]
            found.append((out, (float(x), float(y))))
    return found


def length_of(way: Points) -> float:
    """[m] of a way (K, 2) [m]."""
    return float(np.linalg.norm(np.diff(way, axis=0), axis=1).sum())


def counted(floor: Floor, way: Points) -> float:
    """What a way (K, 2) [m] counts for: metres by a wall, and what is as good as so many of them. [m]"""
    return sum(_count(floor, one, other) for one, other in pairwise(way))


def _way(floor: Floor, before: NDArray[np.int32], start: Flat, here: NDArray[np.int64], end: Flat) -> Points | None:
    there = _free(floor, np.array(end))
    width = floor.counts.shape[1]
    at, goal = int(there[0] * width + there[1]), int(here[0] * width + here[1])
    chain = [at]
    while at != goal:
        at = int(before[at])
        if at < 0:
            return None
        chain.append(at)
    squares = np.array([divmod(k, width) for k in reversed(chain)], np.int64)
    # out of the wall first, to the middle of a square, so that nothing runs within its face
    middles = floor.middle(squares)
    return np.concatenate([[start], _pulled(floor, np.concatenate([middles[:1], middles[1:-1], [end]]))])


def _pulled(floor: Floor, way: Points) -> Points:
    """A way without the corners that a straight piece of hardly a higher count can do without."""
    pieces = [_count(floor, way[k], way[k + 1]) for k in range(len(way) - 1)]
    so_far = np.concatenate([[0.0], np.cumsum(pieces)])
    kept, k = [0], 0
    while k < len(way) - 1:
        ahead = len(way) - 1
        while ahead > k + 1 and _count(floor, way[k], way[ahead]) > (so_far[ahead] - so_far[k]) * 1.03 + 1e-9:
            ahead -= 1
        kept.append(ahead)
        k = ahead
    return way[kept]


def _count(floor: Floor, one: Points, other: Points) -> float:
    """What a straight piece counts for."""
    points = _sampled(np.stack([one, other]), floor.step / 3)
    found = floor.square((points[1:] + points[:-1]) / 2)
    lengths = np.linalg.norm(np.diff(points, axis=0), axis=1)
    counts = floor.counts[found[:, 0], found[:, 1]]
    return float((np.where(np.isfinite(counts), counts, 1e6) * lengths).sum())


def _sampled(way: Points, step: float) -> Points:
    pieces = [way[:1]]
    for one, other in pairwise(way):
        n = max(1, math.ceil(float(np.linalg.norm(other - one)) / step))
        pieces.append(one + (other - one) * (np.arange(1, n + 1) / n)[:, None])
    return np.concatenate(pieces)


def _free(floor: Floor, point: Points) -> NDArray[np.int64]:
    """The square of a point, or the nearest that is not masonry."""
    square = floor.square(point)
    if np.isfinite(floor.counts[tuple(square)]):
        return square
    free = np.argwhere(np.isfinite(floor.counts))
    near = np.linalg.norm(floor.middle(free) - point, axis=1)
    return np.asarray(free[int(near.argmin())])


def _edges(floor: Floor) -> tuple[Points, NDArray[np.int64], NDArray[np.int64]]:
    """Weights and both ends of the steps to the eight neighbours; none through masonry or past its corner."""
    counts = floor.counts
    number = np.arange(counts.size).reshape(counts.shape)
    found = []
    for dx, dy in ((1, 0), (0, 1), (1, 1), (1, -1)):
        a = (slice(0, counts.shape[0] - dx), slice(max(0, -dy), counts.shape[1] - max(0, dy)))
        b = (slice(dx, None), slice(max(0, dy), counts.shape[1] + min(0, dy)))
        mean = (counts[a] + counts[b]) / 2
        if dx and dy:
            beside = counts[b[0], a[1]] + counts[a[0], b[1]]
            mean = np.where(np.isfinite(beside), mean, np.inf)
        open_ = np.isfinite(mean)
        found.append((mean[open_] * floor.step * math.hypot(dx, dy), number[a][open_], number[b][open_]))
    weights, one, other = (np.concatenate([f[k] for f in found]) for k in range(3))
    return weights, one, other


def _masonry(rooms: Sequence[Room], x: Points, y: Points, counts: Points, step: float) -> list[WayOut]:
    """Walls, the strips along them, and the openings that lead through; the ways out among those."""
    inner = np.zeros(x.shape, bool)
    for room in rooms:
        inner |= _in_box(_inside(room), x, y)
    for room in rooms:
        box = _inside(room)
        counts[_in_box(_grown(box, max(room.thickness, 0.75 * step)), x, y) & ~inner] = np.inf
        by_wall = _in_box(box, x, y) & ~_in_box(_grown(box, -BY_WALL), x, y)
        counts[by_wall] = ALONG_WALL
        counts[by_wall & ~_in_box(_grown(box, -0.1), x, y)] = BEHIND
    out = []
    for room in rooms:
        for opening in room.openings:
            if opening.sill >= 0.3 or opening.wall in ("floor", "ceiling"):
                continue
            # squares whose middle lies a little inside the jambs
            through = _grown(_slot(room, opening, max(room.thickness, 0.75 * step) + 1.4 * step), -0.4 * step)
            masonry = _in_box(through, x, y) & ~np.isfinite(counts)
            counts[masonry] = OPEN_FLOOR
            if is_way_out(opening):
                out.append(WayOut(opening.name, _slot(room, opening, room.thickness + BEFORE_DOOR)))
    return out


def _slot(room: Room, opening: Opening, out: float) -> Box:
    """An opening on the plan, from before it in the room to `out` metres beyond its face. [m]"""
    x0, y0, x1, y1 = _inside(room)
    from_, to = opening.along, opening.along + opening.width
    if opening.wall == "left":
        return (x0 - out, y0 + from_, x0 + BEFORE_DOOR, y0 + to)
    if opening.wall == "right":
        return (x1 - BEFORE_DOOR, y0 + from_, x1 + out, y0 + to)
    if opening.wall == "near":
        return (x0 + from_, y0 - out, x0 + to, y0 + BEFORE_DOOR)
    return (x0 + from_, y1 - BEFORE_DOOR, x0 + to, y1 + out)


def _block(block: Block, x: Points, y: Points, counts: Points) -> None:
    """What stands on the floor: round it if that can be, under it where it has legs."""
    bottom, height = block.at[2], block.size[2]
    if bottom > 0.3 or bottom + height < 0.06:
        return
    turn = (math.cos(block.turn), math.sin(block.turn))
    dx, dy = x - block.at[0], y - block.at[1]
    u, v = dx * turn[0] + dy * turn[1], dy * turn[0] - dx * turn[1]
    inside = (np.abs(u) < block.size[0] / 2) & (np.abs(v) < block.size[1] / 2)
    stops = kind_of(block.kind).stops
    legs = stops is not None and stops[0] > 0.5
    low = bottom + height < _LOW
    counts[inside] = np.maximum(counts[inside], UNDER if legs else OVER if low else THROUGH)


def _inside(room: Room) -> Box:
    return (room.at[0], room.at[1], room.at[0] + room.size[0], room.at[1] + room.size[1])


def _grown(box: Box, by: float) -> Box:
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def _corners(box: Box) -> list[Flat]:
    return [(box[0], box[1]), (box[2], box[3])]


def _in_box(box: Box, x: Points, y: Points) -> NDArray[np.bool_]:
    return np.asarray((x >= box[0]) & (x <= box[2]) & (y >= box[1]) & (y <= box[3]))


def _in_convex(corners: Points, x: Points, y: Points) -> NDArray[np.bool_]:
    """Whether points lie in a convex polygon, whichever way round its corners are given."""
    sides = []
    for (ax, ay), (bx, by) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        sides.append((bx - ax) * (y - ay) - (by - ay) * (x - ax))
    every = np.stack(sides)
    return np.asarray((every >= 0).all(axis=0) | (every <= 0).all(axis=0))

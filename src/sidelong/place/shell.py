"""Everything of a place that stands still, as things: walls, reveals, joinery, panes, ground, blocks."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sidelong.geometry.mesh import Mesh, Thing
from sidelong.geometry.polygons import rectangles_left
from sidelong.place.cells import (
    OUTSIDE,
    SOLID,
    WALLS,
    Cells,
    cells,
    ground_level,
    masonry_box,
)
from sidelong.place.furnishings import furnish
from sidelong.place.joinery import joinery
from sidelong.place.meshes import read_mesh
from sidelong.place.values import Place, Room, Wall

Points = NDArray[np.float64]
GROUND_RADIUS = 300.0
"""How far the open ground reaches. [m]"""
DEFAULT_FINISH = {
    "floor": "timber",
    "ceiling": "lime wash",
    "outside": "lime wash",
    "reveal": "",
}
_WALL_OF = {(axis, side): wall for wall, (axis, side) in WALLS.items()}


def things(place: Place) -> tuple[Thing, ...]:
    """All surfaces of a place, place frame [m]: masonry, joinery and panes, ground, blocks, meshes from files.

    The order and the meshes are the same every time. Each thing's `owner` is the room, opening, block or mesh of
    the shoot that it belongs to ("ground" for the ground).

    Raises
    ------
    FileFault
        A mesh's file cannot be read.
    InputFault
        A block's kind or a finish is not known.
    """
    found = list(masonry(cells(place)))
    found += [t for room in place.rooms for opening in room.openings for t in joinery(place, room, opening)]
    found.append(ground(place))
    found += [t for block in place.blocks for t in furnish(block)]
    found += [read_mesh(mesh) for mesh in place.meshes]
    return tuple(found)


def finish_of(room: Room, face: str) -> str:
    """The finish a room has on a face: a wall's name, ``outside``, or ``reveal`` (the sides of its openings)."""
    for key in (face, "walls" if face in ("left", "right", "near", "far", "reveal") else "", "all"):
        if key and key in room.finish:
            return room.finish[key]
    return DEFAULT_FINISH.get(face) or "lime wash"


def masonry(grid: Cells) -> tuple[Thing, ...]:
    """The skin between solid and hollow cells, a thing for each room's face, each reveal, and the outside. [m]

    Faces point into the hollow. Neighbouring quads share their corners, so that no ray slips between them.
    """
    quads: dict[tuple[str, str, str], list[Points]] = {}
    for axis in range(3):
        for side in (-1, 1):
            for name, corners in _faces(grid, axis, side):
                quads.setdefault(name, []).append(corners)
    return tuple(
        Thing(name, _welded(np.concatenate(parts)), finish, owner)
        for (name, owner, finish), parts in sorted(quads.items())
    )


def _faces(grid: Cells, axis: int, side: int) -> list[tuple[tuple[str, str, str], Points]]:
    """Quads (N, 4, 3) that a hollow cell shows on its `side` along `axis`, grouped by (name, owner, finish)."""
    padded = np.pad(grid.label, 1, constant_values=OUTSIDE)
    owners = np.pad(grid.owner, 1)
    solid = np.roll(padded, -side, axis) == SOLID
    behind = np.roll(owners, -side, axis)
    shows = (padded != SOLID) & solid
    found = []
    for hollow in np.unique(padded[shows]):
        here = shows & (padded == hollow)
        for owner in np.unique(behind[here]):
            index = np.argwhere(here & (behind == owner)) - 1
            found.append((_named(grid, int(hollow), int(owner), axis, side), _quads(grid, index, axis, side)))
    return found


def _named(grid: Cells, hollow: int, owner: int, axis: int, side: int) -> tuple[str, str, str]:
    rooms = len(grid.rooms)
    if hollow == OUTSIDE:
        room = grid.rooms[owner]
        return f"{room.name}, outside", room.name, finish_of(room, "outside")
    if hollow <= rooms:
        room = grid.rooms[hollow - 1]
        wall: Wall = _WALL_OF[axis, side]
        return f"{room.name}, {wall}", room.name, finish_of(room, wall)
    r, opening = grid.tunnels[hollow - 1 - rooms]
    room = grid.rooms[r]
    face = "floor" if axis == 2 and side < 0 and opening.kind == "door" else "reveal"
    if face == "reveal" and opening.wall in ("floor", "ceiling"):
        return f"{opening.name}, reveal", opening.name, finish_of(room, opening.wall)
    return f"{opening.name}, {'threshold' if face == 'floor' else 'reveal'}", opening.name, finish_of(room, face)


def _quads(grid: Cells, index: NDArray[np.int64], axis: int, side: int) -> Points:
    """The face of hollow cells (N, 3) on one side, its corners (N, 4, 3) anticlockwise seen from the hollow. [m]"""
    first, second = (axis + 1) % 3, (axis + 2) % 3
    corners = np.empty((len(index), 4, 3))
    # a hollow cell outside the grid shows its neighbour's face; the edge's number is the same
    corners[:, :, axis] = grid.edges[axis][index[:, axis] + (1 if side > 0 else 0)][:, None]
    order = ((0, 0), (0, 1), (1, 1), (1, 0)) if side > 0 else ((0, 0), (1, 0), (1, 1), (0, 1))
    for k, (u, v) in enumerate(order):
        corners[:, k, first] = grid.edges[first][index[:, first] + u]
        corners[:, k, second] = grid.edges[second][index[:, second] + v]
    return corners


def _welded(quads: Points) -> Mesh:
    vertices, index = np.unique(np.round(quads.reshape(-1, 3), 6), axis=0, return_inverse=True)
    corner = index.reshape(-1, 4)
    faces = np.concatenate([corner[:, [0, 1, 2]], corner[:, [0, 2, 3]]])
    return Mesh(vertices, faces.astype(np.int64))


def ground(place: Place) -> Thing:
    """The open ground: level, out to GROUND_RADIUS, left out under the rooms that stand in it. [m]"""
    level = ground_level(place)
    boxes = [masonry_box(room) for room in place.rooms]
    sunk = [b for b in boxes if b[0, 2] < level < b[1, 2]]
    low = np.min([b[0, :2] for b in boxes], axis=0) - 10 if boxes else np.array([-10.0, -10.0])
    high = np.max([b[1, :2] for b in boxes], axis=0) + 10 if boxes else np.array([10.0, 10.0])
    pieces = rectangles_left(low, high, [(b[0, :2], b[1, :2]) for b in sunk])
    near = np.array([[[p[0], p[1]], [q[0], p[1]], [q[0], q[1]], [p[0], q[1]]] for p, q in pieces])
    far = _apron(low, high, pieces)
    flat = np.concatenate([near, far])
    lifted = np.concatenate([flat, np.full((*flat.shape[:2], 1), level)], axis=2)
    return Thing("ground", _welded(lifted), f"ground {place.ground:g}", "ground")


def _apron(low: Points, high: Points, pieces: list[tuple[Points, Points]]) -> Points:
    """Quads from the edge of the rectangle out to the circle, sharing the corners of its pieces."""
    xs = np.unique(np.round([[p[0], q[0]] for p, q in pieces], 6))
    ys = np.unique(np.round([[p[1], q[1]] for p, q in pieces], 6))
    border = [(x, low[1]) for x in xs[:-1]] + [(high[0], y) for y in ys[:-1]]
    border += [(x, high[1]) for x in xs[:0:-1]] + [(low[0], y) for y in ys[:0:-1]]
    fine = []
    for a, b in zip(border, border[1:] + border[:1], strict=True):
        count = max(1, int(np.hypot(b[0] - a[0], b[1] - a[1]) // 2.5))
        fine += [np.asarray(a) + (np.asarray(b) - np.asarray(a)) * k / count for k in range(count)]
    edge = np.array(fine)
    middle = (low + high) / 2
    out = edge - middle
    rim = middle + out / np.linalg.norm(out, axis=1, keepdims=True) * (GROUND_RADIUS + np.linalg.norm(high - low))
    return np.stack([edge, rim, np.roll(rim, -1, axis=0), np.roll(edge, -1, axis=0)], axis=1)

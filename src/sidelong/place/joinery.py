"""What is put into an opening: a window's frame and glazing bars, a door's jambs, a pane, a sill."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sidelong.geometry.builders import box, joined
from sidelong.geometry.mesh import Mesh, Thing
from sidelong.place.cells import WALLS, opening_box, tunnel_depth
from sidelong.place.values import Opening, Place, Room

Points = NDArray[np.float64]
FRAME = 0.05
"""Width of a window's frame. [m]"""
BAR = 0.024
"""Width of a glazing bar. [m]"""
JAMB = 0.03
_DEEP = 0.055


def joinery(place: Place, room: Room, opening: Opening) -> tuple[Thing, ...]:
    """The timber and the glass in an opening, place frame; nothing in a bare hole without glass. [m]

    The frame stands two thirds of the way out through the wall, so that the room sees the depth of the reveal.
    `room.finish` may name the timber's finish under ``joinery``.
    """
    depth = tunnel_depth(place, room, opening)
    here = 0.62 * depth
    finish = room.finish.get("joinery", "painted timber white")
    found = []
    wood = _timber(opening, here, depth)
    if wood:
        mesh = joined([box(low, high) for low, high in wood])
        found.append(Thing(f"{opening.name}, {opening.kind}", _hung(mesh, room, opening), finish, opening.name))
    if opening.kind == "window" and opening.wall not in ("floor", "ceiling"):
        board = box([-0.03, -0.012, -0.035], [opening.width + 0.03, 0.012, here - _DEEP / 2])
        found.append(Thing(f"{opening.name}, sill", _hung(board, room, opening), finish, opening.name))
    if opening.glass is not None:
        glass = Mesh(
            np.array([[0, 0, here], [opening.width, 0, here], [opening.width, opening.height, here],
                      [0, opening.height, here]]),
            np.array([[0, 1, 2], [0, 2, 3]]),
        )  # fmt: skip
        pane = _hung(glass, room, opening)
        found.append(Thing(f"{opening.name}, pane", pane, f"glass {opening.glass:g}", opening.name))
    return tuple(found)


def panes_across(width: float, height: float) -> tuple[int, int]:
    """Into how many panes a window is parted, across and up: none wider than 45 cm or higher than 55 cm. [m]"""
    return max(1, int(np.ceil(width / 0.45 - 1e-9))), max(1, int(np.ceil(height / 0.55 - 1e-9)))


def _timber(opening: Opening, here: float, depth: float) -> list[tuple[list[float], list[float]]]:
    """Bars as boxes in the opening's own frame: along the wall, up, and out through it. [m]"""
    w, h = opening.width, opening.height
    if opening.kind == "hole" or min(w, h) < 3 * FRAME:
        return []
    if opening.kind == "door":
        out = min(depth, 0.14)
        return [
            ([0.0, 0.0, depth - out], [JAMB, h, depth]),
            ([w - JAMB, 0.0, depth - out], [w, h, depth]),
            ([JAMB, h - JAMB, depth - out], [w - JAMB, h, depth]),
        ]
    near, far = here - _DEEP / 2, here + _DEEP / 2
    bars = [
        ([0.0, 0.0, near], [w, FRAME, far]),
        ([0.0, h - FRAME, near], [w, h, far]),
        ([0.0, FRAME, near], [FRAME, h - FRAME, far]),
        ([w - FRAME, FRAME, near], [w, h - FRAME, far]),
    ]
    across, up = panes_across(w - 2 * FRAME, h - 2 * FRAME)
    thin = (here - _DEEP / 3, here + _DEEP / 3)
    for k in range(1, across):
        x = FRAME + (w - 2 * FRAME) * k / across
        bars.append(([x - BAR / 2, FRAME, thin[0]], [x + BAR / 2, h - FRAME, thin[1]]))
    for k in range(1, up):
        y = FRAME + (h - 2 * FRAME) * k / up
        # a hair thinner, so that crossing bars have no faces in common
        bars.append(([FRAME, y - BAR / 2, thin[0] + 1e-3], [w - FRAME, y + BAR / 2, thin[1] - 1e-3]))
    return bars


def _hung(mesh: Mesh, room: Room, opening: Opening) -> Mesh:
    """The mesh from the opening's own frame (along, up, out) in its place in the wall."""
    axis, side = WALLS[opening.wall]
    start = opening_box(room, opening)[0]
    frame = np.zeros((3, 3))
    first, second = (0, 2) if axis == 1 else (1, 2) if axis == 0 else (0, 1)
    frame[first, 0], frame[second, 1], frame[axis, 2] = 1.0, 1.0, side
    moved = mesh.moved(frame, start)
    mirrored = np.linalg.det(frame) < 0
    return Mesh(moved.vertices, moved.faces[:, ::-1] if mirrored else moved.faces, mesh.smooth)

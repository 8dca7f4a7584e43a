"""The surfaces of rooms by name, and where on one a light must be aimed to reach somebody."""

from __future__ import annotations

from collections.abc import Sequence

from sidelong.place.values import Vector
from sidelong.shoot.compose_place import room_name
from sidelong.shoot.model import ShootFile

FACES = {"left": (0, 0), "right": (0, 1), "near": (1, 0), "far": (1, 1), "floor": (2, 0), "ceiling": (2, 1)}
"""The axis that each face is square to, and whether it lies at the room's end there."""


def surface_names(model: ShootFile) -> dict[str, tuple[int, str]]:
    """Every name that a surface goes by -> position of its room, and its face.

    "ceiling", "wall left" and "left wall" are of the first room; with the room's name before them, of that room.
    """
    rooms = model.place.rooms
    names: dict[str, tuple[int, str]] = {}
    for i, room in enumerate(rooms):
        name = room_name(room, i + 1, len(rooms))
        for face in FACES:
            for spelling in _spellings(face):
                names.setdefault(spelling, (i, face))
                names[f"{name} {spelling}"] = (i, face)
    return names


def _spellings(face: str) -> tuple[str, ...]:
    return (face,) if face in ("floor", "ceiling") else (face, f"wall {face}", f"{face} wall")


def bounce_point(low: Sequence[float], size: Sequence[float], face: str, light: Vector, subject: Vector) -> Vector:
    """Where on a room's face a light must be aimed so that a mirror there would send it to the subject.

    Parameters
    ----------
    low, size : 3 floats
        The room's lowest corner and its size, place frame. [m]
    face : str
        A key of `FACES`.
    light, subject : 3 floats, place frame
        [m]

    Returns
    -------
    3 floats, place frame
        Inside the face, a tenth of its size from its edges. [m] Method: the subject mirrored in the face's plane,
        and the line to it cut by that plane.
    """
    axis, end = FACES[face]
    plane = low[axis] + end * size[axis]
    here, there = abs(light[axis] - plane), abs(subject[axis] - plane)
    share = here / (here + there) if here + there > 0 else 0.5
    point = [a + share * (b - a) for a, b in zip(light, subject, strict=True)]
    for k in range(3):
        margin = 0.1 * size[k]
        point[k] = min(max(point[k], low[k] + margin), low[k] + size[k] - margin)
    point[axis] = plane
    return point[0], point[1], point[2]

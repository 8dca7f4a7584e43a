"""The names of a room's surfaces, for a light that is bounced."""

from __future__ import annotations

from sidelong.shoot.compose_place import room_name
from sidelong.shoot.model import ShootFile

FACES = ("left", "right", "near", "far", "floor", "ceiling")


def surface_names(model: ShootFile) -> dict[str, tuple[str, str]]:
    """Every name that a surface goes by -> its room and face: "ceiling" or "wall left" (of the first room),
    "loft ceiling" and "loft wall left" of a room by its name."""
    rooms = model.place.rooms
    names: dict[str, tuple[str, str]] = {}
    for number, room in enumerate(rooms, 1):
        name = room_name(room, number, len(rooms))
        for face in FACES:
            for spelling in _spellings(face):
                names.setdefault(spelling, (name, face))
                names[f"{name} {spelling}"] = (name, face)
    return names


def _spellings(face: str) -> tuple[str, ...]:
    return (face,) if face in ("floor", "ceiling") else (face, f"wall {face}", f"{face} wall")

"""Where an opening lies in its wall: its middle, which way it faces, its edges."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sidelong.place.values import Opening, Room


def opening_frame(
    room: Room, opening: Opening
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Middle of an opening, unit normal into the room, and the unit direction along its height. Place frame."""
    low, size = np.array(room.at), np.array(room.size)
    along, across = opening.along + opening.width / 2, opening.sill + opening.height / 2
    x, y, z = np.eye(3)
    if opening.wall in ("near", "far"):
        side = 0.0 if opening.wall == "near" else size[1]
        return low + along * x + side * y + across * z, y if opening.wall == "near" else -y, z
    if opening.wall in ("left", "right"):
        side = 0.0 if opening.wall == "left" else size[0]
        return low + side * x + along * y + across * z, x if opening.wall == "left" else -x, z
    side = 0.0 if opening.wall == "floor" else size[2]
    return low + along * x + across * y + side * z, z if opening.wall == "floor" else -z, y

"""The box that holds the whole place."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sidelong.place.cells import masonry_box
from sidelong.place.furnishings import turn_of
from sidelong.place.values import Block, Place

Points = NDArray[np.float64]


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


def _footprint(block: Block) -> Points:
    x, y = block.size[0] / 2, block.size[1] / 2
    corners = np.array([[-x, -y], [x, -y], [x, y], [-x, y]])
    return np.asarray(corners @ turn_of(block)[:2, :2].T + np.asarray(block.at, float)[:2])

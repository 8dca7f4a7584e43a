"""What lies in which room, block or wall, and what stands between two points."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.geometry.rays import segments_hit_boxes
from sidelong.place.cells import room_box, solid_boxes
from sidelong.place.furnishings import kind_of, stopping_box, turn_of
from sidelong.place.values import Block, Place, Room

Points = NDArray[np.float64]
_SKIN = 1e-6


def room_at(place: Place, point: ArrayLike) -> Room | None:
    """The first room whose inside holds a point (3,), its faces included; None outside. [m]"""
    p = np.asarray(point, float)
    for room in place.rooms:
        low, high = room_box(room)
        if (p >= low - _SKIN).all() and (p <= high + _SKIN).all():
            return room
    return None


def inside_wall(place: Place, points: ArrayLike) -> NDArray[np.bool_]:
    """Whether points (..., 3) lie in masonry: in a wall, floor or roof, and in no opening; faces left out. (...)"""
    p = np.asarray(points, float)[..., None, :]
    boxes = solid_boxes(place)
    # merged boxes touch one another: a point on their common face is inside the wall, one on the wall's face is not
    low, high = boxes[:, 0] + _SKIN, boxes[:, 1] - _SKIN
    strictly = ((p > low) & (p < high)).all(-1).any(-1)
    return np.asarray(strictly | _all_round(place, np.asarray(points, float)))


def _all_round(place: Place, points: Points) -> NDArray[np.bool_]:
    """Whether points and all their neighbours a hair away lie in boxes, faces included."""
    boxes = solid_boxes(place)
    if not len(boxes):
        return np.zeros(points.shape[:-1], bool)
    hairs = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)]) * _SKIN
    p = (points[..., None, :] + hairs)[..., None, :]
    return np.asarray(((p >= boxes[:, 0]) & (p <= boxes[:, 1])).all(-1).any(-1).all(-1))


def inside_block(place: Place, point: ArrayLike) -> Block | None:
    """The first block whose whole box holds a point (3,), faces left out; None when none does. [m]

    Blocks that one can stand in or under (a net, a shelf) hold nothing.
    """
    p = np.asarray(point, float)
    for block in place.blocks:
        if kind_of(block.kind).stops is None:
            continue
        own = turn_of(block).T @ (p - np.asarray(block.at, float))
        half = np.array([block.size[0] / 2, block.size[1] / 2])
        if (np.abs(own[:2]) < half - _SKIN).all() and _SKIN < own[2] < block.size[2] - _SKIN:
            return block
    return None


def blocked(place: Place, starts: ArrayLike, ends: ArrayLike, but: Sequence[str] = ()) -> NDArray[np.bool_]:
    """Whether masonry or a block stands between points.

    Parameters
    ----------
    place : Place
    starts, ends : (..., 3) float arrays, place frame, of shapes that broadcast
        [m]
    but : sequence of str
        Names of blocks to look through.

    Returns
    -------
    (...) bool array
        Openings, their panes and nets let a line pass; a bench or a table stops it with its top only; touching
        a face is no hindrance. Meshes from files are not looked at.

    Raises
    ------
    InputFault
        A block's kind is not known.
    """
    a, b = np.broadcast_arrays(np.asarray(starts, float), np.asarray(ends, float))
    shape = a.shape[:-1]
    a, b = a.reshape(-1, 3), b.reshape(-1, 3)
    boxes = solid_boxes(place)
    shrunk = boxes + np.array([[[_SKIN], [-_SKIN]]]).reshape(1, 2, 1)
    hit = segments_hit_boxes(a, b, shrunk)
    for block in place.blocks:
        if block.name not in but:
            hit |= _stopped(block, a, b)
    return hit.reshape(shape)


def sight_line_blocked(place: Place, a: ArrayLike, b: ArrayLike, but: Sequence[str] = ()) -> bool:
    """`blocked` for one pair of points (3,). [m]"""
    return bool(blocked(place, np.asarray(a, float)[None], np.asarray(b, float)[None], but)[0])


def what_blocks(place: Place, a: ArrayLike, b: ArrayLike) -> str | None:
    """Name of a block between two points (3,), ``a wall`` if masonry is, None if the line is free. [m]"""
    start, end = np.asarray(a, float)[None], np.asarray(b, float)[None]
    for block in place.blocks:
        if _stopped(block, start, end)[0]:
            return block.name
    return "a wall" if sight_line_blocked(Place(rooms=place.rooms), a, b) else None


def _stopped(block: Block, starts: Points, ends: Points) -> NDArray[np.bool_]:
    box = stopping_box(block)
    if box is None:
        return np.zeros(len(starts), bool)
    turn, at = turn_of(block), np.asarray(block.at, float)
    box = box + np.array([[_SKIN], [-_SKIN]])
    return segments_hit_boxes((starts - at) @ turn, (ends - at) @ turn, box[None])

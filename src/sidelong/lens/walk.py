"""Walking the focus along a row: the movement stays, the ring picks out one person at a time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import OutOfReach
from sidelong.lens.blur import blur
from sidelong.lens.curvature import defocus_slope
from sidelong.lens.geometry import geometry_of
from sidelong.lens.ring import check_ring, engraved_ring, extension_for
from sidelong.lens.values import Movement, Setting

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Step:
    """One stop of the walk. `ring` as engraved [m], None at infinity; `half_width` of the row that is sharp around
    the point, square to the view [m], None for a straight lens; `also` the indices of others within
    the limit; `blurs` (N,) major axes of everyone [m]. When the ring does not reach, `why` says so, the rest is None,
    and `smaller` is the largest fraction of the movement that does reach."""

    index: int
    setting: Setting | None
    ring: float | None
    half_width: float | None
    also: tuple[int, ...]
    blurs: Array | None
    why: str
    smaller: float | None


def walk(start: Setting, row: Array, limit: float) -> tuple[Step, ...]:
    """A step for each point of a row (N, 3), body frame [m], at the start's movement and stop."""
    return tuple(_step(start, row, i, limit) for i in range(len(row)))


def _step(start: Setting, row: Array, index: int, limit: float) -> Step:
    lens, point = start.lens, row[index]
    try:
        extension = extension_for(lens, start.movement, point)
        check_ring(lens, extension)
    except OutOfReach as error:
        return Step(index, None, None, None, (), None, str(error), _reaching(start, point))
    setting = replace(start, extension=extension)
    glass = geometry_of(setting)
    majors = blur(glass, row).major
    also = tuple(int(j) for j in np.flatnonzero(majors <= limit) if j != index)
    steep = defocus_slope(glass, point) / glass.film_distance
    sideways = math.hypot(float(steep[0]), float(steep[1]))
    half = (
        limit * start.f_number * float(glass.relative(point)[2]) / glass.film_distance / sideways
        if sideways > 1e-9
        else None
    )
    return Step(index, setting, engraved_ring(setting), half, also, majors, "", None)


def _reaching(start: Setting, point: Array) -> float | None:
    """Largest fraction of the movement with which the ring still reaches a point; None if not even straight."""

    def reaches(part: float) -> bool:
        movement = scaled(start.movement, part)
        try:
            check_ring(start.lens, extension_for(start.lens, movement, point))
        except OutOfReach:
            return False
        return True

    if not reaches(0.0):
        return None
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if reaches(middle) else (low, middle)
    return low


def scaled(movement: Movement, part: float) -> Movement:
    """A part of a movement's swing and tilt, rise and shift kept."""
    return replace(movement, swing=movement.swing * part, tilt=movement.tilt * part)


def row_order(points: Sequence[Array]) -> list[int]:
    """Indices of points in the order in which they stand along their own line of best fit."""
    stacked = np.asarray(points, float)
    centred = stacked - stacked.mean(axis=0)
    line = np.linalg.svd(centred)[2][0]
    return [int(i) for i in np.argsort(centred @ line)]

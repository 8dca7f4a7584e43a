"""Planes n . X = offset, lines through them, and the lines in which two of them meet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Points = NDArray[np.float64]


@dataclass(frozen=True)
class Plane:
    """All X with `normal` . X = `offset`; normal (3,) unit [-], offset [m]."""

    normal: Points
    offset: float

    def distance(self, points: ArrayLike) -> Points:
        """Signed distance of points (..., 3), positive on the normal's side. (...) [m]"""
        return np.asarray(points, float) @ self.normal - self.offset


def plane_at(point: ArrayLike, normal: ArrayLike) -> Plane:
    """The plane through a point (3,) square to a direction (3,) of any length. [m]"""
    n = np.asarray(normal, float)
    n = n / np.linalg.norm(n)
    return Plane(n, float(n @ np.asarray(point, float)))


def where_lines_meet(plane: Plane, origins: ArrayLike, directions: ArrayLike) -> Points:
    """Points (..., 3) where lines origin + t direction (..., 3) meet the plane; nan where they run along it. [m]"""
    o, d = np.asarray(origins, float), np.asarray(directions, float)
    slope = d @ plane.normal
    with np.errstate(divide="ignore", invalid="ignore"):
        t = np.where(np.abs(slope) < 1e-15, np.nan, (plane.offset - o @ plane.normal) / slope)
    return np.asarray(o + t[..., None] * d)


def line_of_two(one: Plane, two: Plane) -> tuple[Points, Points] | None:
    """A point (3,) [m], the nearest to the origin, and a unit direction (3,) of the common line; None if parallel."""
    along = np.cross(one.normal, two.normal)
    size = float(np.linalg.norm(along))
    if size < 1e-12:
        return None
    system = np.stack([one.normal, two.normal, along / size])
    return np.linalg.solve(system, np.array([one.offset, two.offset, 0.0])), along / size

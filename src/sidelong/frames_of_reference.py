"""The frames, and the one conversion between each pair of them.

Place frame: right-handed, x and y along the plan, z up, origin on the floor. Body frame: seen from behind the
camera, x right, y up, z forward along the film's normal, origin `at`; it is left-handed (x cross y = -z) and is
used for components only. Renderer frame: x left, y up, z forward, right-handed. Bearings run clockwise from true
north; `north` is the bearing of the plan's +y axis.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Points = NDArray[np.float64]

WORLD_UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True)
class BodyFrame:
    """The camera's body in the place: `at` [m], and the unit axes `right`, `up`, `forward`, all (3,) place frame."""

    at: Points
    right: Points
    up: Points
    forward: Points

    def to_body(self, points: ArrayLike) -> Points:
        """Components in the body frame of points (..., 3) of the place frame. [m]"""
        return np.asarray((np.asarray(points, float) - self.at) @ self.axes.T)

    def to_place(self, points: ArrayLike) -> Points:
        """Points (..., 3) of the place frame from their components in the body frame. [m]"""
        return np.asarray(np.asarray(points, float) @ self.axes + self.at, float)

    def direction_to_body(self, vectors: ArrayLike) -> Points:
        """Components in the body frame of vectors (..., 3) of the place frame."""
        return np.asarray(np.asarray(vectors, float) @ self.axes.T)

    def direction_to_place(self, vectors: ArrayLike) -> Points:
        """Vectors (..., 3) of the place frame from their components in the body frame."""
        return np.asarray(np.asarray(vectors, float) @ self.axes)

    @property
    def axes(self) -> Points:
        """Rows right, up, forward: (3, 3), determinant -1 (left-handed). [-]"""
        return np.asarray(np.stack([self.right, self.up, self.forward]))

    def renderer_to_place(self) -> Points:
        """(4, 4) matrix from the renderer's frame (x left, y up, z forward) to the place; determinant +1."""
        matrix = np.eye(4)
        matrix[:3, 0], matrix[:3, 1], matrix[:3, 2], matrix[:3, 3] = (
            -self.right,
            self.up,
            self.forward,
            self.at,
        )
        return matrix


def body_to_renderer(vectors: ArrayLike) -> Points:
    """Renderer components (x left, y up, z forward) of vectors (..., 3) of the body frame: x changes sign."""
    return np.asarray(np.asarray(vectors, float) * np.array([-1.0, 1.0, 1.0]), float)


def camera_frame(at: ArrayLike, aim: ArrayLike, level: bool = False) -> BodyFrame:
    """Body frame of a camera that stands `at` and looks towards `aim` (both (3,), place frame). [m]

    z is along aim minus at (its horizontal part when `level`), x = z cross world up, y = x cross z.
    Worked: at (0, 0, 1), aim (0, 2, 1) gives right (1, 0, 0), up (0, 0, 1), forward (0, 1, 0).

    Raises
    ------
    ValueError
        `aim` lies at the camera, or straight above or below it.
    """
    here = np.asarray(at, float)
    forward = np.asarray(aim, float) - here
    if level:
        forward = forward * np.array([1.0, 1.0, 0.0])
    if np.hypot(forward[0], forward[1]) < 1e-9 * max(1.0, float(np.linalg.norm(forward))) + 1e-12:
        raise ValueError("the aim lies at the camera or straight above or below it")
    forward = forward / np.linalg.norm(forward)
    right = np.cross(forward, WORLD_UP)
    right = right / np.linalg.norm(right)
    return BodyFrame(here, right, np.cross(right, forward), forward)


def bearing_to_direction(bearing: ArrayLike, north: float, elevation: ArrayLike = 0.0) -> Points:
    """Unit vectors (..., 3), place frame, towards a bearing at an elevation above the horizon. [rad in]

    Worked: north = 0, bearing 90 degrees (east) gives (1, 0, 0); north = 90 degrees, bearing 90 gives (0, 1, 0).
    """
    angle, height = np.broadcast_arrays(np.asarray(bearing, float) - north, np.asarray(elevation, float))
    unit = [np.sin(angle) * np.cos(height), np.cos(angle) * np.cos(height), np.sin(height)]
    return np.asarray(np.stack(unit, axis=-1), float)

"""The lights of a stage as points that shadow rays are sent to: fronts, balls, panels that a head is turned at, the
sun's disc."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.geometry.mesh import Mesh
from sidelong.light.patterns import is_ball
from sidelong.plan.gear import sheet_mesh
from sidelong.plan.stage import head_names
from sidelong.shoot.values import Shot
from sidelong.trace.stand_ins import emitter_mesh
from sidelong.trace.values import Stage

Array = NDArray[np.float64]

POINTS = 64
"""Points that stand for a light."""
FAR = 500.0
"""How far rays go towards the sun. [m]"""
SUN_RADIUS = math.radians(0.533 / 2)
"""Of the sun's disc. [rad]"""
_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0


@dataclass(frozen=True)
class Source:
    """A light's `name`, points spread evenly over it (S, 3) [m], which way it faces (3,), None for all round; of the
    sun directions in place of points. `panel`: the sheet that it is."""

    name: str
    points: Array
    axis: Array | None
    sun: bool = False
    panel: str | None = None

    def fewer(self, step: int) -> Source:
        """The same light by one in `step` of its points."""
        return replace(self, points=self.points[::step])

    def towards(self, points: Array) -> tuple[Array, Array]:
        """From points (N, 3) to every point of the light: unit directions (N, S, 3), and distances (N, S), 0 where it
        faces away. [-, m]"""
        if self.sun:
            way = np.broadcast_to(self.points, (len(points), *self.points.shape))
            return np.asarray(way), np.full(way.shape[:2], FAR)
        way = self.points[None] - points[:, None]
        reach = np.linalg.norm(way, axis=2)
        way = way / np.maximum(reach, 1e-9)[..., None]
        if self.axis is not None:
            reach = np.where(way @ self.axis < 0, reach, 0.0)
        return way, np.asarray(np.maximum(reach - 1e-3, 0.0))


def sources_of(stage: Stage, shot: Shot) -> list[Source]:
    """Every light of a stage but the sky, and but heads that are turned at a wall."""
    found = []
    panels = iter(stage.sheets)
    for name, light in zip(head_names(shot), shot.lights, strict=True):
        bounced = light.bounce is not None
        if light.bounce is not None and light.bounce.panel is not None:
            sheet = next(panels)
            found.append(Source(name, _spread(sheet_mesh(sheet)), np.array(sheet.axis), panel=sheet.name))
        for emitter in stage.emitters:
            if emitter.name == name and not bounced and not emitter.bounced:
                one_way = not is_ball(emitter) and not emitter.both and emitter.behind == 0
                axis = np.array(emitter.axis) if one_way else None
                found.append(Source(name, _spread(emitter_mesh(emitter)), axis))
    day = stage.daylight
    if day is not None and day.sun_normal > 0:
        found.append(Source("sun", _disc(np.array(day.to_sun)), None, sun=True))
    return found


def _spread(mesh: Mesh) -> Array:
    """Points (POINTS, 3) spread evenly over a mesh by area: a lattice of Kronecker's kind. [m]"""
    corners = mesh.vertices[mesh.faces]
    area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    edges = np.concatenate([[0.0], np.cumsum(area)]) / area.sum()
    u = (np.arange(POINTS) + 0.5) / POINTS
    face = np.clip(np.searchsorted(edges, u, side="right") - 1, 0, len(area) - 1)
    a = np.sqrt((u - edges[face]) / np.maximum(edges[face + 1] - edges[face], 1e-12))
    b = (np.arange(POINTS) * _GOLDEN) % 1.0
    one, two, three = (corners[face, k] for k in range(3))
    return np.asarray(one + a[:, None] * ((two - one) + b[:, None] * (three - two)))


def _disc(to_sun: Array) -> Array:
    """Unit directions (POINTS, 3) spread evenly over the sun's disc."""
    middle = to_sun / np.linalg.norm(to_sun)
    side = np.cross(middle, [0.0, 0.0, 1.0] if abs(middle[2]) < 0.9 else [1.0, 0.0, 0.0])
    side /= np.linalg.norm(side)
    up = np.cross(side, middle)
    k = np.arange(POINTS)
    radius = SUN_RADIUS * np.sqrt((k + 0.5) / POINTS)
    angle = 2 * math.pi * _GOLDEN * k
    way = middle + radius[:, None] * (np.cos(angle)[:, None] * side + np.sin(angle)[:, None] * up)
    return np.asarray(way / np.linalg.norm(way, axis=1, keepdims=True))

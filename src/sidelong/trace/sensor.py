"""Rays of a moved lens: from a point of the film through a point of the entrance pupil out into the place.

Body frame (x right, y up, z forward, origin `at`), positions q and E relative to the moved principal point O.
A ray from film point q leaves the pupil point E along G = -q - E (v / f - 1), v = -q . a, which aims at q's
conjugate point and stays regular where that lies at infinity; the film's irradiance is the integral over the
entrance pupil of L W dA with W = (D . a) (p E_z + d) / (p |G|^3), D = G / |G|. Transmission is 1 here.

Source
------
derived: docs/decisions/0004-film-irradiance.md
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.values import Setting
from sidelong.trace.engine import load
from sidelong.trace.values import View

mi, dr = load()

Points = NDArray[np.float64]


@dataclass(frozen=True)
class MovedLens:
    """A lens as set, in numbers. Body frame [m]: `axis` a, `point` O, `across` two unit vectors square to a.

    `film_distance` d from O to the film along z; `pupil` how far the entrance pupil lies in front of O along a;
    `radius` the circumradius of its rim, `area` of the opening [m2]; `ratio` p; `blades` 0 for a round one.
    """

    focal_length: float
    axis: Points
    point: Points
    across: Points
    film_distance: float
    pupil: float
    ratio: float
    radius: float
    area: float
    blades: int


def moved_lens(setting: Setting) -> MovedLens:
    """The lens of a setting: hinge (shift, rise, -pivot), O = hinge + (pivot + e) a, d = f - pivot + (pivot + e) a_z.

    A `blades`-gon has the area of the round opening of diameter f / N.
    """
    lens, move = setting.lens, setting.movement
    f = lens.focal_length
    axis = np.array(
        [
            math.sin(move.swing) * math.cos(move.tilt),
            math.sin(move.tilt),
            math.cos(move.swing) * math.cos(move.tilt),
        ]
    )
    hinge = np.array([move.shift, move.rise, -lens.pivot])
    first = np.cross([0.0, 1.0, 0.0] if abs(axis[1]) < 0.9 else [0.0, 0.0, 1.0], axis)
    first /= np.linalg.norm(first)
    radius = f / (2 * setting.f_number)
    area = math.pi * radius**2
    if lens.blades >= 3:
        radius *= math.sqrt(2 * math.pi / (lens.blades * math.sin(2 * math.pi / lens.blades)))
    return MovedLens(
        focal_length=f,
        axis=axis,
        point=hinge + (lens.pivot + setting.extension) * axis,
        across=np.stack([first, np.cross(axis, first)]),
        film_distance=f - lens.pivot + (lens.pivot + setting.extension) * float(axis[2]),
        pupil=lens.entrance_pupil,
        ratio=lens.pupil_ratio,
        radius=radius,
        area=area,
        blades=lens.blades,
    )


class LensRays:
    """Draws rays of a view. Every number is an opaque scalar, so that a new movement compiles nothing anew."""

    def __init__(self, view: View) -> None:
        lens = moved_lens(view.setting)
        self.blades = lens.blades
        self.f, self.d, self.p = scalar(lens.focal_length), scalar(lens.film_distance), scalar(lens.ratio)
        self.radius, self.area, self.pupil = scalar(lens.radius), scalar(lens.area), scalar(lens.pupil)
        self.width, self.height = scalar(view.film.width), scalar(view.film.height)
        self.axis, self.point = vector(lens.axis), vector(lens.point)
        self.across = [vector(e) for e in lens.across]
        frame = view.frame
        self.at, self.axes = vector(frame.at), [vector(u) for u in (frame.right, frame.up, frame.forward)]

    def rays(self, picture: Any, aperture: Any) -> tuple[Any, Any, Any]:
        """Origin and unit direction (place frame) and the weight W times the pupil's area. [m, -, -]

        `picture` in [0, 1)^2 runs right and down over the upright picture; `aperture` in [0, 1)^2 over the pupil.
        """
        q = mi.Vector3f((0.5 - picture.x) * self.width, (picture.y - 0.5) * self.height, -self.f) - self.point
        opening = self._opening(aperture)
        rim = self.axis * self.pupil + self.across[0] * opening.x + self.across[1] * opening.y
        v = -dr.dot(q, self.axis)
        g = -q - rim * (v / self.f - 1.0)
        reach = dr.norm(g)
        direction = g / reach
        toward_film = self.p * rim.z + self.d
        cosine = dr.dot(direction, self.axis)
        weight = self.area * cosine * toward_film / (self.p * reach * reach * reach)
        weight = dr.select((v > 0) & (toward_film > 0) & (cosine > 0), weight, 0.0)
        start = self.point + rim
        return self.at + self._to_place(start), self._to_place(direction), weight

    def _to_place(self, vector: Any) -> Any:
        return self.axes[0] * vector.x + self.axes[1] * vector.y + self.axes[2] * vector.z

    def _opening(self, sample: Any) -> Any:
        if self.blades < 3:
            return mi.warp.square_to_uniform_disk_concentric(sample) * self.radius
        return regular_polygon(sample, self.blades) * self.radius


def regular_polygon(sample: Any, corners: int, turn: float = 0.0) -> Any:
    """Points uniform in the regular polygon of circumradius 1, its first corner at angle `turn` [rad]."""
    scaled = sample.x * corners
    sector = dr.minimum(dr.floor(scaled), corners - 1)
    root = dr.sqrt(scaled - sector)
    step = 2 * math.pi / corners
    s0, c0 = dr.sincos(sector * step + turn)
    s1, c1 = dr.sincos((sector + 1) * step + turn)
    one, two = root * (1 - sample.y), root * sample.y
    return mi.Point2f(one * c0 + two * c1, one * s0 + two * s1)


def scalar(value: float) -> Any:
    """A scalar that the compiler may not fold into the kernel."""
    return dr.opaque(mi.Float, float(value))


def vector(values: Any) -> Any:
    """A vector of opaque scalars."""
    return mi.Vector3f(*(scalar(x) for x in values))

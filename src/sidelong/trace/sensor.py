"""Rays of a moved lens: from a point of the film through a point of the entrance pupil out into the place.

Body frame (x right, y up, z forward, origin `at`), positions q and E relative to the moved principal point O.
A ray from film point q leaves the pupil point E along G = -q - E (v / f - 1), v = -q . a, which aims at q's
conjugate point and stays regular where that lies at infinity; the film's irradiance is the integral over the
entrance pupil of L W dA with W = (D . a) (p E_z + d) / (p |G|^3), D = G / |G|. Transmission is 1 here. A curved
field (lens/curvature.py) leaves the ray through the pupil's centre as it is and turns the others nearer to it.

Source
------
derived: docs/decisions/0004-film-irradiance.md
"""

from __future__ import annotations

import math
from typing import Any

from sidelong.lens.geometry import geometry_of
from sidelong.trace.engine import load
from sidelong.trace.values import View

mi, dr = load()


class LensRays:
    """Draws rays of a view. Every number is an opaque scalar, so that a new movement compiles nothing anew."""

    def __init__(self, view: View) -> None:
        lens = geometry_of(view.setting)
        self.blades = view.setting.lens.blades
        self.f, self.d, self.p = scalar(lens.focal_length), scalar(lens.film_distance), scalar(lens.pupil_ratio)
        self.pupil, self.area = scalar(lens.pupil_offset), scalar(math.pi * lens.pupil_radius**2)
        self.radius = scalar(lens.pupil_radius * _circumradius(self.blades))
        self.kappa = scalar(lens.field_curvature)
        self.width, self.height = scalar(view.film.width), scalar(view.film.height)
        self.axis, self.point = vector(lens.axis), vector(lens.principal)
        self.across = [vector(lens.across), vector(lens.along)]
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
        g = -q - rim * (v / self.f - 1.0) - (rim - self.axis * self.pupil) * self._bow(q, v)
        reach = dr.norm(g)
        direction = g / reach
        toward_film = self.p * rim.z + self.d
        cosine = dr.dot(direction, self.axis)
        weight = self.area * cosine * toward_film / (self.p * reach * reach * reach)
        weight = dr.select((v > 0) & (toward_film > 0) & (cosine > 0), weight, 0.0)
        start = self.point + rim
        return self.at + self._to_place(start), self._to_place(direction), weight

    def _bow(self, q: Any, v: Any) -> Any:
        """What a curved field adds to v / f - 1 off the pupil's centre, to second order in kappa; 0 for a flat one.

        With w = v - h (v/f - 1), x = kappa |q square to a|^2 / (f w): x v / (v + h x).
        """
        aside = dr.squared_norm(q + self.axis * v)
        bow = self.kappa * aside / (self.f * (v - self.pupil * (v / self.f - 1.0)))
        return bow * v / (v + self.pupil * bow)

    def _to_place(self, vector: Any) -> Any:
        return self.axes[0] * vector.x + self.axes[1] * vector.y + self.axes[2] * vector.z

    def _opening(self, sample: Any) -> Any:
        if self.blades < 3:
            return mi.warp.square_to_uniform_disk_concentric(sample) * self.radius
        return regular_polygon(sample, self.blades) * self.radius


def _circumradius(blades: int) -> float:
    """Of the opening with that many blades, over the radius of the round one of the same area."""
    if blades < 3:
        return 1.0
    return math.sqrt(2 * math.pi / (blades * math.sin(2 * math.pi / blades)))


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

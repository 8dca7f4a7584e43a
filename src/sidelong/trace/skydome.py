"""The sky as a light: its luminance, and directions drawn through the openings of the rooms."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sidelong.trace.engine import load
from sidelong.trace.sensor import scalar, vector
from sidelong.trace.skyfield import SkyTable
from sidelong.trace.stand_ins import Portal

mi, dr = load()

_HAIR = 1e-4


class SkyDome:
    """The sky, sampled through the openings of the rooms, or over the upper hemisphere where there are none.

    Openings lie on the inner side of their walls. From beyond one, a reveal, a frame, a sill or the ground outside,
    the sky is not behind the opening but before it: directions that its share would send back through it go out over
    the half of space that it faces, what lies below the horizon turned up.
    """

    def __init__(self, table: SkyTable, portals: tuple[Portal, ...]) -> None:
        self.size = table.luminance.shape
        self.table = mi.Float(table.luminance.astype(np.float32).ravel())
        self.portals = [(*edges(p), scalar(p.area)) for p in portals]

    def luminance(self, direction: Any) -> Any:
        """[cd/m2] by bilinear interpolation over elevation and azimuth; 0 below the horizon."""
        at, u, v = self.cell(direction)
        corners = [dr.gather(mi.Float, self.table, at + k) for k in (0, 1, self.size[1], self.size[1] + 1)]
        return between(corners, u, v, direction)

    def cell(self, direction: Any) -> tuple[Any, Any, Any]:
        """The lowest corner, as a row of the table, of the cell that a direction lies in, and where in the cell."""
        rows, columns = self.size
        y = dr.asin(dr.clip(direction.z, 0.0, 1.0)) * ((rows - 1) / (0.5 * math.pi))
        x = (dr.atan2(direction.y, direction.x) + math.pi) * ((columns - 1) / (2 * math.pi))
        j, i = dr.minimum(mi.UInt32(y), rows - 2), dr.minimum(mi.UInt32(x), columns - 2)
        return j * columns + i, x - mi.Float(i), y - mi.Float(j)

    def draw(self, point: Any, pair: Any) -> Any:
        """A direction from `point` with the density that `density` gives: through an opening, chosen by its share."""
        if not self.portals:
            return mi.warp.square_to_uniform_hemisphere(pair)
        shares = [self._share(point, p) for p in self.portals]
        total = mi.Float(0.0)
        for share in shares:
            total += share
        # walk down the openings by their shares, and use what is left of the number again
        left, u = pair.x * total, mi.Float(0.999)
        corner, across, up, normal, _ = self.portals[-1]
        start, side, rise, out = (mi.Vector3f(v) for v in (corner, across, up, normal))
        found = mi.Bool(False)
        for share, (corner, across, up, normal, _) in zip(shares, self.portals, strict=True):
            here = ~found & (left < share)
            u = dr.select(here, left / share, u)
            start, side, rise, out = (
                dr.select(here, new, old) for new, old in ((corner, start), (across, side), (up, rise), (normal, out))
            )
            found |= here
            left = dr.select(found, left, left - share)
        through = dr.normalize(mi.Vector3f(start + side * u + rise * pair.y - point))
        around = mi.Frame3f(out).to_world(mi.warp.square_to_uniform_hemisphere(mi.Point2f(u, pair.y)))
        around.z = dr.abs(around.z)
        return dr.select(_beyond(point, start, out), around, through)

    def density(self, point: Any, direction: Any) -> Any:
        """Density of `draw` from `point` in a direction. [1/sr]"""
        if not self.portals:
            return dr.select(direction.z > 0, mi.Float(dr.inv_two_pi), 0.0)
        density, total = mi.Float(0.0), mi.Float(0.0)
        for portal in self.portals:
            corner, _, _, normal, area = portal
            share = self._share(point, portal)
            total += share
            slope = dr.dot(direction, normal)
            t, through = crossing(portal, point, direction)
            inside = dr.select(through, t * t / (area * dr.abs(slope)), 0.0)
            # the same direction is come to straight, and from below the horizon
            turned = slope - 2.0 * direction.z * normal.z
            ways = dr.select(slope > 0, 1.0, 0.0) + dr.select(turned > 0, 1.0, 0.0)
            outside = dr.select(direction.z > 0, ways * dr.inv_two_pi, 0.0)
            density += share * dr.select(_beyond(point, corner, normal), outside, inside)
        return density / total

    @staticmethod
    def _share(point: Any, portal: tuple[Any, ...]) -> Any:
        """Roughly the solid angle of an opening seen from a point, never nothing."""
        corner, across, up, normal, area = portal
        way = corner + 0.5 * (across + up) - point
        d2 = dr.squared_norm(way)
        cosine = dr.abs(dr.dot(way, normal)) * dr.rsqrt(d2)
        return area * (cosine + 0.1) / (d2 + 0.25 * area)


def edges(portal: Portal) -> tuple[Any, Any, Any, Any]:
    """Corner, two sides and outward normal of an opening, for kernels."""
    return vector(portal.corner), vector(portal.across), vector(portal.up), vector(portal.normal)


def crossing(portal: tuple[Any, ...], point: Any, direction: Any) -> tuple[Any, Any]:
    """How far along a direction [m] an opening (its `edges`) has its plane, and whether the ray goes through it."""
    corner, across, up, normal = portal[:4]
    t = dr.dot(corner - point, normal) / dr.dot(direction, normal)
    on = point + t * direction - corner
    a, b = dr.dot(on, across) / dr.squared_norm(across), dr.dot(on, up) / dr.squared_norm(up)
    return t, (t > 0) & (a >= 0) & (a <= 1) & (b >= 0) & (b <= 1)


def _beyond(point: Any, corner: Any, normal: Any) -> Any:
    """Whether a point lies on the outer side of an opening, by more than a hair. [m]"""
    return dr.dot(point - corner, normal) > _HAIR


def between(corners: list[Any], u: Any, v: Any, direction: Any) -> Any:
    """Luminance from that of a cell's four corners; 0 below the horizon. [cd/m2]"""
    low, high = dr.lerp(corners[0], corners[1], u), dr.lerp(corners[2], corners[3], u)
    return dr.select(direction.z > 0, dr.lerp(low, high, v), 0.0)

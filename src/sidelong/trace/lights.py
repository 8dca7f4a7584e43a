"""Every light as a kernel: a sample of it seen from a point, and what a ray that meets it brings.

Lights count in lumens (or lumen seconds) without colour; their spectra come in at a path's end. None is a delta
light: the smallest ball and the sun have a size, so that meters and mirrors see them like any other.

Source
------
common practice: next-event estimation; shirley1996 (directions towards a sphere); iso15469 (sky)
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from sidelong.light.patterns import beam_exponent, grid_solid_angle
from sidelong.light.values import Emitter
from sidelong.trace.engine import load
from sidelong.trace.sensor import regular_polygon, scalar, vector
from sidelong.trace.skyfield import SkyTable
from sidelong.trace.stand_ins import CORNERS, Portal, corner_turn

mi, dr = load()

SUN_HALF_ANGLE = math.radians(0.2665)
_FAR = 1e5


@dataclass
class Seen:
    """A light seen along `direction` at `distance` [m]: `luminance` [cd/m2], `density` of the sampling [1/sr]."""

    direction: Any
    distance: Any
    luminance: Any
    density: Any


class Front:
    """A flat front, Lambertian or behind a grid, or the small disc of a beam."""

    def __init__(self, emitter: Emitter) -> None:
        axis, up = np.array(emitter.axis, float), np.array(emitter.up, float)
        axis /= np.linalg.norm(axis)
        up = up - axis * (up @ axis)
        up /= np.linalg.norm(up)
        shape: Literal["rectangle", "octagon", "disc"] = "disc" if emitter.pattern == "beam" else emitter.shape
        # a disc is sampled as one; only the body that paths meet has corners
        self.corners, scale = (0, 0.5) if shape == "disc" else CORNERS[shape]
        self.turn = corner_turn(shape)
        width, height = emitter.size
        across = np.cross(up, axis) * width * scale
        up = up * height * scale
        area = self._area(across, up)
        self.at, self.axis, self.across, self.up = (vector(x) for x in (emitter.at, axis, across, up))
        self.area = scalar(area)
        self.pattern = emitter.pattern
        self.grid = emitter.grid if emitter.pattern == "lambert" else None
        if self.grid is not None and self.grid >= math.pi:
            self.grid = None
        if self.pattern == "beam":
            n = beam_exponent(emitter.beam)
            self.exponent = scalar(n)
            self.strength = scalar(emitter.flux * (n + 1) / (2 * math.pi) / area)
        else:
            self.strength = scalar(emitter.flux / (area * grid_solid_angle(self.grid)))
            self.slope = scalar(0.0 if self.grid is None else 1 / math.tan(self.grid / 2))

    def _area(self, across: NDArray[np.float64], up: NDArray[np.float64]) -> float:
        n = self.corners
        unit = math.pi if n == 0 else 1.0 if n == 4 else n / 2 * math.sin(2 * math.pi / n)
        return float(np.linalg.norm(np.cross(across, up))) * unit

    def sample(self, point: Any, pair: Any) -> Seen:
        if self.corners == 0:
            on = mi.warp.square_to_uniform_disk_concentric(pair)
        else:
            on = pair - 0.5 if self.corners == 4 else regular_polygon(pair, self.corners, self.turn)
        way = self.at + self.across * on.x + self.up * on.y - point
        distance = dr.norm(way)
        return self.seen(way / distance, distance)

    def met(self, origin: Any, direction: Any, distance: Any) -> Seen:
        """What a ray that met the front brings from there, `distance` from the vertex before."""
        return self.seen(direction, distance)

    def seen(self, direction: Any, distance: Any) -> Seen:
        cosine = -dr.dot(direction, self.axis)
        lit = cosine > 1e-4
        safe = dr.maximum(cosine, 1e-4)
        if self.pattern == "beam":
            luminance = self.strength * dr.power(safe, self.exponent - 1.0)
        elif self.grid is not None:
            # the overlap of two circles a tube's depth apart, as in light.patterns.grid_transmission
            x = dr.clip(dr.safe_sqrt(1.0 - safe * safe) / safe * self.slope, 0.0, 1.0)
            luminance = self.strength * (2 / math.pi) * (dr.safe_acos(x) - x * dr.safe_sqrt(1.0 - x * x))
        else:
            luminance = self.strength
        density = distance * distance / (self.area * safe)
        return Seen(direction, distance, dr.select(lit, luminance, 0.0), dr.select(lit, density, 0.0))


class Ball:
    """A small ball that shines equally all round."""

    def __init__(self, emitter: Emitter) -> None:
        radius = emitter.size[0] / 2
        self.at, self.radius = vector(emitter.at), scalar(radius)
        self.strength = scalar(emitter.flux / (4 * math.pi**2 * radius**2))

    def sample(self, point: Any, pair: Any) -> Seen:
        way = self.at - point
        distance = dr.norm(way)
        sin2 = dr.minimum(dr.square(self.radius / distance), 0.9999)
        one_less = sin2 / (1.0 + dr.sqrt(1.0 - sin2))
        down = one_less * pair.x
        sine = dr.safe_sqrt(down * (2.0 - down))
        s, c = dr.sincos(dr.two_pi * pair.y)
        direction = mi.Frame3f(way / distance).to_world(mi.Vector3f(sine * c, sine * s, 1.0 - down))
        cosine = 1.0 - down
        reach = distance * cosine - dr.safe_sqrt(self.radius * self.radius - dr.square(distance) * sine * sine)
        # end before the ball's own faces, which stand out a little
        near = dr.minimum(reach, distance - self.radius * 1.1)
        return Seen(direction, near, self.strength, dr.rcp(dr.two_pi * one_less))

    def met(self, origin: Any, direction: Any, distance: Any) -> Seen:
        sin2 = dr.minimum(dr.square(self.radius) / dr.squared_norm(self.at - origin), 0.9999)
        one_less = sin2 / (1.0 + dr.sqrt(1.0 - sin2))
        return Seen(direction, distance, self.strength, dr.rcp(dr.two_pi * one_less))


class Sun:
    """A disc of even luminance, 0.2665 degrees in half-angle, at infinity."""

    def __init__(self, to_sun: NDArray[np.float64], normal_illuminance: float) -> None:
        self.to_sun = vector(to_sun / np.linalg.norm(to_sun))
        self.one_less = 2 * math.sin(SUN_HALF_ANGLE / 2) ** 2
        self.strength = scalar(normal_illuminance / (math.pi * math.sin(SUN_HALF_ANGLE) ** 2))
        self.density = 1 / (2 * math.pi * self.one_less)

    def sample(self, point: Any, pair: Any) -> Seen:
        down = self.one_less * pair.x
        sine = dr.safe_sqrt(down * (2.0 - down))
        s, c = dr.sincos(dr.two_pi * pair.y)
        direction = mi.Frame3f(self.to_sun).to_world(mi.Vector3f(sine * c, sine * s, 1.0 - down))
        return Seen(direction, mi.Float(_FAR), self.strength, mi.Float(self.density))

    def missed(self, origin: Any, direction: Any) -> Seen:
        # |d - s|^2 = 2 (1 - cos): precise where the cosine is not
        inside = 0.5 * dr.squared_norm(direction - self.to_sun) < self.one_less
        return Seen(
            direction, mi.Float(_FAR), dr.select(inside, self.strength, 0.0), dr.select(inside, self.density, 0.0)
        )


class SkyLight:
    """The sky, sampled through the openings of the rooms, or over the upper hemisphere where there are none."""

    def __init__(self, table: SkyTable, portals: tuple[Portal, ...]) -> None:
        self.size = table.luminance.shape
        self.table = mi.Float(table.luminance.astype(np.float32).ravel())
        self.portals = [
            (vector(p.corner), vector(p.across), vector(p.up), vector(p.normal), scalar(p.area)) for p in portals
        ]

    def luminance(self, direction: Any) -> Any:
        """[cd/m2] by bilinear interpolation over elevation and azimuth; 0 below the horizon."""
        rows, columns = self.size
        y = dr.asin(dr.clip(direction.z, 0.0, 1.0)) * ((rows - 1) / (0.5 * math.pi))
        x = (dr.atan2(direction.y, direction.x) + math.pi) * ((columns - 1) / (2 * math.pi))
        j, i = dr.minimum(mi.UInt32(y), rows - 2), dr.minimum(mi.UInt32(x), columns - 2)
        v, u = y - mi.Float(j), x - mi.Float(i)
        at = j * columns + i
        pick = lambda offset: dr.gather(mi.Float, self.table, at + offset)
        low = dr.lerp(pick(0), pick(1), u)
        high = dr.lerp(pick(columns), pick(columns + 1), u)
        return dr.select(direction.z > 0, dr.lerp(low, high, v), 0.0)

    def sample(self, point: Any, pair: Any) -> Seen:
        if not self.portals:
            direction = mi.warp.square_to_uniform_hemisphere(pair)
            return self._towards(point, direction)
        weights = [self._share(point, p) for p in self.portals]
        total = mi.Float(0.0)
        for w in weights:
            total += w
        # walk down the openings by their shares, and use what is left of the number again
        left, u = pair.x * total, mi.Float(0.0)
        target, found = mi.Point3f(0.0), mi.Bool(False)
        for w, (corner, across, up, _, _) in zip(weights, self.portals, strict=True):
            here = ~found & (left < w)
            u = dr.select(here, left / w, u)
            target = dr.select(here, mi.Point3f(corner + across * u + up * pair.y), target)
            left = dr.select(found | here, left, left - w)
            found |= here
        last = self.portals[-1]
        target = dr.select(found, target, mi.Point3f(last[0] + last[1] * 0.999 + last[2] * pair.y))
        return self._towards(point, dr.normalize(target - point))

    def missed(self, origin: Any, direction: Any) -> Seen:
        return self._towards(origin, direction)

    def _towards(self, point: Any, direction: Any) -> Seen:
        return Seen(direction, mi.Float(_FAR), self.luminance(direction), self._density(point, direction))

    def _share(self, point: Any, portal: tuple[Any, ...]) -> Any:
        """Roughly the solid angle of an opening seen from a point, never nothing."""
        corner, across, up, normal, area = portal
        way = corner + 0.5 * (across + up) - point
        d2 = dr.squared_norm(way)
        cosine = dr.abs(dr.dot(way, normal)) * dr.rsqrt(d2)
        return area * (cosine + 0.1) / (d2 + 0.25 * area)

    def _density(self, point: Any, direction: Any) -> Any:
        if not self.portals:
            return dr.select(direction.z > 0, dr.inv_two_pi, 0.0)
        density, total = mi.Float(0.0), mi.Float(0.0)
        for portal in self.portals:
            corner, across, up, normal, area = portal
            share = self._share(point, portal)
            total += share
            slope = dr.dot(direction, normal)
            t = dr.dot(corner - point, normal) / slope
            on = point + t * direction - corner
            a, b = dr.dot(on, across) / dr.squared_norm(across), dr.dot(on, up) / dr.squared_norm(up)
            through = (t > 0) & (a >= 0) & (a <= 1) & (b >= 0) & (b <= 1)
            density += dr.select(through, share * t * t / (area * dr.abs(slope)), 0.0)
        return density / total

"""Every light in one kernel: a sample of it seen from a point, and what a ray that meets it brings.

Lights count in lumens (or lumen seconds) without colour; their spectra come in at a path's end. None is a delta
light: the smallest ball and the sun have a size, so that meters and mirrors see them like any other. The lights of
a scene are rows of tables, so that kernels hold one piece of code for all of them and any number runs in the same.

Source
------
common practice: next-event estimation; shirley1996 (directions towards a sphere); iso15469 (sky)
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.light.distribution import HORIZONTALS, VERTICALS, regular_table
from sidelong.light.patterns import beam_exponent, forward_flux, front_area, grid_solid_angle, is_ball
from sidelong.light.values import Daylight, Emitter
from sidelong.trace.engine import column, load
from sidelong.trace.sensor import regular_polygon
from sidelong.trace.skydome import SkyDome
from sidelong.trace.skyfield import SkyTable
from sidelong.trace.stand_ins import OCTAGON_TURN, OCTAGON_UNIT, Portal

mi, dr = load()

SUN_HALF_ANGLE = math.radians(0.2665)
FAR = 1e5
SUN_ONE_LESS = 2 * math.sin(SUN_HALF_ANGLE / 2) ** 2
SUN_DENSITY = 1 / (2 * math.pi * SUN_ONE_LESS)
_RECTANGLE, _OCTAGON, _DISC, _BALL, _SUN, _SKY = range(6)
_FLAT = {"rectangle": _RECTANGLE, "octagon": _OCTAGON, "disc": _DISC}


@dataclass
class Seen:
    """A light seen along `direction` at `distance` [m]: `luminance` [cd/m2], `density` of the sampling [1/sr]."""

    direction: Any
    distance: Any
    luminance: Any
    density: Any

    def unless(self, condition: Any, other: Seen) -> Seen:
        """This, but the other where the condition holds."""
        return Seen(
            dr.select(condition, other.direction, self.direction),
            dr.select(condition, other.distance, self.distance),
            dr.select(condition, other.luminance, self.luminance),
            dr.select(condition, other.density, self.density),
        )


class Lights:
    """Rows: the emitters in their order, then the sun and the sky if there is daylight.

    `number` rows; `layers` of them are told apart: emitters of one name are one layer.
    """

    def __init__(
        self,
        emitters: tuple[Emitter, ...],
        daylight: Daylight | None,
        sky: SkyTable | None,
        portals: tuple[Portal, ...],
    ) -> None:
        tables = [regular_table(e.table) for e in emitters if e.table is not None]
        rows = [_emitter_row(e) for e in emitters]
        numbers = iter(range(len(tables)))
        for e, row in zip(emitters, rows, strict=True):
            row[_TABLE], row[_HOLE] = -1.0 if e.table is None else float(next(numbers)), e.hole
        self.table = mi.Float(np.concatenate(tables).astype(np.float32).ravel()) if tables else None
        self.bodies = len(rows)
        self.dome = None
        if daylight is not None and sky is not None:
            to_sun = np.array(daylight.to_sun) / np.linalg.norm(daylight.to_sun)
            rows += [_row(_SUN, axis=to_sun, strength=sun_luminance(daylight)), _row(_SKY)]
            self.dome = SkyDome(sky, portals)
        self.number = len(rows)
        self.count = dr.opaque(mi.UInt32, self.number)
        names = list(dict.fromkeys(e.name for e in emitters))
        layer = [names.index(e.name) for e in emitters] + [len(names) + k for k in range(len(rows) - len(emitters))]
        self.layers = layer[-1] + 1 if layer else 0
        self.layer = mi.UInt32(column(np.array(layer if layer else [0], np.uint32)))
        self.kinds = {int(r[0]) for r in rows}
        self.shaped = any(r[_EXPONENT] != 0 for r in rows)
        self.holed = any(r[_HOLE] != 0 for r in rows)
        self.gridded = any(r[_SLOPE] != 0 for r in rows)
        self.both = any(r[_BOTH] != 0 and int(r[0]) != _BALL for r in rows)
        self.around = any(r[_BOTH] != 0 and int(r[0]) == _BALL for r in rows)
        table = np.array(rows if rows else [_row(_RECTANGLE)], np.float32)
        self.columns = [mi.Float(np.ascontiguousarray(c)) for c in column(table).T]

    def sample(self, light: Any, point: Any, pair: Any) -> Seen:
        """A sample of lights numbered `light` (N,) seen from `point` by two random numbers `pair`."""
        kind = self._one(_KIND, light)
        axis, strength = self._three(_AXIS, light), self._one(_STRENGTH, light)
        seen = Seen(mi.Vector3f(0.0, 0.0, 1.0), mi.Float(FAR), mi.Float(0.0), mi.Float(0.0))
        if self.kinds & {_RECTANGLE, _OCTAGON, _DISC}:
            on = self._on_front(kind, pair, light)
            way = self._three(_AT, light) + self._three(_ACROSS, light) * on.x + self._three(_UP, light) * on.y
            way -= point
            distance = dr.norm(way)
            direction = way / distance
            luminance, density = self._front(light, axis, strength, direction, distance)
            seen = Seen(direction, distance, luminance, density)
        if self.kinds & {_BALL, _SUN}:
            away, distance, one_less = axis, mi.Float(FAR), mi.Float(SUN_ONE_LESS)
            radius = self._one(_SIZE, light)
            if _BALL in self.kinds:
                way = self._three(_AT, light) - point
                is_ball = kind == _BALL
                distance = dr.select(is_ball, dr.norm(way), distance)
                away = dr.select(is_ball, way / distance, axis)
                one_less = dr.select(is_ball, _one_less(radius / distance), one_less)
            down = one_less * pair.x
            sine = dr.safe_sqrt(down * (2.0 - down))
            s, c = dr.sincos(dr.two_pi * pair.y)
            direction = mi.Frame3f(away).to_world(mi.Vector3f(sine * c, sine * s, 1.0 - down))
            near = _reach(distance, 1.0 - down, radius)
            luminance = self._tabled(light, axis, direction, strength, strength)
            cone = Seen(direction, dr.select(kind == _SUN, FAR, near), luminance, dr.rcp(dr.two_pi * one_less))
            seen = seen.unless((kind == _BALL) | (kind == _SUN), cone)
            if self.around:
                seen = seen.unless(self._one(_BOTH, light) * (kind == _BALL) > 0, self._shell(light, point, pair))
        if self.dome is not None:
            direction = self.dome.draw(point, pair)
            open_sky = Seen(
                direction, mi.Float(FAR), self.dome.luminance(direction), self.dome.density(point, direction)
            )
            seen = seen.unless(kind == _SKY, open_sky)
        return seen

    def on_body(self, light: Any, pair: Any) -> Any:
        """Points of flat fronts numbered `light` (N,), even over each, by two random numbers `pair`. [m]"""
        on = self._on_front(self._one(_KIND, light), pair, light)
        return self._three(_AT, light) + self._three(_ACROSS, light) * on.x + self._three(_UP, light) * on.y

    def met(self, light: Any, origin: Any, direction: Any, distance: Any) -> tuple[Any, Any]:
        """Luminance of the body of a light that a ray from `origin` met, and the density of sampling it so."""
        axis, strength = self._three(_AXIS, light), self._one(_STRENGTH, light)
        luminance, density = self._front(light, axis, strength, direction, distance)
        if _BALL in self.kinds:
            is_ball = self._one(_KIND, light) == _BALL
            if self.around:
                wall = self._wall(light, origin, direction, distance)
                inside = is_ball & (self._one(_BOTH, light) > 0)
                luminance, density = dr.select(inside, strength, luminance), dr.select(inside, wall, density)
                is_ball &= ~inside
            one_less = _one_less(
                self._one(_SIZE, light) * dr.rsqrt(dr.squared_norm(self._three(_AT, light) - origin))
            )
            luminance = dr.select(is_ball, self._tabled(light, axis, direction, strength, strength), luminance)
            density = dr.select(is_ball, dr.rcp(dr.two_pi * one_less), density)
        return luminance, density

    def missed_sun(self, direction: Any) -> tuple[Any, Any]:
        """Luminance of the sun's disc along rays that met nothing, and the density of sampling it so."""
        sun = mi.UInt32(self.bodies)
        # |d - s|^2 = 2 (1 - cos): precise where the cosine is not
        inside = 0.5 * dr.squared_norm(direction - self._three(_AXIS, sun)) < SUN_ONE_LESS
        return dr.select(inside, self._one(_STRENGTH, sun), 0.0), dr.select(inside, mi.Float(SUN_DENSITY), 0.0)

    def along(self, light: Any, point: Any, direction: Any) -> Seen:
        """What lights numbered `light` (N,) bring from a direction, nothing standing in the way; 0 beside them."""
        kind = self._one(_KIND, light)
        strength = self._one(_STRENGTH, light)
        seen = Seen(direction, mi.Float(FAR), mi.Float(0.0), mi.Float(0.0))
        if self.kinds & {_RECTANGLE, _OCTAGON, _DISC}:
            axis = self._three(_AXIS, light)
            distance = dr.dot(self._three(_AT, light) - point, axis) / dr.dot(direction, axis)
            on = dr.fma(distance, direction, point) - self._three(_AT, light)
            across, up = self._three(_ACROSS, light), self._three(_UP, light)
            a, b = dr.dot(on, across) / dr.squared_norm(across), dr.dot(on, up) / dr.squared_norm(up)
            a, b = dr.abs(a), dr.abs(b)
            within = dr.maximum(a, b) <= 0.5
            within &= (kind != _DISC) | (a * a + b * b <= 0.25)
            if self.holed:
                within &= a * a + b * b >= 0.25 * dr.square(self._one(_HOLE, light))
            within &= (kind != _OCTAGON) | (a + b <= math.sqrt(0.5))
            within &= (kind != _BALL) & (distance > 0)
            luminance, density = self._front(light, axis, strength, direction, dr.select(within, distance, 1.0))
            seen = seen.unless(within, Seen(direction, distance, luminance, density))
        if _BALL in self.kinds:
            seen = seen.unless(kind == _BALL, self._ball_along(light, point, direction, strength))
        if self.dome is not None:
            open_sky = Seen(
                direction, mi.Float(FAR), self.dome.luminance(direction), self.dome.density(point, direction)
            )
            bright, chance = self.missed_sun(direction)
            sun = Seen(direction, mi.Float(FAR), bright, chance)
            seen = seen.unless(kind == _SKY, open_sky).unless(kind == _SUN, sun)
        return seen

    def _ball_along(self, light: Any, point: Any, direction: Any, strength: Any) -> Seen:
        radius, way = self._one(_SIZE, light), self._three(_AT, light) - point
        distance = dr.norm(way)
        cosine = dr.dot(direction, way) / distance
        # |d - w|^2 / 2 = 1 - cos: precise where the cosine is not
        off_axis = 0.5 * dr.squared_norm(direction - way / distance)
        one_less = _one_less(radius / distance)
        met = (off_axis < one_less) & (distance > radius)
        chance = dr.rcp(dr.two_pi * one_less)
        reach = _reach(distance, cosine, radius)
        if self.around:
            inside = self._one(_BOTH, light) > 0
            through = cosine * distance + dr.safe_sqrt(dr.square(cosine * distance) + radius**2 - distance**2)
            chance = dr.select(inside, self._wall(light, point, direction, through), chance)
            reach, met = dr.select(inside, through, reach), met | inside
        luminance = self._tabled(light, self._three(_AXIS, light), direction, strength, strength)
        return Seen(direction, reach, dr.select(met, luminance, 0.0), dr.select(met, chance, 0.0))

    def _shell(self, light: Any, point: Any, pair: Any) -> Seen:
        """A sample of the wall of a ball that shines inwards, even over its area."""
        way = self._three(_AT, light) + self._one(_SIZE, light) * mi.warp.square_to_uniform_sphere(pair) - point
        distance = dr.maximum(dr.norm(way), 1e-6)
        direction = way / distance
        return Seen(direction, distance, self._one(_STRENGTH, light), self._wall(light, point, direction, distance))

    def _wall(self, light: Any, point: Any, direction: Any, distance: Any) -> Any:
        """Density over directions of a point of that wall, seen from `point` at that distance. [1/sr]"""
        radius = self._one(_SIZE, light)
        outward = (dr.fma(distance, direction, point) - self._three(_AT, light)) / radius
        cosine = dr.maximum(dr.abs(dr.dot(outward, direction)), 1e-4)
        return dr.square(distance) / (4 * dr.pi * dr.square(radius) * cosine)

    def _on_front(self, kind: Any, pair: Any, light: Any) -> Any:
        on = pair - 0.5
        if _OCTAGON in self.kinds:
            on = dr.select(kind == _OCTAGON, regular_polygon(pair, 8, OCTAGON_TURN) * OCTAGON_UNIT, on)
        if _DISC in self.kinds:
            on = dr.select(kind == _DISC, mi.warp.square_to_uniform_disk_concentric(pair) * 0.5, on)
            if self.holed:
                # a ring: the disc's points moved outwards, even over it still
                inner = 0.25 * dr.square(self._one(_HOLE, light))
                here = dr.maximum(dr.squared_norm(on), 1e-12)
                on *= dr.select(inner > 0, dr.sqrt((inner + (1.0 - 4.0 * inner) * here) / here), 1.0)
        return on

    def _front(self, light: Any, axis: Any, strength: Any, direction: Any, distance: Any) -> tuple[Any, Any]:
        cosine = -dr.dot(direction, axis)
        if self.both:
            behind = self._one(_BOTH, light)
            strength = strength * dr.select((cosine < 0) & (behind > 0), behind, 1.0)
            cosine = dr.select(behind > 0, dr.abs(cosine), cosine)
        lit = cosine > 1e-4
        safe = dr.maximum(cosine, 1e-4)
        luminance = strength
        if self.shaped:
            luminance = luminance * dr.exp2(dr.log2(safe) * self._one(_EXPONENT, light))
        if self.gridded:
            # the overlap of two circles a tube's depth apart, as in light.patterns.grid_transmission
            x = dr.clip(dr.safe_sqrt(1.0 - safe * safe) / safe * self._one(_SLOPE, light), 0.0, 1.0)
            luminance = luminance * (2 / math.pi) * (dr.safe_acos(x) - x * dr.safe_sqrt(1.0 - x * x))
        luminance = self._tabled(light, axis, direction, strength / safe, luminance)
        density = distance * distance / (self._one(_SIZE, light) * safe)
        return dr.select(lit, luminance, 0.0), dr.select(lit, density, 0.0)

    def _tabled(self, light: Any, axis: Any, direction: Any, per_candela: Any, otherwise: Any) -> Any:
        """Luminance along rays that come along `direction` from a light with a table, `otherwise` that of others."""
        if self.table is None:
            return otherwise
        number = self._one(_TABLE, light)
        there = number >= 0
        up, across = dr.normalize(self._three(_UP, light)), dr.normalize(self._three(_ACROSS, light))
        height, right = -dr.dot(direction, up), dr.dot(direction, across)
        cosine = -dr.dot(direction, axis)
        vertical = dr.atan2(dr.sqrt(height * height + right * right), cosine) * ((VERTICALS - 1) / math.pi)
        turn = dr.atan2(height, right) * ((HORIZONTALS - 1) / (2 * math.pi))
        turn = dr.select(turn < 0, turn + (HORIZONTALS - 1), turn)
        j = dr.minimum(mi.UInt32(vertical), VERTICALS - 2)
        i = dr.minimum(mi.UInt32(turn), HORIZONTALS - 2)
        t, s = vertical - mi.Float(j), turn - mi.Float(i)
        first = (mi.UInt32(dr.maximum(number, 0.0)) * HORIZONTALS + i) * VERTICALS + j
        corner = [dr.gather(mi.Float, self.table, first + step, there) for step in (0, 1, VERTICALS, VERTICALS + 1)]
        low, high = dr.lerp(corner[0], corner[1], t), dr.lerp(corner[2], corner[3], t)
        return dr.select(there, per_candela * dr.lerp(low, high, s), otherwise)

    def _one(self, column: int, light: Any) -> Any:
        return dr.gather(mi.Float, self.columns[column], light)

    def _three(self, column: int, light: Any) -> Any:
        return mi.Vector3f(*(self._one(column + k, light) for k in range(3)))


def sun_luminance(daylight: Daylight) -> float:
    """Of the sun's disc. [cd/m2]"""
    return daylight.sun_normal / (math.pi * math.sin(SUN_HALF_ANGLE) ** 2)


_KIND, _AT, _AXIS, _ACROSS, _UP, _SIZE = 0, 1, 4, 7, 10, 13
_STRENGTH, _EXPONENT, _SLOPE, _BOTH, _TABLE, _HOLE = 14, 15, 16, 17, 18, 19
_ZERO = (0.0, 0.0, 0.0)


def _row(
    kind: int,
    at: NDArray[np.float64] | tuple[float, ...] = _ZERO,
    axis: NDArray[np.float64] | tuple[float, ...] = _ZERO,
    sides: tuple[NDArray[np.float64], NDArray[np.float64]] | None = None,
    size: float = 0.0,
    strength: float = 0.0,
    fall: tuple[float, float, float] = (0.0, 0.0, 0.0),
) -> list[float]:
    """`size` is a front's area [m2], a ball's radius [m]; `fall` = (exponent of the cosine, slope of a grid, what a
    front gives backwards over what it gives forwards, or 1 where a ball shines inwards). The last two number a
    light's table, -1 without one, and tell a disc's hole."""
    across, up = sides if sides is not None else (_ZERO, _ZERO)
    return [float(kind), *map(float, at), *axis, *across, *up, size, strength, *map(float, fall), -1.0, 0.0]


def _emitter_row(emitter: Emitter) -> list[float]:
    at, radius = np.array(emitter.at, float), emitter.size[0] / 2
    if emitter.pattern == "sphere":
        strength = emitter.flux / (4 * math.pi**2 * radius**2)
        return _row(_BALL, at, size=radius, strength=strength, fall=(0.0, 0.0, emitter.inward))
    axis, up = np.array(emitter.axis, float), np.array(emitter.up, float)
    axis /= np.linalg.norm(axis)
    up = up - axis * (up @ axis)
    up /= np.linalg.norm(up)
    sides = (np.cross(up, axis) * emitter.size[0], up * emitter.size[1])
    if emitter.pattern == "beam":
        n = beam_exponent(emitter.beam)
        area = math.pi / 4 * emitter.size[0] * emitter.size[1] * (1 - emitter.hole**2)
        strength = emitter.flux * (n + 1) / (2 * math.pi) / area
        return _row(_DISC, at, axis, sides, area, strength, (n - 1.0, 0.0, False))
    if is_ball(emitter):
        return _row(_BALL, at, axis, (np.cross(up, axis), up), radius, emitter.flux / (math.pi * radius**2))
    area = front_area(emitter)
    if emitter.table is not None:
        return _row(_FLAT[emitter.shape], at, axis, sides, area, emitter.flux / area)
    grid = emitter.grid if emitter.grid is not None and emitter.grid < math.pi else None
    slope = 0.0 if grid is None else 1 / math.tan(grid / 2)
    strength = forward_flux(emitter) / (area * grid_solid_angle(grid))
    behind = 1.0 if emitter.both else emitter.behind
    return _row(_FLAT[emitter.shape], at, axis, sides, area, strength, (0.0, slope, behind))


def _reach(distance: Any, cosine: Any, radius: Any) -> Any:
    """How far a ray goes to a ball's faces, which stand out a little: to a ball a fiftieth larger."""
    middle = distance * cosine
    return middle - dr.safe_sqrt(dr.square(1.02 * radius) - dr.maximum(dr.square(distance) - dr.square(middle), 0.0))


def _one_less(sine: Any) -> Any:
    """1 - cos of an angle from its sine, precise for small ones."""
    sin2 = dr.minimum(sine * sine, 0.9999)
    return sin2 / (1.0 + dr.sqrt(1.0 - sin2))

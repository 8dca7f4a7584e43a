"""Where a head that is turned at a surface lights it: points of its patch, which light the room like small fronts.

As with the sun's patches (sunpatch.py), a path finds the bright spot on a ceiling or a panel only by chance. Points
of it are found once, by following rays out of the head, and every vertex asks one of them. A point x was found from a
point y of the head; the same pair is found when a path comes to x and asks the head for y. Both ways draw y alike, so
that only the densities of x are weighed against each other; what a path finds by running from x into the head itself
is left to it by the weight that asking has there anyway.

Source
------
keller1997 (points that light a scene), veach1995 (multiple importance), kronecker1884 (evenly spread multiples)
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.light.patterns import axial_intensity, beam_exponent, is_ball, relative_intensity, table_intensity
from sidelong.light.values import Emitter
from sidelong.trace.engine import load
from sidelong.trace.hit import NOTHING, Hit
from sidelong.trace.lights import Seen
from sidelong.trace.sensor import scalar, vector
from sidelong.trace.surfaces import WIDENED

mi, dr = load()

POINTS = 16384
"""Rays that are followed out of a head."""
_NARROWEST = math.radians(4.0)
"""Beam under which a table's narrower one is sampled as one of this. [rad]"""


class HeadPatches:
    """Points on surfaces that one head reaches; `count` 0 where it reaches none. `light` is the head's row, `layer`
    its layer."""

    def __init__(self, world: Any, emitter: Emitter, light: int, layer: int) -> None:
        self.light, self.layer, self.ball = light, layer, is_ball(emitter)
        self.row = dr.opaque(mi.UInt32, light)
        self.axis = vector(np.asarray(emitter.axis, float))
        self.at, self.radius = vector(emitter.at), scalar(emitter.size[0] / 2)
        self.exponent = scalar(_exponent(emitter))
        self.count = 0
        self._follow(world)
        if self.count:
            self.scale = scalar(POINTS / self.count)
            self.number = dr.opaque(mi.UInt32, self.count)

    def _follow(self, world: Any) -> None:
        u = [mi.Float(column.astype(np.float32)) for column in _spread(POINTS).T]
        on, way = mi.Point2f(u[0], u[1]), mi.Point2f(u[2], u[3])
        start, ray = map(mi.Vector3f, self._out(world, on, way))
        generator = mi.PCG32(size=POINTS, initstate=20260412)
        hit = world.fall(start, ray, generator, mi.Bool(True))
        kept = dr.compress(hit.valid & (hit.light == NOTHING))
        self.count = dr.width(kept)
        if not self.count:
            return
        self.hit = hit.taken(kept)
        start = dr.gather(mi.Vector3f, start, kept)
        back = start - mi.Vector3f(self.hit.point)
        self.reach = dr.norm(back)
        self.ray = back / self.reach
        luminance, self.chosen = world.lights.met(self.row, self.hit.point, self.ray, self.reach)
        lit = (luminance > 0) & (self.chosen > 0)
        free = world.unblocked(self.hit.point + self.ray * 1e-3, self.ray, self.reach * 0.999 - 2e-3)
        free *= world.clearness(self.hit.point, self.ray, self.reach)
        self.free = dr.select(lit, free, 0.0)
        self.illuminance = dr.select(lit, luminance / self.chosen, 0.0)
        self.chance = self._chance(self.hit.point, self.ray, self.reach)
        dr.eval(self.hit, self.ray, self.reach, self.chosen, self.free, self.illuminance, self.chance)

    def _out(self, world: Any, on: Any, way: Any) -> tuple[Any, Any]:
        """Rays out of the head: points of its body, and directions by a cosine's power, from a ball all round."""
        if self.ball:
            normal = mi.warp.square_to_uniform_sphere(on)
            local = mi.warp.square_to_cosine_hemisphere(way)
            return self.at + normal * self.radius * 1.03, mi.Frame3f(normal).to_world(local)
        cosine = dr.power(1.0 - way.x, 1.0 / (self.exponent + 1.0))
        sine = dr.safe_sqrt(1.0 - cosine * cosine)
        s, c = dr.sincos(dr.two_pi * way.y)
        ray = mi.Frame3f(self.axis).to_world(mi.Vector3f(sine * c, sine * s, cosine))
        return world.lights.on_body(self.row, on) + self.axis * 1e-4, ray

    def _chance(self, point: Any, ray: Any, reach: Any) -> Any:
        """Density over area, for a surface square to the ray, with which rays out of the head come to a point,
        given the point of the head that it sees along `ray` at `reach`. [1/m2]"""
        if self.ball:
            away = dr.maximum(dr.squared_norm(self.at - point), 1e-8)
            sin2 = dr.minimum(dr.square(self.radius) / away, 0.9999)
            return sin2 / (1.0 + dr.sqrt(1.0 - sin2)) / (dr.two_pi * dr.square(self.radius))
        cosine = dr.maximum(-dr.dot(ray, self.axis), 1e-4)
        return (self.exponent + 1.0) * dr.inv_two_pi * dr.exp2(dr.log2(cosine) * self.exponent) / dr.square(reach)

    def sample(self, world: Any, where: Any, number: Any, rows: list[Any]) -> tuple[Seen, Any]:
        """One of the points, by a random number, seen from `where` as a light, and the colour it is seen in."""
        row = dr.minimum(mi.UInt32(number * mi.Float(self.number)), self.number - 1)
        hit, ray = self.hit.taken(row), dr.gather(mi.Vector3f, self.ray, row)
        reach = dr.gather(mi.Float, self.reach, row)
        way = hit.point - where
        distance = dr.norm(way)
        direction = way / distance
        surface = world.surface(hit, -direction, rows, mi.Float(WIDENED), mi.Bool(True), grain=False)
        colour, turned = surface.answer(ray)
        if world.finishes.tinted:
            colour *= world.tint_along(hit.point + ray * 1e-3, ray, reach * 0.999 - 2e-3, rows, mi.Bool(True))
        chosen, free = dr.gather(mi.Float, self.chosen, row), dr.gather(mi.Float, self.free, row)
        # the rest is found by paths that run from the point into the head
        colour *= dr.select(chosen > 0, dr.rcp(1.0 + dr.square(turned / chosen)), 0.0)
        luminance = dr.gather(mi.Float, self.illuminance, row) * free
        chance = dr.gather(mi.Float, self.chance, row) * self.scale * free
        return Seen(direction, distance, luminance, _over_directions(chance, hit, ray, direction, distance)), colour

    def density(self, hit: Hit, before: Any, seen: Seen, passed: Any) -> Any:
        """Density over directions from `before` with which `sample` finds a hit, the head being seen from there as
        it is and let through in that part. [1/sr]"""
        way = hit.point - before
        distance = dr.norm(way)
        chance = self._chance(hit.point, seen.direction, seen.distance) * self.scale * passed
        return _over_directions(chance, hit, seen.direction, way / distance, distance)


def head_patches(world: Any) -> list[HeadPatches]:
    """The patches of every head of the world that is turned at a surface."""
    if not any(e.bounced for e in world.scene.emitters):
        return []
    layers = list(dict.fromkeys(e.name for e in world.scene.emitters))
    found = [HeadPatches(world, e, k, layers.index(e.name)) for k, e in enumerate(world.scene.emitters) if e.bounced]
    return [patches for patches in found if patches.count]


def _over_directions(chance: Any, hit: Hit, ray: Any, direction: Any, distance: Any) -> Any:
    cos_ray, cos_here = dr.abs(dr.dot(hit.geometric, ray)), dr.abs(dr.dot(hit.geometric, direction))
    return chance * cos_ray * dr.square(distance) / dr.maximum(cos_here, 1e-5)


def _spread(count: int) -> NDArray[np.float64]:
    """Points (count, 4) spread evenly over the unit cube of four dimensions: multiples of irrational steps."""
    root = 1.16730397826141868  # of x^5 = x + 1
    steps = root ** -np.arange(1.0, 5.0)
    return np.asarray((0.5 + np.outer(np.arange(1, count + 1), steps)) % 1.0)


def _exponent(emitter: Emitter) -> float:
    """Power of the cosine by which directions out of a front are drawn: its own, or that which halves where it
    does. [-]"""
    if emitter.pattern == "beam":
        return beam_exponent(emitter.beam)
    if emitter.pattern == "sphere" or is_ball(emitter):
        return 1.0
    angles = np.radians(np.arange(1.0, 89.0, 0.5))
    if emitter.pattern == "table":
        axis, up = np.asarray(emitter.axis), np.asarray(emitter.up)
        ways = np.cos(angles)[:, None] * axis + np.sin(angles)[:, None] * up
        relative = table_intensity(emitter, ways) / max(axial_intensity(emitter), 1e-12)
    else:
        relative = relative_intensity(emitter, np.cos(angles))
    below = angles[relative < 0.5]
    return beam_exponent(max(2 * float(below[0]), _NARROWEST)) if len(below) else 1.0

"""Where the sun falls into a room: points of its patches, which light the room like small fronts.

A path finds a patch of sun on a floor only by chance, and then it counts for much: the noisiest light there is. So
points of the patches are found once, by following the sun's rays in through the openings, and every vertex of every
path asks one of them. The chance of finding the same point either way is known, so the two ways are weighed against
each other like any others.

Source
------
keller1997 (points that light a scene), veach1995 (multiple importance)
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sidelong.trace.engine import load
from sidelong.trace.hit import NOTHING, Hit
from sidelong.trace.lights import FAR, SUN_ONE_LESS, Seen
from sidelong.trace.sensor import scalar, vector
from sidelong.trace.skydome import crossing, edges
from sidelong.trace.stand_ins import Portal
from sidelong.trace.surfaces import WIDENED

mi, dr = load()

POINTS = 8192
"""Rays of the sun that are followed."""
FACING = 1e-3
"""Least cosine between an opening's normal and the sun for light to come in. [-]"""


class SunPatches:
    """Points on surfaces that the sun reaches through the openings; `count` 0 where it reaches none.

    `chance` (and `per_area`, a plain number): density of the points over area for a surface square to the sun. [1/m2]
    """

    def __init__(self, world: Any, portals: tuple[Portal, ...], to_sun: Any, normal_illuminance: float) -> None:
        facing = [p for p in portals if float(p.normal @ to_sun) > FACING]
        sizes = np.array([p.area * float(p.normal @ to_sun) for p in facing])
        self.openings = [edges(p) for p in facing]
        self.count = 0
        if facing:
            self._follow(world, to_sun, sizes / sizes.sum())
        if self.count:
            self.per_area = POINTS / (self.count * float(sizes.sum()))
            self.chance = scalar(self.per_area)
            self.illuminance = scalar(normal_illuminance)
            self.number = dr.opaque(mi.UInt32, self.count)

    def _follow(self, world: Any, to_sun: Any, shares: Any) -> None:
        index = dr.arange(mi.UInt32, POINTS)
        pair = mi.Point2f(mi.radical_inverse_2(index, 0x1B3F), mi.sobol_2(index, 0x77A1))
        start = mi.Point3f(0.0)
        low = 0.0
        for (corner, across, up, _), share in zip(self.openings, shares, strict=True):
            # opaque, so that another hour's sun compiles nothing anew
            u = (pair.x - scalar(low)) / scalar(share)
            start = dr.select((u >= 0) & (u < 1), mi.Point3f(corner + across * u + up * pair.y), start)
            low += share
        generator = mi.PCG32(size=POINTS, initstate=20260311)
        down = SUN_ONE_LESS * generator.next_float32()
        sine = dr.safe_sqrt(down * (2.0 - down))
        s, c = dr.sincos(dr.two_pi * generator.next_float32())
        ray = mi.Frame3f(vector(to_sun)).to_world(mi.Vector3f(sine * c, sine * s, 1.0 - down))
        passed = generator.next_float32() < world.unblocked(start, ray, mi.Float(FAR))
        hit = world.fall(start, -ray, generator, passed)
        kept = dr.compress(passed & hit.valid & (hit.light == NOTHING))
        self.count = dr.width(kept)
        if not self.count:
            return
        self.hit = hit.taken(kept)
        self.ray = dr.gather(mi.Vector3f, ray, kept)
        self.clear = world.clearness(self.hit.point, self.ray, mi.Float(FAR))
        dr.eval(self.hit, self.ray, self.clear)

    def sample(self, world: Any, where: Any, number: Any, rows: list[Any]) -> tuple[Seen, Any]:
        """One of the points, by a random number, seen from `where` as a light, and the colour it is seen in."""
        row = dr.minimum(mi.UInt32(number * mi.Float(self.number)), self.number - 1)
        points = self.hit, self.ray, self.clear
        return seen_point(world, points, row, where, rows, (self.illuminance, self.chance))

    def density(self, hit: Hit, before: Any, to_sun: Any, passed: Any) -> Any:
        """Density over directions from `before` with which `sample` finds a hit, the sun being along `to_sun` and
        let through in that part. [1/sr]"""
        way = hit.point - before
        distance = dr.norm(way)
        inside = in_openings(self.openings, hit.point, to_sun)
        found = over_directions(self.chance, hit, to_sun, way / distance, distance)
        return dr.select(inside, passed * found, 0.0)


def seen_point(
    world: Any, points: tuple[Hit, Any, Any], row: Any, where: Any, rows: list[Any], sun: tuple[Any, Any]
) -> tuple[Seen, Any]:
    """A row of `points` (hits, rays to the sun, what the haze lets through) seen from `where` as a light, and the
    colour it is seen in; `sun` its illuminance [lx] and the chance of its points [1/m2]."""
    hit, ray = points[0].taken(row), dr.gather(mi.Vector3f, points[1], row)
    way = hit.point - where
    distance = dr.norm(way)
    direction = way / distance
    surface = world.surface(hit, -direction, rows, mi.Float(WIDENED), mi.Bool(True), grain=False)
    colour, _ = surface.answer(ray)
    if world.finishes.tinted:
        colour *= world.tint_along(hit.point + ray * 1e-3, ray, mi.Float(FAR), rows, mi.Bool(True))
    luminance = sun[0] * dr.gather(mi.Float, points[2], row)
    return Seen(direction, distance, luminance, over_directions(sun[1], hit, ray, direction, distance)), colour


def in_openings(openings: list[tuple[Any, Any, Any, Any]], point: Any, to_sun: Any, middle: Any = None) -> Any:
    """Whether a ray from `point` to the sun goes out by an opening (corner, two sides, normal outwards), of those
    that face the sun's `middle` where that is given."""
    inside = mi.Bool(False)
    for opening in openings:
        _, through = crossing(opening, point, to_sun)
        inside |= through if middle is None else through & (dr.dot(middle, opening[3]) > FACING)
    return inside


def over_directions(chance: Any, hit: Hit, to_sun: Any, direction: Any, distance: Any) -> Any:
    """A chance over area, square to the sun, as one over directions from a distance. [1/sr]"""
    cos_sun, cos_here = dr.abs(dr.dot(hit.geometric, to_sun)), dr.abs(dr.dot(hit.geometric, direction))
    return chance * cos_sun * dr.square(distance) / dr.maximum(cos_here, 1e-5)

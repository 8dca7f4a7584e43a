"""Light paths from the camera or a meter, all lights in one pass, each into a layer of its own.

At every vertex every light is asked for directly and the path goes on by the surface (or the haze); both ways of
finding a light are weighed by the power heuristic. Straight-through surfaces (panes, nets) are holes of that
probability for a path and a factor for a shadow ray. Haze is homogeneous inside a box, its free flight in closed
form. Paths end by Russian roulette.

Source
------
veach1995 (multiple importance), henyey_greenstein1941, arvo_kirk1990 (roulette)
"""

from __future__ import annotations

from typing import Any

from sidelong.trace.engine import load
from sidelong.trace.surfaces import WIDENED
from sidelong.trace.world import MARGIN, NOTHING, off

mi, dr = load()

HOLES = 12
"""Straight-through surfaces that a shadow ray may cross before it counts as stopped."""
ROULETTE = 3
_SURFACE_DIMENSION = 8
_LIGHT_DIMENSION = 16


class Start:
    """Where paths begin: rays (place frame), the four rows of the wavelength grid, whom not to see (NOTHING: see
    all), and whether a light met by the first ray counts.

    Not a dataclass: the compiler would take one for a variable of its loops.
    """

    def __init__(self, origin: Any, direction: Any, rows: list[Any], skip: Any, lights_seen: bool) -> None:
        self.origin, self.direction, self.rows = origin, direction, rows
        self.skip, self.lights_seen = skip, lights_seen


def power_heuristic(one: Any, other: Any) -> Any:
    """Weight of the way of sampling with density `one` against `other`."""
    return dr.select(one > 0, dr.rcp(1.0 + dr.square(other / one)), 0.0)


def phase(cosine: Any, g: Any) -> Any:
    """Henyey-Greenstein density over directions that turn by the angle of that cosine. [1/sr]"""
    base = 1.0 + g * g - 2.0 * g * cosine
    return (1.0 - g * g) / (4.0 * dr.pi * base * dr.sqrt(base))


def phase_draw(forward: Any, pair: Any, g: Any) -> Any:
    """A direction drawn with `phase`'s density."""
    s = (1.0 - g * g) / (1.0 - g + 2.0 * g * pair.x)
    cosine = dr.clip((1.0 + g * g - s * s) / (2.0 * g), -1.0, 1.0)
    sine = dr.safe_sqrt(1.0 - cosine * cosine)
    sin_turn, cos_turn = dr.sincos(dr.two_pi * pair.y)
    return mi.Frame3f(forward).to_world(mi.Vector3f(sine * cos_turn, sine * sin_turn, cosine))


@dr.syntax  # type: ignore[untyped-decorator]
def unblocked(world: Any, origin: Any, direction: Any, distance: Any, skip: Any, skipping: bool, active: Any) -> Any:
    """Fraction of light that comes straight along shadow rays of length `distance`: 0 or 1, less through panes."""
    if dr.hint(not (world.finishes.porous or skipping), mode="scalar"):
        ray = mi.Ray3f(mi.Point3f(origin), mi.Vector3f(direction))
        ray.maxt = distance
        return dr.select(active & ~world.caster.ray_test(ray, False, active), 1.0, 0.0)
    through = dr.select(active, mi.Float(1.0), 0.0)
    start = mi.Point3f(origin)
    left = mi.Float(distance)
    going = mi.Bool(active)
    count = mi.UInt32(0)
    while dr.hint(going, max_iterations=-1, label="holes"):
        met, far, share = world.hole(start, direction, left, skip, going)
        through = dr.select(met, through * share, through)
        step = far + (1.0 + dr.max(dr.abs(start))) * MARGIN
        start = dr.select(met, start + direction * step, start)
        left = dr.select(met, left - step, left)
        count += 1
        going = met & (through > 0) & (left > 0)
        through = dr.select(going & (count >= HOLES), 0.0, through)
        going &= count < HOLES
    return through


@dr.syntax  # type: ignore[untyped-decorator]
def trace(world: Any, start: Any, draws: Any, max_depth: Any, skipping: bool, active: Any) -> Any:
    """Follow paths from a Start with its Draws, `max_depth` vertices at most.

    Gives a spectrum per light (at the four wavelengths, of light of unit luminance), the first surface's reflectance
    and normal, and whether there was one.
    """
    number, bodies = world.lights.number, world.lights.bodies
    layers = [mi.Spectrum(0.0) for _ in range(number)]
    generator = draws.generator
    origin, direction = mi.Point3f(start.origin), mi.Vector3f(start.direction)
    beta = mi.Spectrum(1.0)
    albedo, first_normal = mi.Spectrum(0.0), mi.Normal3f(0.0)
    met = mi.Bool(False)
    before = mi.Point3f(origin)
    density = mi.Float(0.0)
    sure = mi.Bool(start.lights_seen)
    blind = mi.Bool(not start.lights_seen)
    depth = mi.UInt32(0)
    steps = mi.UInt32(0)
    active = mi.Bool(active)

    while dr.hint(active, max_iterations=-1, label="path"):
        hit = world.meet(origin, direction, active)
        first = depth == 0

        # the haze may catch the path before the surface
        caught = mi.Bool(False)
        where = mi.Point3f(hit.point)
        if dr.hint(world.hazy, mode="scalar"):
            near, far = world.in_haze(origin, direction, hit.distance)
            flight = near - dr.log(1.0 - generator.next_float32(active)) / world.extinction
            caught = active & (flight < far)
            where = dr.select(caught, origin + direction * flight, where)
            beta = dr.select(caught, beta * world.albedo, beta)
        arrived = active & hit.valid & ~caught

        # a hole: go on as if nothing were there
        straight = mi.Bool(False)
        if dr.hint(world.finishes.porous or skipping, mode="scalar"):
            share = world.passes(hit, start.skip)
            straight = arrived & (generator.next_float32(arrived) < share) & (share > 0)
        arrived &= ~straight

        # a light met by the path itself
        lit = arrived & (hit.light != NOTHING)
        if dr.hint(bodies > 0, mode="scalar"):
            row = dr.select(lit, hit.light, 0)
            bright, chance = world.lights.met(row, before, direction, dr.norm(hit.point - before))
            weight = dr.select(sure, 1.0, power_heuristic(density, chance))
            weight = dr.select(lit & ~blind, weight * bright, 0.0)
            for k in range(bodies):
                layers[k] += dr.select(row == k, beta * weight, 0.0)
        lost = active & ~hit.valid & ~caught & ~blind
        if dr.hint(world.lights.dome is not None, mode="scalar"):
            bright, chance = world.lights.missed_sun(direction)
            weight = dr.select(sure, 1.0, power_heuristic(density, chance))
            layers[bodies] += dr.select(lost, beta * (bright * weight), 0.0)
            chance = world.lights.dome.density(before, direction)
            weight = dr.select(sure, 1.0, power_heuristic(density, chance))
            layers[bodies + 1] += dr.select(lost, beta * (world.lights.dome.luminance(direction) * weight), 0.0)

        surface = world.surface(hit, -direction, start.rows, dr.select(first, 0.0, WIDENED), arrived)
        albedo = dr.select(arrived & first, surface.reflectance, albedo)
        first_normal = dr.select(arrived & first, surface.normal, first_normal)
        met |= arrived & first
        asked = (arrived & ~lit) | caught
        asked &= depth + 1 < max_depth

        # every light, asked for directly
        light = mi.UInt32(0)
        asking = mi.Bool(asked)
        while dr.hint(asking & (light < number), max_iterations=-1, label="lights"):
            pair = mi.Point2f(generator.next_float32(asking), generator.next_float32(asking))
            pair = dr.select(first, draws.pair(light + _LIGHT_DIMENSION), pair)
            seen = world.lights.sample(light, where, pair)
            answer, reverse = surface.answer(seen.direction)
            from_here = off(where, surface.geometric, seen.direction)
            if dr.hint(world.hazy, mode="scalar"):
                scattered = phase(dr.dot(direction, seen.direction), world.g)
                answer = dr.select(caught, mi.Spectrum(scattered), answer)
                reverse = dr.select(caught, scattered, reverse)
                from_here = dr.select(caught, where, from_here)
            worth = asking & (seen.density > 0) & (seen.luminance > 0) & (dr.max(answer) > 0)
            reach = seen.distance * (1.0 - 2e-4) - 2e-4
            clear = unblocked(world, from_here, seen.direction, reach, start.skip, skipping, worth)
            clear *= world.clearness(where, seen.direction, seen.distance)
            gain = seen.luminance / seen.density * power_heuristic(seen.density, reverse) * clear
            gain = dr.select(worth & (clear > 0), gain, 0.0)
            for k in range(number):
                layers[k] += dr.select(light == k, beta * answer * gain, 0.0)
            light += 1

        # and on
        pair = mi.Point2f(generator.next_float32(asked), generator.next_float32(asked))
        pair = dr.select(first, draws.pair(_SURFACE_DIMENSION), pair)
        out = surface.draw(generator.next_float32(asked), pair)
        answer, reverse = surface.answer(out)
        factor = dr.select(reverse > 0, answer / reverse, 0.0)
        going = asked
        leaving = off(where, surface.geometric, out)
        if dr.hint(world.hazy, mode="scalar"):
            turned = phase_draw(direction, pair, world.g)
            chance = phase(dr.dot(direction, turned), world.g)
            out = dr.select(caught, turned, out)
            reverse = dr.select(caught, chance, reverse)
            factor = dr.select(caught, mi.Spectrum(1.0), factor)
            leaving = dr.select(caught, where, leaving)
        beta = dr.select(going, beta * factor, beta)
        before = dr.select(going, where, before)
        density = dr.select(going, reverse, density)
        sure &= ~going
        blind &= ~going
        origin = dr.select(going, leaving, dr.select(straight, off(hit.point, hit.geometric, direction), origin))
        direction = dr.select(going, out, direction)
        depth = dr.select(going, depth + 1, depth)
        steps += 1

        strength = dr.minimum(dr.max(beta), 0.95)
        tested = going & (depth >= ROULETTE)
        kept = generator.next_float32(tested) < strength
        beta = dr.select(tested, beta / strength, beta)
        active = (going & (~tested | kept) & (strength > 0)) | straight
        active &= steps < 256

    return layers, albedo, first_normal, met

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

from dataclasses import dataclass
from typing import Any

from sidelong.trace.draws import Draws
from sidelong.trace.engine import load
from sidelong.trace.haze import phase, phase_draw
from sidelong.trace.hit import NOTHING, Hit
from sidelong.trace.lights import Seen
from sidelong.trace.surfaces import WIDENED, Surface
from sidelong.trace.world import World, off

mi, dr = load()

ROULETTE = 3
OUT_FIRST, OUT_SECOND, OUT_LATER = 0.2, 0.1, 0.03
"""Of guided paths, how many are sent out through an opening by the meter and the first surface each, by the second,
by each later one: all the others then count for more, and once too often that is noise of its own. [-]"""
LONGEST = 256
"""Steps, holes included, after which a path is dropped."""
CAUGHT, MORE_CAUGHT = 0.1, 4.0
"""How many of a reading's paths the haze catches on their way from the meter, where by itself it would catch fewer,
and how many times as often at most: what scatters in a beam of the sun is rare and bright. [-]"""
_HAZE_DIMENSION = 7
_SURFACE_DIMENSION = 8
PATCH_DIMENSION = 9
_HEAD_PATCH_DIMENSION = 10
LIGHT_DIMENSION = 16


@dataclass
class Path:
    """Where N paths are and what they have brought.

    `layers`: a spectrum per light, at the four wavelengths, of light of unit luminance; `before`: the last vertex,
    left with `density` [1/sr]; `sure`: nothing but the path itself can find a light; `blind`: a light met now has
    been counted elsewhere; `albedo`, `normal`: of the first surface, if any was `met`.
    """

    origin: Any
    direction: Any
    beta: Any
    layers: list[Any]
    before: Any
    density: Any
    sure: Any
    blind: Any
    depth: Any
    steps: Any
    albedo: Any
    normal: Any
    met: Any
    active: Any


@dataclass
class Vertex:
    """What a step has come to: a surface that was `hit`, or a point `where` the haze has `caught` the path."""

    hit: Hit
    where: Any
    caught: Any
    surface: Surface
    asked: Any


class Tracer:
    """Follows paths through a world.

    `rows` are the four rows of the wavelength grid; `skip` (N,) the person whom a path does not see (NOTHING: sees
    all), None where every path sees all; `max_depth` vertices of a path at most. Roulette spares paths that still
    carry `spared` of what they began with: 1 spares none, less makes longer paths that vary less, as readings want
    them; those are guided too: sent out through an opening of the rooms now and then, so that what is lit out there,
    or glows in the opening, is found. `widened_first`, one or (N,): how wide microfacets are at least on the first
    surface that a path meets: 0 for what is looked at, WIDENED for paths that begin at a point that is lit.
    """

    def __init__(
        self,
        world: World,
        draws: Draws,
        rows: list[Any],
        max_depth: int,
        skip: Any = None,
        spared: float = 1.0,
        widened_first: Any = 0.0,
    ) -> None:
        self.world, self.draws, self.rows = world, draws, rows
        self.skip, self.skipping = mi.UInt32(NOTHING) if skip is None else skip, skip is not None
        self.max_depth = dr.opaque(mi.UInt32, max_depth)
        self.spared = dr.opaque(mi.Float, spared)
        self.surest = dr.opaque(mi.Float, 0.95 if spared >= 1.0 else 1.0)
        self.longest = dr.opaque(mi.UInt32, LONGEST if spared >= 1.0 else 8 * LONGEST)
        self.spared_less = spared < 1.0
        self.widened_first = mi.Float(widened_first)
        self.openings: Any = world.openings if self.spared_less else None
        self.holes = world.finishes.porous or self.skipping

    @dr.syntax  # type: ignore[untyped-decorator]
    def follow(self, origin: Any, direction: Any, active: Any, blind_density: Any = None) -> Path:
        """Follow paths to their ends. `blind_density` (N,): the rays were drawn with that density [1/sr], and lights
        that they meet at once do not count."""
        path = self._begun(origin, direction, active, blind_density)
        generator = self.draws.generator
        while dr.hint(path.active, max_iterations=-1, label="path"):
            path, generator = self._step(path, generator)
        return path

    def _begun(self, origin: Any, direction: Any, active: Any, blind_density: Any) -> Path:
        blind = blind_density is not None
        return Path(
            origin=mi.Point3f(origin),
            direction=mi.Vector3f(direction),
            beta=mi.Spectrum(1.0),
            layers=[mi.Spectrum(0.0) for _ in range(self.world.lights.layers)],
            before=mi.Point3f(origin),
            density=mi.Float(blind_density) if blind else mi.Float(0.0),
            sure=mi.Bool(not blind),
            blind=mi.Bool(blind),
            depth=mi.UInt32(0),
            steps=mi.UInt32(0),
            albedo=mi.Spectrum(0.0),
            normal=mi.Normal3f(0.0),
            met=mi.Bool(False),
            active=mi.Bool(active),
        )

    def _step(self, path: Path, generator: Any) -> tuple[Path, Any]:
        hit = self.world.meet(path.origin, path.direction, path.active)
        where, caught, generator = self._flight(path, hit, generator)
        arrived = path.active & hit.valid & ~caught
        straight, mirrored = mi.Bool(False), mi.Bool(False)
        if self.holes:
            # a hole: go on as if nothing were there
            share, back = self.world.passes(hit, path.direction, self.skip)
            chance = generator.next_float32(arrived)
            straight = arrived & (chance < share)
            mirrored = arrived & ~straight & (chance < share + back)
            arrived &= ~straight & ~mirrored
            if self.world.finishes.tinted:
                tint = self.world.finishes.tint_at(hit.finish, self.rows, straight)
                path.beta = dr.select(straight, path.beta * tint, path.beta)
        lit = arrived & (hit.light != NOTHING)
        self._lights_met(path, hit, lit, path.active & ~hit.valid & ~caught)
        first = path.depth == 0
        widen = dr.select(first, self.widened_first, WIDENED)
        surface = self.world.surface(hit, -path.direction, self.rows, widen, arrived)
        path.albedo = dr.select(arrived & first, surface.reflectance, path.albedo)
        path.normal = dr.select(arrived & first, surface.normal, path.normal)
        path.met |= arrived & first
        # most lights' bodies are black and end the path
        answers = ~lit | (surface.mean + surface.through > 0)
        asked = ((arrived & answers) | caught) & (path.depth + 1 < self.max_depth)
        vertex = Vertex(hit, where, caught, surface, asked)
        path.layers, generator = self._ask(path, vertex, generator)
        self._go_on(path, vertex, straight, generator)
        if self.world.finishes.glazed:
            self._mirror(path, hit, mirrored)
        return path, generator

    def _flight(self, path: Path, hit: Hit, generator: Any) -> tuple[Any, Any, Any]:
        """Where the next vertex is, and whether the haze catches the path before the surface."""
        if not self.world.hazy:
            return mi.Point3f(hit.point), mi.Bool(False), generator
        near, far = self.world.in_haze(path.origin, path.direction, hit.distance)
        number = generator.next_float32(path.active)
        if self.world.puffs is None and self.spared_less:
            return self._forced_flight(path, hit, (near, far), number, generator)
        flight = near - dr.log(1.0 - number) / self.world.extinction
        if self.world.puffs is not None:
            flight, generator = self.world.puffs.flight(path.origin, path.direction, near, flight, generator)
        caught = path.active & (flight < far)
        path.beta = dr.select(caught, path.beta * self.world.albedo, path.beta)
        return dr.select(caught, path.origin + path.direction * flight, mi.Point3f(hit.point)), caught, generator

    def _forced_flight(
        self, path: Path, hit: Hit, span: tuple[Any, Any], number: Any, generator: Any
    ) -> tuple[Any, Any, Any]:
        """A flight that ends in the haze more often than it would by itself, each way weighed for it."""
        near, far = span
        number = dr.select(path.steps == 0, self.draws.single(_HAZE_DIMENSION), number)
        chance = 1.0 - dr.exp(-self.world.extinction * dr.maximum(far - near, 0.0))
        often = dr.maximum(chance, dr.minimum(MORE_CAUGHT * chance, dr.select(path.depth == 0, CAUGHT, 0.0)))
        caught = path.active & (number < often)
        flight = near - dr.log(1.0 - dr.minimum(number / often, 1.0) * chance) / self.world.extinction
        weight = dr.select(caught, self.world.albedo * chance / often, (1.0 - chance) / (1.0 - often))
        path.beta = dr.select(path.active, path.beta * weight, path.beta)
        return dr.select(caught, path.origin + path.direction * flight, mi.Point3f(hit.point)), caught, generator

    def _lights_met(self, path: Path, hit: Hit, lit: Any, lost: Any) -> None:
        """Add lights that the path itself has come to: a body, or the sun and the sky where it met nothing."""
        lights = self.world.lights
        if lights.bodies:
            row = dr.select(lit, hit.light, 0)
            bright, chance = lights.met(row, path.before, path.direction, dr.norm(hit.point - path.before))
            weight = dr.select(path.sure, 1.0, power_heuristic(path.density, chance)) * bright
            gain = dr.select(lit & ~path.blind, weight, 0.0)
            layer = dr.gather(mi.UInt32, lights.layer, row)
            for k in range(lights.layers if lights.dome is None else lights.layers - 2):
                path.layers[k] += dr.select(layer == k, path.beta * gain, 0.0)
        if lights.dome is not None:
            sun = lights.missed_sun(path.direction)
            sky = lights.dome.luminance(path.direction), lights.dome.density(path.before, path.direction)
            for k, (bright, chance) in enumerate((sun, sky), start=lights.layers - 2):
                weight = dr.select(path.sure, 1.0, power_heuristic(path.density, chance)) * bright
                path.layers[k] += dr.select(lost & ~path.blind, path.beta * weight, 0.0)

    @dr.syntax  # type: ignore[untyped-decorator]
    def _ask(self, path: Path, vertex: Vertex, generator: Any) -> tuple[list[Any], Any]:
        """Every light asked for directly, and a point of the sun's patches: the layers with that added."""
        lights = self.world.lights
        number = lights.layers
        layers = [mi.Spectrum(layer) for layer in path.layers]
        light = mi.UInt32(0)
        first = path.depth == 0
        while dr.hint(vertex.asked & (light < lights.count), max_iterations=-1, label="lights"):
            pair = mi.Point2f(generator.next_float32(), generator.next_float32())
            pair = dr.select(first, self.draws.pair(light + LIGHT_DIMENSION), pair)
            value = self._one_light(path, vertex, light, pair)
            layer = dr.gather(mi.UInt32, lights.layer, light)
            for k in range(number):
                layers[k] += dr.select(layer == k, value, 0.0)
            light += 1
        if dr.hint(self.world.patches is not None, mode="scalar"):
            chance = generator.next_float32()
            chance = dr.select(first, self.draws.single(PATCH_DIMENSION), chance)
            layers[number - 2] += self._patch(self.world.patches, path, vertex, chance)
        for k, patches in enumerate(self.world.head_patches):
            chance = generator.next_float32()
            chance = dr.select(first, self.draws.single(_HEAD_PATCH_DIMENSION + k % 5), chance)
            layers[patches.layer] += self._patch(patches, path, vertex, chance)
        return layers, generator

    def _one_light(self, path: Path, vertex: Vertex, light: Any, pair: Any) -> Any:
        seen = self.world.lights.sample(light, vertex.where, pair)
        value, clear = self._arriving(path, vertex, seen, vertex.asked)
        if self.world.patches is not None:
            # the sun on this surface might have been found as a patch from the vertex before
            other = self.world.patches.density(vertex.hit, path.before, seen.direction, clear)
            by_chance = (light == self.world.lights.number - 2) & ~path.sure & ~vertex.caught
            by_chance &= dr.max(value) > 0
            value *= dr.select(by_chance, power_heuristic(path.density, other), 1.0)
        for patches in self.world.head_patches:
            other = patches.density(vertex.hit, path.before, seen, clear)
            by_chance = (light == patches.light) & ~path.sure & ~vertex.caught & (dr.max(value) > 0)
            value *= dr.select(by_chance, power_heuristic(path.density, other), 1.0)
        return value

    def _patch(self, patches: Any, path: Path, vertex: Vertex, chance: Any) -> Any:
        """What a point of the patches of the sun or of a head brings."""
        seen, colour = patches.sample(self.world, vertex.where, chance, self.rows)
        value, _ = self._arriving(path, vertex, seen, vertex.asked & (path.depth + 2 < self.max_depth))
        return dr.select(dr.max(value) > 0, value * colour, 0.0)

    def _arriving(self, path: Path, vertex: Vertex, seen: Seen, asked: Any) -> tuple[Any, Any]:
        """What a sample of a light brings by way of a vertex, and the part that nothing stands in the way of."""
        world = self.world
        answer, reverse = vertex.surface.answer(seen.direction)
        reverse = self._mixed(path, vertex, seen.direction, reverse)
        start = off(vertex.where, vertex.surface.geometric, seen.direction)
        if world.hazy:
            scattered = phase(dr.dot(path.direction, seen.direction), world.g)
            answer = dr.select(vertex.caught, mi.Spectrum(scattered), answer)
            reverse = dr.select(vertex.caught, scattered, reverse)
            start = dr.select(vertex.caught, vertex.where, start)
        worth = asked & (seen.density > 0) & (seen.luminance > 0) & (dr.max(answer) > 0)
        reach = seen.distance * (1.0 - 2e-4) - 2e-4
        clear = world.unblocked(start, seen.direction, reach, self.skip, self.skipping, worth)
        gain = seen.luminance / seen.density * power_heuristic(seen.density, reverse) * clear
        gain *= world.clearness(vertex.where, seen.direction, seen.distance)
        passed = worth & (clear > 0)
        if world.finishes.tinted:
            answer = answer * world.tint_along(start, seen.direction, reach, self.rows, passed)
        return dr.select(passed, path.beta * answer * gain, 0.0), clear

    def _go_on(self, path: Path, vertex: Vertex, straight: Any, generator: Any) -> None:
        """Leave the vertex, or end by Russian roulette; pass through a hole unchanged."""
        surface, going = vertex.surface, vertex.asked
        pair = mi.Point2f(generator.next_float32(), generator.next_float32())
        pair = dr.select(path.depth == 0, self.draws.pair(_SURFACE_DIMENSION), pair)
        out = surface.draw(generator.next_float32(), pair)
        if self.openings is not None:
            through = mi.Point2f(generator.next_float32(), generator.next_float32())
            leads_out = generator.next_float32() < self._share(path)
            out = dr.select(leads_out, self.openings.draw(vertex.where, through), out)
        answer, density = surface.answer(out)
        density = self._mixed(path, vertex, out, density)
        factor = dr.select(density > 0, answer / density, 0.0)
        leaving = off(vertex.where, surface.geometric, out)
        if self.world.hazy:
            turned = phase_draw(path.direction, pair, self.world.g)
            density = dr.select(vertex.caught, phase(dr.dot(path.direction, turned), self.world.g), density)
            out = dr.select(vertex.caught, turned, out)
            factor = dr.select(vertex.caught, mi.Spectrum(1.0), factor)
            leaving = dr.select(vertex.caught, vertex.where, leaving)
        beyond = off(vertex.hit.point, vertex.hit.geometric, path.direction)
        path.beta = dr.select(going, path.beta * factor, path.beta)
        path.before = dr.select(going, vertex.where, path.before)
        path.density = dr.select(going, density, path.density)
        path.sure &= ~going
        path.blind &= ~going
        path.origin = dr.select(going, leaving, dr.select(straight, beyond, path.origin))
        path.direction = dr.select(going, out, path.direction)
        path.depth = dr.select(going, path.depth + 1, path.depth)
        path.steps += 1
        strength = dr.minimum(dr.max(path.beta) / self.spared, self.surest)
        tested = going & (path.depth >= ROULETTE)
        kept = generator.next_float32() < strength
        path.beta = dr.select(tested, path.beta / strength, path.beta)
        path.active = (going & (~tested | kept) & (strength > 0)) | straight
        path.active &= path.steps < self.longest

    @staticmethod
    def _share(path: Path) -> Any:
        """How often a path is sent out through an opening: less after each vertex, since it costs the others. [-]"""
        return dr.select(path.depth == 0, OUT_FIRST, dr.select(path.depth == 1, OUT_SECOND, OUT_LATER))

    def _mixed(self, path: Path, vertex: Vertex, direction: Any, density: Any) -> Any:
        """Density over directions that a vertex is left with, its surface's own being `density`. [1/sr]"""
        if self.openings is None:
            return density
        return dr.lerp(density, self.openings.density(vertex.where, direction), self._share(path))

    def _mirror(self, path: Path, hit: Hit, mirrored: Any) -> None:
        """Turn back at a pane: only the path itself can find a light there."""
        turned = path.direction - 2.0 * dr.dot(path.direction, hit.geometric) * hit.geometric
        path.origin = dr.select(mirrored, off(hit.point, hit.geometric, turned), path.origin)
        path.direction = dr.select(mirrored, turned, path.direction)
        path.sure |= mirrored
        path.blind &= ~mirrored
        path.active |= mirrored & (path.steps < self.longest)


def power_heuristic(one: Any, other: Any) -> Any:
    """Weight of the way of sampling with density `one` against `other`."""
    return dr.select(one > 0, dr.rcp(1.0 + dr.square(other / one)), 0.0)

"""Light paths for a whole day in one pass: heads and lamps each in a layer of their own, and for every hour its sun
and its sky.

What a path costs is its rays: the one that goes on, a shadow ray to each head, one to the sky that serves every hour,
and one to the sun of each hour; and where sun falls in through openings, one to a point of each hour's patch. Each
hour's layers are those of a picture of that hour alone: the same ways of finding a light, weighed in the same way.

Source
------
as paths.py
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sidelong.trace.engine import load
from sidelong.trace.hit import Hit
from sidelong.trace.hours import DayWorld
from sidelong.trace.lights import FAR, SUN_ONE_LESS, Seen
from sidelong.trace.paths import LIGHT_DIMENSION, PATCH_DIMENSION, Path, Tracer, Vertex, power_heuristic
from sidelong.trace.world import off

mi, dr = load()

LATER_PATCHES = 4
"""From the second vertex on, of so many hours' patches of sun one is asked, and counts for so many: they cost more
than all else that the hours add."""


@dataclass
class DayPath(Path):
    """`daily`: what the hours have brought, in the renderer's local memory: sun and sky of the first, of the next."""

    daily: Any


class DayTracer(Tracer):
    """Follows paths through a `DayWorld`: the emitters' layers, then sun and sky of each hour."""

    world: DayWorld

    def follow(self, origin: Any, direction: Any, active: Any, blind_density: Any = None) -> Path:
        """As `Tracer.follow`."""
        path: Path = super().follow(origin, direction, active, blind_density)
        daily: Any = vars(path)["daily"]
        path.layers = [*path.layers, *(daily[k] for k in range(2 * self.world.hours.number))]
        return path

    def _begun(self, origin: Any, direction: Any, active: Any, blind_density: Any) -> DayPath:
        path = super()._begun(origin, direction, active, blind_density)
        daily = dr.alloc_local(mi.Spectrum, 2 * self.world.hours.number, value=mi.Spectrum(0.0))
        return DayPath(**vars(path), daily=daily)

    def _lights_met(self, path: Path, hit: Hit, lit: Any, lost: Any) -> None:
        super()._lights_met(path, hit, lit, lost)
        hours = self.world.hours
        chance = hours.dome.density(path.before, path.direction)
        through = path.beta * dr.select(path.sure, 1.0, power_heuristic(path.density, chance))
        self._hours_met(path, through, lost & ~path.blind)

    @dr.syntax  # type: ignore[untyped-decorator]
    def _hours_met(self, path: Any, through: Any, lost: Any) -> None:
        hours, daily = self.world.hours, path.daily
        cell = hours.dome.cell(path.direction)
        hour = mi.UInt32(0)
        while dr.hint(lost & (hour < hours.count), max_iterations=-1, label="hours met"):
            bright, chance = hours.missed_sun(hour, path.direction)
            sun = dr.select(path.sure, 1.0, power_heuristic(path.density, chance)) * bright
            _add(daily, 2 * hour, path.beta * sun, lost)
            _add(daily, 2 * hour + 1, through * hours.sky(hour, cell, path.direction), lost)
            hour += 1

    def _ask(self, path: Path, vertex: Vertex, generator: Any) -> tuple[list[Any], Any]:
        layers, generator = super()._ask(path, vertex, generator)
        first = path.depth == 0
        pairs = []
        for k in range(2):
            pair = mi.Point2f(generator.next_float32(), generator.next_float32())
            spread = self.draws.pair(self.world.lights.count + (LIGHT_DIMENSION + k))
            pairs.append(dr.select(first, spread, pair))
        self._ask_hours(path, vertex, pairs[0], pairs[1])
        if self.world.hour_patches.any:
            chance, turn = generator.next_float32(), generator.next_float32()
            chance = dr.select(first, self.draws.single(PATCH_DIMENSION), chance)
            every = dr.select(first, mi.UInt32(1), mi.UInt32(LATER_PATCHES))
            self._ask_patches(path, vertex, chance, every, mi.UInt32(turn * mi.Float(every)))
        return layers, generator

    @dr.syntax  # type: ignore[untyped-decorator]
    def _ask_hours(self, path: Any, vertex: Vertex, on_sun: Any, on_sky: Any) -> None:
        """Every hour's sun by a ray of its own, all by the same point of the disc; the skies along one ray."""
        hours, daily = self.world.hours, path.daily
        direction = hours.dome.draw(vertex.where, on_sky)
        density = hours.dome.density(vertex.where, direction)
        unit = Seen(direction, mi.Float(FAR), dr.select(direction.z > 0, mi.Float(1.0), 0.0), density)
        through, _ = self._arriving(path, vertex, unit, vertex.asked)
        cell = hours.dome.cell(direction)
        down = SUN_ONE_LESS * on_sun.x
        sine = dr.safe_sqrt(down * (2.0 - down))
        s, c = dr.sincos(dr.two_pi * on_sun.y)
        spread = mi.Vector3f(sine * c, sine * s, 1.0 - down)
        hour = mi.UInt32(0)
        while dr.hint(vertex.asked & (hour < hours.count), max_iterations=-1, label="hours"):
            _add(daily, 2 * hour, self._one_sun(path, vertex, hour, spread), vertex.asked)
            _add(daily, 2 * hour + 1, through * hours.sky(hour, cell, direction), vertex.asked)
            hour += 1

    @dr.syntax  # type: ignore[untyped-decorator]
    def _one_sun(self, path: Any, vertex: Vertex, hour: Any, spread: Any) -> Any:
        seen = self.world.hours.sun(hour, spread)
        value = mi.Spectrum(0.0)
        start = off(vertex.where, vertex.surface.geometric, seen.direction)
        start = dr.select(vertex.caught, vertex.where, start)
        if vertex.asked & (seen.luminance > 0) & ~self.world.walled_in(start, seen.direction):
            value = self._sun_arriving(path, vertex, hour, seen)
        return value

    def _sun_arriving(self, path: Path, vertex: Vertex, hour: Any, seen: Seen) -> Any:
        value, clear = self._arriving(path, vertex, seen, vertex.asked)
        patches = self.world.hour_patches
        if patches.any:
            # the sun on this surface might have been found as a patch from the vertex before
            other = patches.density(self.world, hour, vertex.hit, path.before, seen.direction, clear)
            by_chance = ~path.sure & ~vertex.caught & (dr.max(value) > 0)
            value *= dr.select(by_chance, power_heuristic(path.density, other), 1.0)
        return value

    @dr.syntax  # type: ignore[untyped-decorator]
    def _ask_patches(self, path: Any, vertex: Vertex, chance: Any, every: Any, turn: Any) -> None:
        """A point of the sun's patches, of `every` hour that has any, from one whose `turn` it is."""
        patches, daily = self.world.hour_patches, path.daily
        asked = vertex.asked & (path.depth + 2 < self.max_depth)
        row = mi.UInt32(turn)
        while dr.hint(asked & (row < patches.rows), max_iterations=-1, label="patches"):
            hour, seen, colour = patches.sample(self.world, row, vertex.where, chance, self.rows)
            value, _ = self._arriving(path, vertex, seen, asked)
            value *= colour * mi.Float(every)
            _add(daily, 2 * hour, value, asked & (row < patches.rows) & (dr.max(value) > 0))
            row += every


def _add(daily: Any, row: Any, value: Any, active: Any) -> None:
    """Add to a row of local memory, whose writes do not heed a loop's mask by themselves."""
    daily.write(daily.read(row, active) + value, row, active)

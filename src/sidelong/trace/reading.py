"""Meters in a world: what arrives straight from each light, and what arrives by way of surfaces and haze.

The straight part is an integral over each light (and, for the sky, over the receptors' own directions as well),
summed over evenly spread points; the reflected part is an average over light paths. Both come in batches that are
drawn apart, and the spread of the batches is the error. Meters held at one point, however turned, share what is
traced from there: directions are drawn by the mean of their responses, and each weighs them by its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.trace.draws import Draws
from sidelong.trace.engine import computed, load
from sidelong.trace.hit import NOTHING
from sidelong.trace.lights import FAR
from sidelong.trace.paths import LIGHT_DIMENSION, Tracer, power_heuristic
from sidelong.trace.quality import READING_PASS
from sidelong.trace.scene import NOBODY, Scene
from sidelong.trace.skyfield import SkyTable
from sidelong.trace.tally import Tally, mean_and_error
from sidelong.trace.values import Receptor
from sidelong.trace.world import World

mi, dr = load()

BATCHES = 16
STRAIGHT_SAMPLES = 4096
_DIRECTION, _WAVELENGTH, _OWN, _PATCH = 0, 2, 3, 4


class Reading:
    """Receptors (R,) in a world; `white` (L, 3) is the XYZ of each light of unit illuminance."""

    def __init__(
        self, scene: Scene, sky: SkyTable | None, receptors: Sequence[Receptor], away: Sequence[int]
    ) -> None:
        self.world = World(scene, sky)
        self.skipping = any(a != NOBODY for a in away)
        self.white = self.world.wavelengths.white
        self.slots = Slots(receptors, away)
        self.tally = Tally(self.slots.count)

    def straight(self, seed: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Straight from each light: illuminance and its error, (R, L). [lx, lx s]"""
        each = STRAIGHT_SAMPLES // BATCHES
        tally = Tally(self.slots.count)
        for points in self._passes(np.arange(self.slots.count), each):
            site, index, who = _lanes(points, 0, each)
            held = self.slots.held(who)
            draws = Draws(site, index, seed)
            lights = [self._from(k, held, draws) for k in range(self.world.lights.number)]
            values = [[_sum(ways, facing) for ways in lights] for facing in held.facings]
            tally.add(points, _batches(values, each, 1)[..., 0], each)
        return mean_and_error(self.slots.sorted(tally.batches()))

    def follow(self, points: NDArray[np.int64], each: int, seed: int, max_depth: int) -> None:
        """Follow `each` more paths in every batch of points (Q,) that have had the same number."""
        for some in self._passes(points, each):
            site, index, who = _lanes(some, int(self.tally.paths[some[0]]), each)
            held = self.slots.held(who)
            draws = Draws(site, index, seed + 0x5EED)
            direction = held.draw(draws.pair(_DIRECTION))
            density = held.density(direction)
            rows = self.world.wavelengths.draw(draws.single(_WAVELENGTH))
            tracer = Tracer(self.world, draws, rows, max_depth, held.skip, self.skipping)
            path = tracer.follow(held.at, direction, mi.Bool(True), density)
            layers = [layer / density for layer in path.layers]
            patch = self._from_patches(held, draws, rows)
            values = [self._brought(facing, direction, layers, rows, patch) for facing in held.facings]
            self.tally.add(some, _batches(values, each, 3), each)

    def reflected(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """By way of surfaces and haze, as followed so far: XYZ (R, L, 3) and the error of Y (R, L). [lx, lx s]"""
        xyz = self.slots.sorted(self.tally.batches())
        return xyz.mean(1), mean_and_error(xyz[..., 1])[1]

    @staticmethod
    def _passes(points: NDArray[np.int64], each: int) -> list[NDArray[np.int64]]:
        """The points in groups of at most READING_PASS paths."""
        step = max(1, READING_PASS // (BATCHES * each))
        return [points[k : k + step] for k in range(0, len(points), step)]

    def _brought(
        self, facing: Facing, direction: Any, layers: list[Any], rows: list[Any], patch: tuple[Any, Any] | None
    ) -> list[Any]:
        """Channels (3 L) of one way of holding the meter."""
        response = facing.response(direction)
        channels: list[Any] = []
        for k, layer in enumerate(layers):
            value = layer * response
            if patch is not None and k == len(layers) - 2:
                value += patch[0] * facing.response(patch[1])
            channels += list(self.world.wavelengths.tristimulus(k, value, rows))
        return channels

    def _from(self, light: int, held: Held, draws: Draws) -> list[tuple[Any, Any]]:
        """(illuminance square to the light, direction) of the ways that a light is sampled in."""
        lights = self.world.lights
        seen = lights.sample(mi.UInt32(light), held.at, draws.pair(LIGHT_DIMENSION + light))
        worth = (seen.density > 0) & (seen.luminance > 0)
        dome_of_sky = lights.dome if light == lights.number - 1 else None
        weight: Any = 1.0
        if dome_of_sky is not None:
            weight = power_heuristic(seen.density, held.density(seen.direction))
        value = dr.select(worth, seen.luminance / seen.density * weight, 0.0)
        ways = [(value * self._clear(held, seen.direction, seen.distance, worth), seen.direction)]
        if dome_of_sky is not None:
            direction = held.draw(draws.pair(_OWN))
            own = held.density(direction)
            bright, chance = dome_of_sky.luminance(direction), dome_of_sky.density(held.at, direction)
            worth = (bright > 0) & (own > 0)
            value = dr.select(worth, bright / own * power_heuristic(own, chance), 0.0)
            ways.append((value * self._clear(held, direction, mi.Float(FAR), worth), direction))
        return ways

    def _from_patches(self, held: Held, draws: Draws, rows: list[Any]) -> tuple[Any, Any] | None:
        """The sun by way of one point of its patches; paths find them too, and the two are weighed."""
        patches = self.world.patches
        if patches is None:
            return None
        seen, colour = patches.sample(self.world, held.at, draws.single(_PATCH), rows)
        worth = (seen.density > 0) & (seen.luminance > 0)
        gain = seen.luminance / seen.density * power_heuristic(seen.density, held.density(seen.direction))
        gain *= self._clear(held, seen.direction, seen.distance, worth)
        return dr.select(worth & (gain > 0), colour * gain, 0.0), seen.direction

    def _clear(self, held: Held, direction: Any, distance: Any, worth: Any) -> Any:
        reach = distance * (1.0 - 2e-4) - 2e-4
        free = self.world.unblocked(held.at, direction, reach, held.skip, self.skipping, worth)
        return free * self.world.clearness(held.at, direction, distance)


@dataclass(frozen=True)
class Facing:
    """One way of holding a meter at each point: unit axis, whether a dome, whether the point has such a one."""

    normal: Any
    dome: Any
    there: Any

    def response(self, direction: Any) -> Any:
        """The meter's response to light from a direction: cosine, or (1 + cosine) / 2. [-]"""
        cosine = dr.dot(self.normal, direction)
        return dr.select(self.dome, dr.maximum(0.5 * (1.0 + cosine), 0.0), dr.maximum(cosine, 0.0))

    def density(self, direction: Any) -> Any:
        """Density in proportion to the response. [1/sr]"""
        return self.response(direction) * dr.select(self.dome, mi.Float(dr.inv_two_pi), dr.inv_pi)

    def draw(self, pair: Any) -> Any:
        """A direction drawn with that density."""
        flat = mi.warp.square_to_cosine_hemisphere(pair)
        cosine = dr.clip(2.0 * dr.sqrt(pair.x) - 1.0, -1.0, 1.0)
        sine = dr.safe_sqrt(1.0 - cosine * cosine)
        s, c = dr.sincos(dr.two_pi * pair.y)
        return mi.Frame3f(self.normal).to_world(dr.select(self.dome, mi.Vector3f(sine * c, sine * s, cosine), flat))


@dataclass(frozen=True)
class Held:
    """Meters at the points of N paths: where, whom they do not see, and the ways they are turned."""

    at: Any
    skip: Any
    facings: list[Facing]
    number: Any

    def density(self, direction: Any) -> Any:
        """Density of `draw`: the mean over the meters there. [1/sr]"""
        total = mi.Float(0.0)
        for facing in self.facings:
            total += dr.select(facing.there, facing.density(direction), 0.0)
        return total / self.number

    def draw(self, pair: Any) -> Any:
        """A direction drawn by one of the meters there."""
        scaled = pair.x * self.number
        chosen = dr.minimum(dr.floor(scaled), self.number - 1.0)
        again = mi.Point2f(scaled - chosen, pair.y)
        direction = self.facings[0].draw(again)
        for k, facing in enumerate(self.facings[1:], start=1):
            direction = dr.select(chosen == k, facing.draw(again), direction)
        return direction


class Slots:
    """Receptors gathered by where they are and whom they do not see: points (P,), each with up to S ways to face."""

    def __init__(self, receptors: Sequence[Receptor], away: Sequence[int]) -> None:
        points: dict[tuple[tuple[float, ...], int], list[int]] = {}
        for k, (receptor, person) in enumerate(zip(receptors, away, strict=True)):
            points.setdefault((tuple(float(x) for x in receptor.at), person), []).append(k)
        self.count = len(points)
        self.most = max(len(held) for held in points.values())
        place = {k: (p, s) for p, held in enumerate(points.values()) for s, k in enumerate(held)}
        self.place = np.array([place[k] for k in range(len(receptors))])
        self.at = _columns(np.array([at for at, _ in points], float))
        self.skip = mi.UInt32(np.array([NOTHING if p == NOBODY else p for _, p in points], np.uint32))
        self.number = mi.Float(np.array([len(held) for held in points.values()], np.float32))
        axis = np.tile([0.0, 0.0, 1.0], (self.most, self.count, 1))
        dome, there = np.zeros((self.most, self.count), bool), np.zeros((self.most, self.count), bool)
        for k, (p, s) in place.items():
            axis[s, p], dome[s, p], there[s, p] = receptors[k].normal, receptors[k].dome, True
        axis /= np.linalg.norm(axis, axis=2, keepdims=True)
        self.turned = [(_columns(axis[s]), mi.Bool(dome[s]), mi.Bool(there[s])) for s in range(self.most)]

    def held(self, who: Any) -> Held:
        """The meters at the points numbered `who` (N,)."""
        facings = [
            Facing(
                mi.Vector3f(*(dr.gather(mi.Float, c, who) for c in axis)),
                dr.gather(mi.Bool, dome, who),
                dr.gather(mi.Bool, there, who),
            )
            for axis, dome, there in self.turned
        ]
        at = mi.Point3f(*(dr.gather(mi.Float, c, who) for c in self.at))
        return Held(at, dr.gather(mi.UInt32, self.skip, who), facings, dr.gather(mi.Float, self.number, who))

    def sorted(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Rows (R, B, ...) in the receptors' own order of values by point, batch and way to face (P, B, S, ...)."""
        return np.asarray(values[self.place[:, 0], :, self.place[:, 1]])

    def of_points(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """The largest of the values (R,) of the receptors at each point, (P,)."""
        largest = np.full(self.count, -np.inf)
        np.maximum.at(largest, self.place[:, 0], values)
        return largest


def _lanes(points: NDArray[np.int64], start: int, each: int) -> tuple[Any, Any, Any]:
    """For each path: the number of its batch (its own random site), its index there, its point."""
    size = dr.opaque(mi.UInt32, each)
    number = dr.arange(mi.UInt32, len(points) * BATCHES * each)
    batch = number // size
    who = dr.gather(mi.UInt32, mi.UInt32(points.astype(np.uint32)), batch // BATCHES)
    return who * BATCHES + batch % BATCHES, number % size + dr.opaque(mi.UInt32, start), who


def _columns(values: NDArray[np.float64]) -> list[Any]:
    return [mi.Float(np.ascontiguousarray(values[:, k], np.float32)) for k in range(3)]


def _sum(ways: list[tuple[Any, Any]], facing: Facing) -> Any:
    total = mi.Float(0.0)
    for value, direction in ways:
        total += value * facing.response(direction)
    return total


def _batches(values: list[list[Any]], each: int, channels: int) -> NDArray[np.float64]:
    """Means of batches, (points, BATCHES, ways to face, L, channels)."""
    computed(values)
    rows = [np.stack([np.array(dr.block_sum(v, each), np.float64) / each for v in row], axis=-1) for row in values]
    table = np.stack([r.reshape(-1, BATCHES, len(values[0]) // channels, channels) for r in rows], axis=2)
    return np.asarray(table)

"""Meters in a world: what arrives straight from each light, and what arrives by way of surfaces and haze.

The straight part is an integral over each light (and, for the sky, over the receptor's own directions as well),
summed over evenly spread points; the reflected part is an average over light paths. Both come in batches that are
drawn apart, and the spread of the batches is the error.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.trace.draws import Draws
from sidelong.trace.engine import load
from sidelong.trace.hit import NOTHING
from sidelong.trace.lights import FAR
from sidelong.trace.paths import LIGHT_DIMENSION, Tracer, power_heuristic
from sidelong.trace.quality import PASS_PATHS
from sidelong.trace.scene import NOBODY, Scene
from sidelong.trace.skyfield import SkyTable
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
        self.count = len(receptors)
        self.skipping = any(a != NOBODY for a in away)
        at = np.array([r.at for r in receptors], float)
        normal = np.array([r.normal for r in receptors], float)
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        self.at = [_column(at[:, k]) for k in range(3)]
        self.normal = [_column(normal[:, k]) for k in range(3)]
        self.dome = mi.Float(np.array([r.dome for r in receptors], np.float32))
        self.away = mi.UInt32(np.array([NOTHING if a == NOBODY else a for a in away], np.uint32))
        self.white = self.world.wavelengths.white

    def straight(self, seed: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Straight from each light: illuminance and its error, (R, L). [lx, lx s]"""
        each = STRAIGHT_SAMPLES // BATCHES
        parts = []
        for first, last in self._groups(BATCHES * each):
            site, index, who = self._lanes(first, last, each)
            at, normal, dome, skip = self._at(who)
            draws = Draws(site, index, seed)
            number = range(self.world.lights.number)
            values = [self._from(k, at, normal, dome, skip, draws) for k in number]
            parts.append(_batches(values, each, 1)[..., 0])
        return _mean_and_error(np.concatenate(parts))

    def reflected(self, samples: int, seed: int, max_depth: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """By way of surfaces and haze: XYZ (R, L, 3) and the error of Y (R, L). [lx, lx s]"""
        each = max(1, samples // BATCHES)
        parts = []
        for first, last in self._groups(BATCHES * each):
            site, index, who = self._lanes(first, last, each)
            at, normal, dome, skip = self._at(who)
            draws = Draws(site, index, seed + 0x5EED)
            direction, own = _response_draw(normal, dome, draws.pair(_DIRECTION))
            rows = self.world.wavelengths.draw(draws.single(_WAVELENGTH))
            tracer = Tracer(self.world, draws, rows, max_depth, skip, self.skipping)
            path = tracer.follow(at, direction, mi.Bool(True), own)
            whole = dr.select(dome > 0, dr.two_pi, dr.pi)
            brought = [layer * whole for layer in path.layers]
            patches = self.world.patches
            if patches is not None:
                brought[-2] += self._from_patches(patches, at, normal, dome, skip, draws, rows)
            colours = [self.world.wavelengths.tristimulus(k, v, rows) for k, v in enumerate(brought)]
            parts.append(_batches([c for colour in colours for c in colour], each, 3))
        xyz = np.concatenate(parts)
        return xyz.mean(1), _mean_and_error(xyz[..., 1])[1]

    def _groups(self, each: int) -> list[tuple[int, int]]:
        step = max(1, PASS_PATHS // each)
        return [(k, min(k + step, self.count)) for k in range(0, self.count, step)]

    def _lanes(self, first: int, last: int, each: int) -> tuple[Any, Any, Any]:
        """For each path: the number of its batch (its own random site), its index there, its receptor."""
        size = dr.opaque(mi.UInt32, each)
        number = dr.arange(mi.UInt32, (last - first) * BATCHES * each)
        site = number // size + dr.opaque(mi.UInt32, first * BATCHES)
        return site, number % size, site // BATCHES

    def _at(self, who: Any) -> tuple[Any, Any, Any, Any]:
        at = mi.Point3f(*(dr.gather(mi.Float, c, who) for c in self.at))
        normal = mi.Vector3f(*(dr.gather(mi.Float, c, who) for c in self.normal))
        return at, normal, dr.gather(mi.Float, self.dome, who), dr.gather(mi.UInt32, self.away, who)

    def _from(self, light: int, at: Any, normal: Any, dome: Any, skip: Any, draws: Draws) -> Any:
        lights = self.world.lights
        seen = lights.sample(mi.UInt32(light), at, draws.pair(LIGHT_DIMENSION + light))
        response, own = _response(normal, dome, seen.direction)
        worth = (seen.density > 0) & (seen.luminance > 0) & (response > 0)
        dome_of_sky = lights.dome if light == lights.number - 1 else None
        weight: Any = power_heuristic(seen.density, own) if dome_of_sky is not None else 1.0
        total = dr.select(worth, seen.luminance * response / seen.density * weight, 0.0)
        total *= self._clear(at, seen.direction, seen.distance, skip, worth)
        if dome_of_sky is not None:
            direction, own = _response_draw(normal, dome, draws.pair(_OWN))
            bright, chance = dome_of_sky.luminance(direction), dome_of_sky.density(at, direction)
            response, _ = _response(normal, dome, direction)
            worth = (bright > 0) & (own > 0)
            more = bright * response / own * power_heuristic(own, chance)
            total += dr.select(worth, more, 0.0) * self._clear(at, direction, mi.Float(FAR), skip, worth)
        return total

    def _from_patches(
        self, patches: Any, at: Any, normal: Any, dome: Any, skip: Any, draws: Draws, rows: list[Any]
    ) -> Any:
        """The sun by way of one point of its patches; paths find them too, and the two are weighed."""
        seen, colour = patches.sample(self.world, at, draws.single(_PATCH), rows)
        response, own = _response(normal, dome, seen.direction)
        worth = (seen.density > 0) & (seen.luminance > 0) & (response > 0)
        gain = seen.luminance * response / seen.density * power_heuristic(seen.density, own)
        gain *= self._clear(at, seen.direction, seen.distance, skip, worth)
        return dr.select(worth, colour * gain, 0.0)

    def _clear(self, at: Any, direction: Any, distance: Any, skip: Any, worth: Any) -> Any:
        reach = distance * (1.0 - 2e-4) - 2e-4
        free = self.world.unblocked(at, direction, reach, skip, self.skipping, worth)
        return free * self.world.clearness(at, direction, distance)


def _column(values: NDArray[np.float64]) -> Any:
    return mi.Float(np.ascontiguousarray(values, np.float32))


def _response(normal: Any, dome: Any, direction: Any) -> tuple[Any, Any]:
    """The meter's response to light from a direction, and the density that `_response_draw` has there."""
    cosine = dr.dot(normal, direction)
    flat = dr.maximum(cosine, 0.0)
    round_ = dr.maximum(0.5 * (1.0 + cosine), 0.0)
    response = dr.select(dome > 0, round_, flat)
    return response, response * dr.select(dome > 0, dr.inv_two_pi, dr.inv_pi)


def _response_draw(normal: Any, dome: Any, pair: Any) -> tuple[Any, Any]:
    """Directions with a density in proportion to the response, and that density. [-, 1/sr]"""
    flat = mi.warp.square_to_cosine_hemisphere(pair)
    cosine = dr.clip(2.0 * dr.sqrt(pair.x) - 1.0, -1.0, 1.0)
    sine = dr.safe_sqrt(1.0 - cosine * cosine)
    s, c = dr.sincos(dr.two_pi * pair.y)
    local = dr.select(dome > 0, mi.Vector3f(sine * c, sine * s, cosine), flat)
    direction = mi.Frame3f(normal).to_world(local)
    return direction, _response(normal, dome, direction)[1]


def _batches(values: list[Any], each: int, channels: int) -> NDArray[np.float64]:
    """Means of batches, (R, BATCHES, L, channels)."""
    dr.eval(values)
    means = np.stack([np.array(dr.block_sum(v, each), np.float64) / each for v in values], axis=-1)
    return means.reshape(-1, BATCHES, len(values) // channels, channels)


def _mean_and_error(batches: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean over axis 1 and its standard error."""
    return batches.mean(1), batches.std(1, ddof=1) / np.sqrt(batches.shape[1])

"""Meters in a world: what arrives straight from each light, and what arrives by way of surfaces and haze.

The straight part is an integral over each light (and, for the sky, over the receptors' own directions as well),
summed over evenly spread points; the reflected part is an average over light paths. Both come in batches that are
drawn apart, and the spread of the batches is the error. Meters held at one point, however turned, share what is
traced from there: directions are drawn by the mean of their responses, and each weighs them by its own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.trace.draws import Draws
from sidelong.trace.engine import column, computed, load
from sidelong.trace.hit import NOTHING
from sidelong.trace.paths import LIGHT_DIMENSION, OUT_FIRST, Tracer, power_heuristic
from sidelong.trace.quality import READING_PASS
from sidelong.trace.scene import NOBODY, Scene
from sidelong.trace.skyfield import SkyTable
from sidelong.trace.surfaces import WIDENED
from sidelong.trace.tally import Tally, mean_and_error
from sidelong.trace.values import Receptor
from sidelong.trace.world import World

mi, dr = load()

BATCHES = 16
STRAIGHT_SAMPLES = 4096
SPARED = 0.1
"""Paths of readings are not ended by chance before they have less than this left. [-]"""
_DIRECTION, _WAVELENGTH, _OWN, _PATCH, _OUT, _THROUGH, _HEAD_PATCH = 0, 2, 3, 4, 5, 6, 10
_FLAT, _DOME, _CYLINDER, _SPOT = range(4)


class Reading:
    """Receptors (R,) in a world; `white` (L, 3) is the XYZ of each light of unit illuminance. `passed` is told after
    each pass how many paths it had."""

    def __init__(
        self,
        scene: Scene,
        sky: SkyTable | None,
        receptors: Sequence[Receptor],
        away: Sequence[int],
        passed: Callable[[int], None] = lambda paths: None,
    ) -> None:
        self.world = World(scene, sky)
        self._passed = passed
        self.skipping = any(a != NOBODY for a in away)
        self.white = self.world.wavelengths.white
        self.slots = Slots(receptors, away)
        self.tally, self.looked = Tally(self.slots.count), Tally(self.slots.count)

    def straight(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Straight from each light, as looked at so far: illuminance and its error, (R, L). [lx, lx s]"""
        return mean_and_error(self.slots.sorted(self.looked.batches()))

    def look(self, points: NDArray[np.int64], each: int, seed: int) -> None:
        """Look at every light `each` more times in every batch of points (Q,) that have done so equally often."""
        for some, count in self._passes(points, each):
            site, index, who = _lanes(some, int(self.looked.paths[some[0]]), count)
            held = self.slots.held(who)
            values = self._straight(held, Draws(site, index, seed))
            self.looked.add(some, _batches(values, count, 1)[..., 0], count)
            self._passed(len(some) * count * BATCHES)

    def follow(self, points: NDArray[np.int64], each: int, seed: int, max_depth: int) -> None:
        """Follow `each` more paths in every batch of points (Q,) that have had the same number."""
        for some, count in self._passes(points, each):
            site, index, who = _lanes(some, int(self.tally.paths[some[0]]), count)
            held = self.slots.held(who)
            draws = Draws(site, index, seed + 0x5EED)
            direction = held.draw(draws.pair(_DIRECTION))
            if self.world.openings is not None:
                leads_out = draws.single(_OUT) < OUT_FIRST
                direction = dr.select(leads_out, self.world.openings.draw(held.at, draws.pair(_THROUGH)), direction)
            density = self._density(held, direction)
            rows = self.world.wavelengths.draw(draws.single(_WAVELENGTH))
            skip = held.skip if self.skipping else None
            tracer = Tracer(self.world, draws, rows, max_depth, skip, SPARED, held.widened)
            path = tracer.follow(held.at, direction, mi.Bool(True), density)
            layers = [layer / density for layer in path.layers]
            patches = self._from_patches(held, draws, rows)
            values = [self._brought(facing, direction, layers, rows, patches) for facing in held.facings]
            self.tally.add(some, _batches(values, count, 3), count)
            self._passed(len(some) * count * BATCHES)

    def reflected(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """By way of surfaces and haze, as followed so far: XYZ (R, L, 3) and the error of Y (R, L). [lx, lx s]"""
        xyz = self.slots.sorted(self.tally.batches())
        return xyz.mean(1), mean_and_error(xyz[..., 1])[1]

    def by_batch(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Batches of Y as looked at and as followed so far, (R, B, L) each: means and errors of any sum of layers."""
        followed = self.slots.sorted(self.tally.batches())[..., 1]
        return self.slots.sorted(self.looked.batches()), followed

    @staticmethod
    def _passes(points: NDArray[np.int64], each: int) -> Iterator[tuple[NDArray[np.int64], int]]:
        """The points in groups, and how many of `each` paths a batch at once, of at most READING_PASS paths."""
        most = READING_PASS // BATCHES
        step = max(1, most // each)
        for k in range(0, len(points), step):
            for done in range(0, each, most):
                yield points[k : k + step], min(most, each - done)

    def _brought(
        self, facing: Facing, direction: Any, layers: list[Any], rows: list[Any], patches: list[tuple[int, Any, Any]]
    ) -> list[Any]:
        """Channels (3 L) of one way of holding the meter."""
        response = facing.response(direction)
        channels: list[Any] = []
        for k, layer in enumerate(layers):
            value = layer * response
            for layer_of_patch, patch, towards in patches:
                if layer_of_patch == k:
                    value += patch * facing.response(towards)
            channels += list(self.world.wavelengths.tristimulus(k, value, rows))
        return channels

    @dr.syntax  # type: ignore[untyped-decorator]
    def _straight(self, held: Held, draws: Draws) -> list[list[Any]]:
        """Of each way of facing, what each layer brings by a sample of each of its lights."""
        lights = self.world.lights
        rows = self._rows_of(draws)
        direction = held.draw(draws.pair(_OWN))
        own = held.density(direction)
        values = [[mi.Float(0.0) for _ in range(lights.layers)] for _ in held.facings]
        light = mi.UInt32(0)
        while dr.hint(light < lights.count, max_iterations=-1, label="straight"):
            layer = dr.gather(mi.UInt32, lights.layer, light)
            by = By(light, layer, rows)
            ways = self._from(by, held, draws.pair(LIGHT_DIMENSION + light), direction, own)
            for k, facing in enumerate(held.facings):
                brought = _sum(ways, facing)
                for n in range(lights.layers):
                    values[k][n] += dr.select(layer == n, brought, 0.0)
            light += 1
        return values

    def _rows_of(self, draws: Draws) -> list[Any]:
        """Wavelengths for what comes straight, which it needs where anything on the way has a colour."""
        return self.world.wavelengths.draw(draws.single(_WAVELENGTH)) if self.world.finishes.tinted else []

    def _from(self, by: By, held: Held, pair: Any, direction: Any, own: Any) -> list[tuple[Any, Any]]:
        """(illuminance square to the light, direction) of the two ways that a light is found in: by a point of it,
        and by the meters' own direction, drawn with the density `own`."""
        lights = self.world.lights
        seen = lights.sample(by.light, held.at, pair)
        worth = (seen.density > 0) & (seen.luminance > 0)
        gain = seen.luminance / seen.density * power_heuristic(seen.density, held.density(seen.direction))
        clear = self._clear(held, seen.direction, seen.distance, worth, by)
        ways = [(dr.select(worth, gain * clear, 0.0), seen.direction)]
        found = lights.along(by.light, held.at, direction)
        worth = (found.luminance > 0) & (own > 0)
        gain = found.luminance / own * power_heuristic(own, found.density)
        clear = self._clear(held, direction, found.distance, worth, by)
        return [*ways, (dr.select(worth, gain * clear, 0.0), direction)]

    def _from_patches(self, held: Held, draws: Draws, rows: list[Any]) -> list[tuple[int, Any, Any]]:
        """Layer, value and direction of one point of the patches of the sun and of each head that is turned at a
        surface; paths find them too, and the two are weighed."""
        found: list[tuple[int, Any, int]] = []
        if self.world.patches is not None:
            found.append((self.world.lights.layers - 2, self.world.patches, _PATCH))
        found += [(p.layer, p, _HEAD_PATCH + k % 5) for k, p in enumerate(self.world.head_patches)]
        return [(layer, *self._one_patch(p, held, draws.single(at), rows)) for layer, p, at in found]

    def _one_patch(self, patches: Any, held: Held, number: Any, rows: list[Any]) -> tuple[Any, Any]:
        seen, colour = patches.sample(self.world, held.at, number, rows)
        worth = (seen.density > 0) & (seen.luminance > 0)
        gain = seen.luminance / seen.density * power_heuristic(seen.density, self._density(held, seen.direction))
        gain *= self._clear(held, seen.direction, seen.distance, worth)
        if self.world.finishes.tinted:
            colour *= self.world.tint_along(held.at, seen.direction, seen.distance - 1e-3, rows, worth)
        return dr.select(worth & (gain > 0), colour * gain, 0.0), seen.direction

    def _density(self, held: Held, direction: Any) -> Any:
        """Density over directions that paths leave the meters with, some of them through an opening. [1/sr]"""
        own = held.density(direction)
        if self.world.openings is None:
            return own
        return dr.lerp(own, self.world.openings.density(held.at, direction), OUT_FIRST)

    def _clear(self, held: Held, direction: Any, distance: Any, worth: Any, by: By | None = None) -> Any:
        """Part of the light that arrives from a direction; `by` a light, what that loses in gels is counted."""
        reach = distance * (1.0 - 2e-4) - 2e-4
        free = self.world.unblocked(held.at, direction, reach, held.skip, self.skipping, worth)
        if self.world.finishes.tinted and by is not None:
            tint = self.world.tint_along(held.at, direction, reach, by.rows, worth & (free > 0))
            free *= self.world.wavelengths.tristimulus(by.layer, tint, by.rows).y
        return free * self.world.clearness(held.at, direction, distance)


@dataclass
class By:
    """A light by its number, its layer, and the wavelengths that it is looked at with."""

    light: Any
    layer: Any
    rows: list[Any]


@dataclass
class Facing:
    """One way of holding a meter at each point: unit axis, its kind, whether the point has such a one.

    `narrow` = 1 - cos of half a spot's angle; `odd` whether any is a spot or a cylinder.
    """

    normal: Any
    kind: Any
    narrow: Any
    there: Any
    odd: bool

    def response(self, direction: Any) -> Any:
        """The meter's response to light from a direction: cosine, or (1 + cosine) / 2; of a spot even over its cone,
        [1/sr]; of a cylinder sine / pi. [-]"""
        cosine = dr.dot(self.normal, direction)
        response = dr.select(self.kind == _DOME, dr.maximum(0.5 * (1.0 + cosine), 0.0), dr.maximum(cosine, 0.0))
        if self.odd:
            response = dr.select(self.kind == _CYLINDER, dr.safe_sqrt(1.0 - cosine * cosine) * dr.inv_pi, response)
            response = dr.select(self.kind == _SPOT, self._in_cone(direction), response)
        return response

    def density(self, direction: Any) -> Any:
        """Density of `draw`: in proportion to the response, but even all round for a cylinder. [1/sr]"""
        scale = dr.select(self.kind == _DOME, mi.Float(dr.inv_two_pi), dr.inv_pi)
        density = (
            self.response(direction) * dr.select(self.kind == _SPOT, 1.0, scale)
            if self.odd
            else (self.response(direction) * scale)
        )
        return dr.select(self.kind == _CYLINDER, dr.inv_four_pi, density) if self.odd else density

    def draw(self, pair: Any) -> Any:
        """A direction drawn with that density."""
        flat = mi.warp.square_to_cosine_hemisphere(pair)
        less = 2.0 - 2.0 * dr.sqrt(pair.x)
        if self.odd:
            less = dr.select(self.kind == _CYLINDER, 2.0 * pair.x, less)
            less = dr.select(self.kind == _SPOT, self.narrow * pair.x, less)
        less = dr.clip(less, 0.0, 2.0)
        sine = dr.safe_sqrt(less * (2.0 - less))
        s, c = dr.sincos(dr.two_pi * pair.y)
        around = mi.Vector3f(sine * c, sine * s, 1.0 - less)
        return mi.Frame3f(self.normal).to_world(dr.select(self.kind == _FLAT, flat, around))

    def _in_cone(self, direction: Any) -> Any:
        # |d - n|^2 / 2 = 1 - cos: precise where the cosine is not
        inside = 0.5 * dr.squared_norm(direction - self.normal) < self.narrow
        return dr.select(inside, dr.rcp(dr.two_pi * self.narrow), 0.0)


@dataclass
class Held:
    """Meters at the points of N paths: where, whom they do not see, and the ways they are turned."""

    at: Any
    skip: Any
    facings: list[Facing]
    number: Any

    @property
    def widened(self) -> Any:
        """How wide microfacets are at least where paths first come to: as on the way to a card in a picture, and as
        points of the sun's patches are seen from here, or both ways of finding a highlight would not be of one size.
        A spot meter, always a point of its own, looks at surfaces as the camera does. [-]"""
        return dr.select(self.facings[0].kind == _SPOT, 0.0, WIDENED)

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
    """Receptors gathered by where they are and whom they do not see: points (P,), each with up to S ways to face.

    A spot meter is a point of its own: what it looks at no other sees.
    """

    def __init__(self, receptors: Sequence[Receptor], away: Sequence[int]) -> None:
        points: dict[tuple[tuple[float, ...], int, int], list[int]] = {}
        for k, (receptor, person) in enumerate(zip(receptors, away, strict=True)):
            alone = k if receptor.spot is not None else -1
            points.setdefault((tuple(float(x) for x in receptor.at), person, alone), []).append(k)
        self.count = len(points)
        self.most = max(len(held) for held in points.values())
        place = {k: (p, s) for p, held in enumerate(points.values()) for s, k in enumerate(held)}
        self.place = np.array([place[k] for k in range(len(receptors))])
        self.at = _columns(np.array([at for at, _, _ in points], float))
        self.skip = mi.UInt32(column(np.array([NOTHING if p == NOBODY else p for _, p, _ in points], np.uint32)))
        self.number = mi.Float(column(np.array([len(held) for held in points.values()], np.float32)))
        axis = np.tile([0.0, 0.0, 1.0], (self.most, self.count, 1))
        kind, narrow = np.zeros((self.most, self.count), np.uint32), np.ones((self.most, self.count), np.float32)
        there = np.zeros((self.most, self.count), bool)
        for k, (p, s) in place.items():
            axis[s, p], kind[s, p], there[s, p] = receptors[k].normal, _kind(receptors[k]), True
            narrow[s, p] = 2 * math.sin((receptors[k].spot or 1.0) / 4) ** 2
        axis /= np.linalg.norm(axis, axis=2, keepdims=True)
        self.odd = bool(np.isin(kind, (_CYLINDER, _SPOT)).any())
        self.turned = [
            (_columns(axis[s]), mi.UInt32(column(kind[s])), mi.Float(column(narrow[s])), mi.Bool(column(there[s])))
            for s in range(self.most)
        ]

    def held(self, who: Any) -> Held:
        """The meters at the points numbered `who` (N,)."""
        facings = [
            Facing(
                mi.Vector3f(*(dr.gather(mi.Float, c, who) for c in axis)),
                dr.gather(mi.UInt32, kind, who),
                dr.gather(mi.Float, narrow, who) if self.odd else mi.Float(1.0),
                dr.gather(mi.Bool, there, who),
                self.odd,
            )
            for axis, kind, narrow, there in self.turned
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


def _kind(receptor: Receptor) -> int:
    if receptor.spot is not None:
        return _SPOT
    return _CYLINDER if receptor.cylinder else _DOME if receptor.dome else _FLAT


def _lanes(points: NDArray[np.int64], start: int, each: int) -> tuple[Any, Any, Any]:
    """For each path: the number of its batch (its own random site), its index there, its point."""
    size = dr.opaque(mi.UInt32, each)
    number = dr.arange(mi.UInt32, len(points) * BATCHES * each)
    batch = number // size
    who = dr.gather(mi.UInt32, mi.UInt32(column(points.astype(np.uint32))), batch // BATCHES)
    return who * BATCHES + batch % BATCHES, number % size + dr.opaque(mi.UInt32, start), who


def _columns(values: NDArray[np.float64]) -> list[Any]:
    return [mi.Float(np.ascontiguousarray(column(values)[:, k], np.float32)) for k in range(3)]


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

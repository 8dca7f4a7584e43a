"""The suns and skies of several hours of one day inside the renderer, for paths that serve them all.

A direction to the sky is drawn as for one hour, without regard to what shines there, and one shadow ray along it
serves every hour: each has its own luminance in that direction. The suns stand apart and each needs a ray of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.light.values import Daylight
from sidelong.place.values import Room
from sidelong.trace.engine import column, load
from sidelong.trace.hit import Hit
from sidelong.trace.lights import FAR, SUN_DENSITY, SUN_ONE_LESS, Seen, sun_luminance
from sidelong.trace.scene import Scene
from sidelong.trace.sensor import vector
from sidelong.trace.skydome import SkyDome, between, edges
from sidelong.trace.stage import sky_of
from sidelong.trace.stand_ins import Portal
from sidelong.trace.sunpatch import SunPatches, in_openings, over_directions, seen_point
from sidelong.trace.wavelengths import WavelengthTable
from sidelong.trace.world import World

mi, dr = load()

ROUNDING = 1e-4
"""How far beyond a room's box a point still counts as on its walls. [m]"""


class DayWorld(World):
    """A scene in the light of its emitters, and of the sun and the sky at each of several hours."""

    def __init__(self, scene: Scene, days: tuple[Daylight, ...], rooms: Sequence[Room]) -> None:
        super().__init__(replace(scene, daylight=None), None)
        self.rooms = [_box(room) for room in rooms]
        self.portals = [edges(p) for p in scene.portals]
        self.hours = Hours(days, scene.portals)
        lamps = list({e.name: e.spectrum for e in scene.emitters}.values())
        daily = [s for day in days for s in (day.sun_spectrum, day.sky_spectrum)]
        self.wavelengths = WavelengthTable((*lamps, *daily))
        self.hour_patches = HourPatches(self, days)

    def walled_in(self, point: Any, direction: Any) -> Any:
        """Whether a point lies in a room and the ray from there goes out by none of the openings: no sun is there."""
        inside = mi.Bool(False)
        for low, high in self.rooms:
            inside |= dr.all((point > low) & (point < high))
        return inside & ~in_openings(self.portals, point, direction)


class Hours:
    """`number` hours' suns and skies; `suns` those whose sun shines at all."""

    def __init__(self, days: tuple[Daylight, ...], portals: tuple[Portal, ...]) -> None:
        self.number = len(days)
        self.count = dr.opaque(mi.UInt32, self.number)
        self.to_sun = _columns(np.array([_unit(day) for day in days]))
        self.strength = mi.Float(column(np.array([sun_luminance(day) for day in days], np.float32)))
        skies = [table for table in map(sky_of, days) if table is not None]
        self.dome = SkyDome(skies[0], portals)
        # the hours side by side, since one direction is asked for all of them
        self.skies = mi.Float(np.stack([sky.luminance for sky in skies], axis=-1).astype(np.float32).ravel())

    def sun(self, hour: Any, spread: Any) -> Seen:
        """A point of the sun's disc at an hour, `spread` being one of a disc around the z axis."""
        direction = mi.Frame3f(self.towards(hour)).to_world(spread)
        return Seen(direction, mi.Float(FAR), dr.gather(mi.Float, self.strength, hour), mi.Float(SUN_DENSITY))

    def towards(self, hour: Any) -> Any:
        """Unit vector to the sun's middle at an hour, place frame."""
        return mi.Vector3f(*(dr.gather(mi.Float, axis, hour) for axis in self.to_sun))

    def missed_sun(self, hour: Any, direction: Any) -> tuple[Any, Any]:
        """As `Lights.missed_sun`, at an hour."""
        inside = 0.5 * dr.squared_norm(direction - self.towards(hour)) < SUN_ONE_LESS
        bright = dr.gather(mi.Float, self.strength, hour)
        return dr.select(inside, bright, 0.0), dr.select(inside, mi.Float(SUN_DENSITY), 0.0)

    def sky(self, hour: Any, cell: tuple[Any, Any, Any], direction: Any) -> Any:
        """Luminance of an hour's sky in a direction, which lies in a `cell` of the dome. [cd/m2]"""
        at, u, v = cell
        width = self.dome.size[1]
        corners = [dr.gather(mi.Float, self.skies, (at + k) * self.number + hour) for k in (0, 1, width, width + 1)]
        return between(corners, u, v, direction)


class HourPatches:
    """Points on surfaces that the sun reaches through the openings, hour by hour.

    `rows` of the hours that have any: `row_hour` the hour, its first point and their number; `chance` by the hour
    (0 where there are none).
    """

    def __init__(self, world: DayWorld, days: tuple[Daylight, ...]) -> None:
        portals = world.scene.portals
        found = [
            (hour, SunPatches(world, portals, _unit(day), day.sun_normal))
            for hour, day in enumerate(days)
            if day.sun_normal > 0
        ]
        found = [(hour, patches) for hour, patches in found if patches.count]
        self.rows = dr.opaque(mi.UInt32, len(found))
        self.any = bool(found)
        chance = np.zeros(len(days), np.float32)
        for hour, patches in found:
            chance[hour] = patches.per_area
        self.chance = mi.Float(column(chance))
        if not found:
            return
        counts = np.array([patches.count for _, patches in found], np.uint32)
        starts = np.cumsum(counts, dtype=np.uint32) - counts
        hours = np.array([hour for hour, _ in found], np.uint32)
        self.row_hour, self.row_start, self.row_count = (mi.UInt32(column(c)) for c in (hours, starts, counts))
        self.illuminance = mi.Float(column(np.array([day.sun_normal for day in days], np.float32)))
        hits = [patches.hit for _, patches in found]
        self.hit = Hit(*(_joined([getattr(hit, f.name) for hit in hits]) for f in fields(Hit)))
        self.ray = _joined([patches.ray for _, patches in found])
        # one number for all where there is no haze
        self.clear = _joined([patches.clear + dr.zeros(mi.Float, patches.count) for _, patches in found])

    def sample(self, world: World, row: Any, where: Any, number: Any, rows: list[Any]) -> tuple[Any, Seen, Any]:
        """The hour of a row, and one of its points as `SunPatches.sample` has it."""
        hour, count = dr.gather(mi.UInt32, self.row_hour, row), dr.gather(mi.UInt32, self.row_count, row)
        point = dr.minimum(mi.UInt32(number * mi.Float(count)), count - 1)
        point += dr.gather(mi.UInt32, self.row_start, row)
        sun = dr.gather(mi.Float, self.illuminance, hour), dr.gather(mi.Float, self.chance, hour)
        seen, colour = seen_point(world, (self.hit, self.ray, self.clear), point, where, rows, sun)
        return hour, seen, colour

    def density(self, world: DayWorld, hour: Any, hit: Hit, before: Any, to_sun: Any, passed: Any) -> Any:
        """As `SunPatches.density`, at an hour. [1/sr]"""
        way = hit.point - before
        distance = dr.norm(way)
        inside = in_openings(world.portals, hit.point, to_sun, world.hours.towards(hour))
        found = over_directions(dr.gather(mi.Float, self.chance, hour), hit, to_sun, way / distance, distance)
        return dr.select(inside, passed * found, 0.0)


def _box(room: Room) -> tuple[Any, Any]:
    """A room's lowest and highest corner, as far out as its own surfaces may seem to lie by rounding. [m]"""
    low = np.array(room.at, float)
    return vector(low - ROUNDING), vector(low + np.array(room.size, float) + ROUNDING)


def _unit(day: Daylight) -> NDArray[np.float64]:
    return np.asarray(np.asarray(day.to_sun, float) / np.linalg.norm(day.to_sun))


def _columns(rows: NDArray[np.float64]) -> list[Any]:
    return [mi.Float(np.ascontiguousarray(c)) for c in column(rows.astype(np.float32)).T]


def _joined(parts: list[Any]) -> Any:
    """Arrays of the renderer, one after the other."""
    return type(parts[0])(np.concatenate([np.array(part) for part in parts], axis=-1))

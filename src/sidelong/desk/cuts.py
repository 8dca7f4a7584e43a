"""Where the plane of focus and the zone within the blur limit cut the floor, the height of the eyes, and the upright
plane along the view: as lines and polygons for the page.

The zone is sampled on rays that leave the point of the cut nearest the camera, from the exact blur at every sample,
and its ends found between samples; nothing is taken to be flat.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.frames_of_reference import BodyFrame
from sidelong.lens.blur import blur
from sidelong.lens.curvature import defocus
from sidelong.lens.geometry import LensGeometry
from sidelong.lens.values import Film
from sidelong.place.bounds import bounding_box
from sidelong.sheet.cut import Cut, camera_cut, plan_cut, plane_trace
from sidelong.sheet.drawing import Box
from sidelong.shoot.values import Shoot

Array = NDArray[np.float64]
Shape = list[list[float]]

RAYS, SAMPLES = 19, 20
"""Rays of a fan, and samples along each."""
NEAREST = 0.15
"""The first sample of a ray. [m]"""
MARGIN = 1.5
"""Around rooms, people, marks and camera. [m]"""
FARTHEST = 200.0
"""No cut reaches farther from the camera. [m]"""


@dataclass(frozen=True)
class Sight:
    """A set lens in its place: what the cuts are made of. `limit` full major axis on the film [m]."""

    frame: BodyFrame
    glass: LensGeometry
    film: Film
    limit: float
    normal: Array
    offset: float


def bounds_of(shoot: Shoot) -> Array:
    """Lowest and highest corner (2, 3) of rooms, blocks and marks. [m]"""
    box = bounding_box(shoot.place) if shoot.place.rooms or shoot.place.blocks else np.empty((0, 3))
    found = np.array([*box, *(m.at for m in shoot.marks)] or [p.at for p in shoot.people] or [(0.0, 0.0, 0.0)], float)
    middle = np.median(found, axis=0)
    near = np.clip(found, middle - FARTHEST, middle + FARTHEST)
    return np.stack([near.min(axis=0), near.max(axis=0)])


def widened(bounds: Array, points: Sequence[tuple[float, float, float]]) -> Array:
    """Bounds (2, 3) that hold points too, and a margin around; no farther than FARTHEST from the first point. [m]"""
    found = np.array([*bounds, *points], float)
    first = np.array(points[0])
    near = np.clip(found, first - FARTHEST, first + FARTHEST)
    return np.stack([near.min(axis=0) - MARGIN, near.max(axis=0) + MARGIN])


def cuts_of(sight: Sight, bounds: Array, floor: float, eyes: float) -> dict[str, Any]:
    """The three cuts within bounds (2, 3), as the page gets them; `floor` and `eyes` are heights. [m]"""
    (x0, y0, z0), (x1, y1, z1) = bounds.tolist()
    plan: Box = (x0, y0, x1, y1)
    upright = camera_cut(sight.frame)
    along = [upright.project((x, y, 0.0))[0] for x in (x0, x1) for y in (y0, y1)]
    section: Box = (min(along), z0, max(along), z1)
    where = ((plan_cut(floor), plan), (plan_cut(eyes), plan), (upright, section))
    zones = zones_on(sight, where)
    on_floor, at_eyes, seen = (
        {"plane": plane_trace(cut, sight.normal, sight.offset, box), "zone": zone}
        for (cut, box), zone in zip(where, zones, strict=True)
    )
    return {
        "floor": {"height": floor, **on_floor},
        "eyes": {"height": eyes, **at_eyes},
        "elevation": {**seen, "origin": upright.origin.tolist(), "along": upright.across.tolist()},
    }


def zones_on(sight: Sight, where: Sequence[tuple[Cut, Box]]) -> list[list[Shape]]:
    """The zone on each cut, between the picture's edges that the cut shows and inside a box of its page. [m]"""
    fans = [_Fan.of(sight, cut, box) for cut, box in where]
    points = np.concatenate([fan.points for fan in fans])
    body = sight.frame.to_body(points)
    patch = blur(sight.glass, body)
    with np.errstate(all="ignore"):
        signed = patch.major / sight.limit * np.sign(defocus(sight.glass, body))
    zones, start = [], 0
    for fan in fans:
        zones.append(fan.zone(signed[start : start + len(fan.points)]))
        start += len(fan.points)
    return zones


@dataclass(frozen=True)
class _Fan:
    """Rays on a cut's page: `reach` (N, SAMPLES) of samples from `start` (2,) along `ways` (N, 2). [m]"""

    start: Array
    ways: Array
    reach: Array
    points: Array
    """(N SAMPLES, 3), place frame. [m]"""

    @classmethod
    def of(cls, sight: Sight, cut: Cut, box: Box) -> _Fan:
        start = np.array(cut.project(sight.frame.at))
        ways = _ways(sight, cut)
        first, last = _inside(start, ways, box)
        some = last > first
        ways, first, last = ways[some], first[some], last[some]
        reach = first[:, None] * (last / first)[:, None] ** np.linspace(0.0, 1.0, SAMPLES)
        page = start + reach[..., None] * ways[:, None, :]
        return cls(start, ways, reach, cut.lift(page.reshape(-1, 2)))

    def zone(self, signed: Array) -> list[Shape]:
        """Polygons where `signed` (N SAMPLES,), the blur over its limit, negative beyond focus, lies in -1..1.

        Along a ray it runs nearly straight over one part by the distance, and is cut so between samples.
        """
        value = np.where(np.isfinite(signed), signed, 1e6).reshape(self.reach.shape)
        ends: list[list[float]] = [[] for _ in self.ways]
        inverse = 1.0 / self.reach
        for level in (-1.0, 1.0):
            below = value < level
            rays, at = np.nonzero(below[:, 1:] != below[:, :-1])
            one, two = value[rays, at], value[rays, at + 1]
            share = (level - one) / (two - one)
            met = 1.0 / (inverse[rays, at] + share * (inverse[rays, at + 1] - inverse[rays, at]))
            for ray, distance in zip(rays.tolist(), met.tolist(), strict=True):
                ends[ray].append(distance)
        within = np.abs(value) <= 1.0
        runs = []
        for ray, found in enumerate(ends):
            found.sort()
            if within[ray, 0]:
                found.insert(0, float(self.reach[ray, 0]))
            if within[ray, -1]:
                found.append(float(self.reach[ray, -1]))
            runs.append(list(zip(found[::2], found[1::2], strict=False)))
        return _polygons(self.start, self.ways, runs)


def _ways(sight: Sight, cut: Cut) -> Array:
    """Directions (RAYS, 2) on the page between the picture's edges, as the cut shows them."""
    half = (sight.film.width, sight.film.height)[cut.film_axis] / 2
    reach = sight.glass.film_distance
    middle = sight.glass.principal[cut.film_axis]
    sides = np.linspace(-half, half, RAYS)
    body = np.zeros((RAYS, 3))
    body[:, cut.film_axis], body[:, 2] = sides + middle, reach
    place = sight.frame.direction_to_place(body)
    page = np.stack([place @ cut.across, place @ cut.up], axis=-1)
    size = np.linalg.norm(page, axis=1, keepdims=True)
    return np.asarray(page / np.where(size > 1e-9, size, 1.0))


def _inside(start: Array, ways: Array, box: Box) -> tuple[Array, Array]:
    """Where each ray (N, 2) from `start` enters and leaves the box, from NEAREST on; last < first where it misses."""
    low, high = np.array(box[:2]), np.array(box[2:])
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = (low - start) / ways, (high - start) / ways
    enter = np.nanmax(np.minimum(one, two), axis=1)
    leave = np.nanmin(np.maximum(one, two), axis=1)
    return np.maximum(enter, NEAREST), leave


def _polygons(start: Array, ways: Array, runs: Sequence[Sequence[tuple[float, float]]]) -> list[Shape]:
    """What runs along rays cover, those of neighbouring rays joined; a run alone covers nothing."""
    growing: list[list[tuple[int, float, float]]] = []
    done: list[list[tuple[int, float, float]]] = []
    for k, here in enumerate(runs):
        left, still = list(here), []
        as_many = len(left) == len(growing)  # then each goes on in the next, however aslant it lies
        for chain in growing:
            _, near, far = chain[-1]
            mate = next((run for run in left if as_many or (run[0] < far and run[1] > near)), None)
            if mate is None:
                done.append(chain)
            else:
                left.remove(mate)
                chain.append((k, *mate))
                still.append(chain)
        growing = still + [[(k, *run)] for run in left]
    shapes = []
    for chain in [*done, *growing]:
        if len(chain) > 1:
            rays = ways[[k for k, _, _ in chain]]
            reach = np.array([(near, far) for _, near, far in chain])
            nearer = start + reach[:, :1] * rays
            farther = (start + reach[:, 1:] * rays)[::-1]
            shapes.append(np.concatenate([nearer, farther]).tolist())
    return shapes

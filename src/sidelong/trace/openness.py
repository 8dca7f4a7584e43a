"""How open points of surfaces are: to the sky, to the ground outside, and to what stands close by.

What a coarse view of a place needs in place of light paths: three shares a point, of geometry alone.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.place.values import Place
from sidelong.trace.draws import Draws
from sidelong.trace.engine import computed, load
from sidelong.trace.lights import FAR
from sidelong.trace.sensor import vector
from sidelong.trace.stage import build
from sidelong.trace.stand_ins import Portal, portals
from sidelong.trace.values import Stage
from sidelong.trace.world import World, off

mi, dr = load()

Shares = NDArray[np.float32]

CLOSE = 0.8
"""What stands nearer than this counts as close by. [m]"""
_WALL = 0.6
"""How far beyond an opening's inner side a ray that goes down through it must be free: through the wall. [m]"""
_MOST = 1 << 18
_PORTAL, _AROUND = 0, 1


def openness(stage: Stage, points: Shares, normals: Shares, samples: int = 8, seed: int = 0) -> Shares:
    """Shares (N, 3) of the light that even surroundings would give a flat receptor on a surface: from the sky, from
    the ground outside, and from what is not close by. [-]

    `points`, `normals` (N, 3) place frame [m, -]. In a room the openings are summed over, one after the other,
    `samples` points each; outside, directions over the hemisphere. The error falls with the number of samples.
    """
    panes = [o.glass if o.glass is not None else 1.0 for room in stage.place.rooms for o in room.openings]
    # shadow rays are much quicker where nothing lets them through in part: panes count at their openings
    world = World(build(Stage(_without_panes(stage.place), stage.people, (), None)), None)
    holes = tuple(zip(portals(stage.place), panes, strict=True))
    inside = _inside(stage, points)
    found = np.zeros((len(points), 3), np.float32)
    for start in range(0, len(points), _MOST):
        some = slice(start, start + _MOST)
        found[some] = _shares(world, holes, points[some], normals[some], inside[some], samples, seed)
    return found


def _without_panes(place: Place) -> Place:
    rooms = [replace(r, openings=tuple(replace(o, glass=None) for o in r.openings)) for r in place.rooms]
    return replace(place, rooms=tuple(rooms))


def _inside(stage: Stage, points: Shares) -> NDArray[np.bool_]:
    """Which points lie in a room or on the inner side of its walls."""
    found = np.zeros(len(points), bool)
    for room in stage.place.rooms:
        low = np.array(room.at) - 1e-3
        high = low + np.array(room.size) + 2e-3
        found |= np.all((points > low) & (points < high), axis=1)
    return found


def _shares(
    world: World,
    holes: tuple[tuple[Portal, float], ...],
    points: Shares,
    normals: Shares,
    inside: NDArray[np.bool_],
    samples: int,
    seed: int,
) -> Shares:
    at = mi.Point3f(*(mi.Float(np.ascontiguousarray(points[:, k])) for k in range(3)))
    normal = mi.Normal3f(*(mi.Float(np.ascontiguousarray(normals[:, k])) for k in range(3)))
    frame = mi.Frame3f(normal)
    within = mi.Bool(np.ascontiguousarray(inside))
    # the same directions and points of openings everywhere: errors then vary as smoothly as what is looked for
    site = mi.UInt32(0)
    sky, ground, free = mi.Float(0.0), mi.Float(0.0), mi.Float(0.0)
    for index in range(samples):
        draws = Draws(site, mi.UInt32(index), seed)
        way = frame.to_world(mi.warp.square_to_cosine_hemisphere(draws.pair(_AROUND)))
        start = off(at, normal, way)
        close = world.unblocked(start, way, mi.Float(CLOSE))
        free += close
        far = world.unblocked(start, way, mi.Float(FAR), active=~within & (way.z > 0))
        sky += dr.select(within, 0.0, far)
        ground += dr.select(within | (way.z > 0), 0.0, close)
        for number, (hole, passes) in enumerate(holes):
            up, down = _through(world, hole, at, normal, draws.pair(_AROUND + 1 + number), within)
            sky += up * passes
            ground += down * passes
        computed(sky, ground, free)
    shares = np.stack([np.array(v, np.float32) for v in (sky, ground, free)], axis=1) / samples
    return np.asarray(np.clip(shares, 0.0, 1.0), np.float32)


def _through(world: World, hole: Portal, at: Any, normal: Any, pair: Any, within: Any) -> tuple[Any, Any]:
    """What a point of an opening adds, from the sky and from the ground outside."""
    there = vector(hole.corner) + vector(hole.across) * pair.x + vector(hole.up) * pair.y
    way = there - at
    squared = dr.maximum(dr.squared_norm(way), 1e-4)
    way = way * dr.rsqrt(squared)
    here, out = dr.dot(normal, way), dr.dot(vector(hole.normal), way)
    faces = within & (here > 0) & (out > 0)
    share = dr.select(faces, dr.minimum(here * out * hole.area / (squared * dr.pi), 1.0), 0.0)
    upward = way.z > 0
    reach = dr.select(upward, FAR, dr.sqrt(squared) + _WALL / dr.maximum(out, 0.2))
    share *= world.unblocked(off(at, normal, way), way, reach, active=faces)
    return dr.select(upward, share, 0.0), dr.select(upward, 0.0, share)

"""A plain scene as the tracer's own: pieces with finishes, emitters, openings for the sky, the medium's box."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import InputFault
from sidelong.geometry import builders
from sidelong.geometry.mesh import Mesh
from sidelong.light.sky import zenith_luminance
from sidelong.light.values import Daylight, Emitter, Vector
from sidelong.place.values import Air
from sidelong.spectra.grids import flat
from sidelong.spectra.values import Finish
from sidelong.trace.glass import clearest
from sidelong.trace.plain_checks import FACES, of_face
from sidelong.trace.plain_values import (
    Beam,
    Box,
    Disc,
    Gap,
    Medium,
    Opening,
    Pane,
    PlainScene,
    Point,
    Rectangle,
    Sky,
    Sphere,
)
from sidelong.trace.scene import NOBODY, Piece, Scene, lit, tables
from sidelong.trace.stand_ins import Portal, ball

Array = NDArray[np.float64]

ROUND = 256
"""Corners of the polygon that stands for a disc, of the same area."""
DIVIDED = 5
"""How often a sphere's faces are divided: 20 480 faces, within 2 in 10 000 of the radius."""
POINT_RADIUS = 1e-4
"""Of the balls and discs that stand for lights too small to measure; nothing in the scene is in their way. [m]"""
MOST_LIGHTS = 1000
EVERYWHERE = 1e3
"""A medium without a box reaches this far. [m]"""
_OUT_OF_SIGHT = 1e5


@dataclass
class _Made:
    """What has been made so far."""

    pieces: list[Piece] = field(default_factory=list)
    emitters: list[Emitter] = field(default_factory=list)
    portals: list[Portal] = field(default_factory=list)


def assembled(scene: PlainScene) -> Scene:
    """The scene as the tracer takes it.

    Raises
    ------
    InputFault
        A thing is of a kind that is not known, there are too many lights, or a medium without a box lies under a sky.
    """
    made = _Made()
    for thing in scene.things:
        _add(made, thing)
    if len(made.emitters) > MOST_LIGHTS:
        raise InputFault(
            f"{len(made.emitters)} surfaces and points shine; expected {MOST_LIGHTS} at most (a box that shines is 6)"
        )
    if not made.pieces:
        # the ray caster wants something to look for
        made.pieces.append(
            Piece(builders.rectangle([0, 0, -_OUT_OF_SIGHT], [1e-3, 0, 0], [0, 1e-3, 0]), _finish(0.0))
        )
    daylight = None if scene.sky is None else _daylight(scene.sky)
    air, box = _air(scene.medium, scene.sky)
    return lit(tables(made.pieces), tuple(made.emitters), daylight, tuple(made.portals), air, box)


def _add(made: _Made, thing: Any) -> None:
    if isinstance(thing, Rectangle):
        _add_rectangle(made, thing)
    elif isinstance(thing, Disc):
        _add_disc(made, thing)
    elif isinstance(thing, Sphere):
        _add_sphere(made, thing)
    elif isinstance(thing, Box):
        _add_box(made, thing)
    elif isinstance(thing, Pane):
        corner, u, v = (np.asarray(p, float) for p in (thing.corner, thing.edge_u, thing.edge_v))
        made.pieces.append(_pane(corner, u, v, thing.transmittance, thing.index))
    elif isinstance(thing, Gap):
        made.portals.append(_portal(*(np.asarray(p, float) for p in (thing.corner, thing.edge_u, thing.edge_v))))
    elif isinstance(thing, (Point, Beam)):
        made.emitters.append(_small(thing))
    else:
        raise InputFault(
            f"a plain scene holds something of type {type(thing).__name__}; expected Rectangle, Disc, Sphere, Box,"
            " Pane, Gap, Point or Beam (a Sky and a Medium are the scene's own)"
        )


def _finish(reflectance: float, transmittance: float = 0.0, mirror: float = 0.0) -> Finish:
    name = f"plain {reflectance!r} {transmittance!r} {mirror!r}"
    return Finish(name, flat(reflectance), diffuse=transmittance, mirror=mirror)


def _exitance(luminance: float | None, exitance: float | None) -> float:
    """What a surface gives out of its own. [lm/m2]"""
    return math.pi * luminance if luminance is not None else exitance if exitance is not None else 0.0


def _add_rectangle(made: _Made, thing: Rectangle) -> None:
    corner, u, v = (np.asarray(p, float) for p in (thing.corner, thing.edge_u, thing.edge_v))
    finish = _finish(thing.reflectance, thing.transmittance, thing.mirror)
    _add_flat(made, (corner, u, v), finish, _exitance(thing.luminance, thing.exitance), thing.shines, thing.name)


def _add_flat(
    made: _Made, at: tuple[Array, Array, Array], finish: Finish, exitance: float, shines: str | None, name: str
) -> None:
    """A rectangle from its corner along two edges; it shines along u x v ("front", "out"), against it, or both."""
    corner, u, v = at
    light = NOBODY
    if exitance > 0:
        axis = _unit(np.cross(u, v)) * (-1.0 if shines in ("back", "in") else 1.0)
        # a hair off square is made square
        up = _unit(v - u * (u @ v) / (u @ u))
        size = (float(np.linalg.norm(u)), float(np.linalg.norm(v)))
        light = len(made.emitters)
        both = shines == "both"
        flux = exitance * size[0] * size[1] * (2 if both else 1)
        middle = corner + 0.5 * (u + v)
        made.emitters.append(_front(name, flux, middle, (axis, up), "rectangle", size, both))
    made.pieces.append(Piece(builders.rectangle(corner, u, v), finish, light=light))


def _add_disc(made: _Made, thing: Disc) -> None:
    centre, normal = np.asarray(thing.centre, float), _unit(np.asarray(thing.normal, float))
    x, y = _square_to(normal)
    exitance = _exitance(thing.luminance, thing.exitance)
    light = NOBODY
    if exitance > 0:
        axis = -normal if thing.shines == "back" else normal
        size = (2 * thing.radius, 2 * thing.radius)
        light = len(made.emitters)
        both = thing.shines == "both"
        flux = exitance * math.pi * thing.radius**2 * (2 if both else 1)
        made.emitters.append(_front(thing.name, flux, centre, (axis, y), "disc", size, both))
    radius = thing.radius * math.sqrt(math.pi / (ROUND / 2 * math.sin(2 * math.pi / ROUND)))
    angle = np.arange(ROUND) * (2 * math.pi / ROUND)
    rim = centre + radius * (np.cos(angle)[:, None] * x + np.sin(angle)[:, None] * y)
    fan = np.array([[ROUND, k, (k + 1) % ROUND] for k in range(ROUND)], np.int64)
    finish = _finish(thing.reflectance, thing.transmittance, thing.mirror)
    made.pieces.append(Piece(Mesh(np.vstack([rim, centre]), fan), finish, light=light))


def _add_sphere(made: _Made, thing: Sphere) -> None:
    exitance = _exitance(thing.luminance, thing.exitance)
    light = NOBODY
    if exitance > 0:
        light = len(made.emitters)
        made.emitters.append(
            Emitter(
                name=thing.name,
                kind="steady",
                pattern="sphere",
                flux=exitance * 4 * math.pi * thing.radius**2,
                spectrum=flat(1.0),
                at=_vector(np.asarray(thing.centre, float)),
                axis=(0.0, 0.0, 1.0),
                up=(0.0, 1.0, 0.0),
                size=(2 * thing.radius, 2 * thing.radius),
                inward=thing.shines == "in",
            )
        )
    mesh = ball(np.asarray(thing.centre, float), thing.radius, DIVIDED)
    finish = _finish(thing.reflectance, thing.transmittance, thing.mirror)
    made.pieces.append(Piece(mesh, finish, light=light))


def _add_box(made: _Made, box: Box) -> None:
    low, size = np.asarray(box.low, float), np.asarray(box.high, float) - np.asarray(box.low, float)
    for number, face in enumerate(FACES):
        axis, upper = divmod(number, 2)
        across = [k for k in range(3) if k != axis]
        u, v, out = np.eye(3)[across[0]], np.eye(3)[across[1]], np.eye(3)[axis] * (1.0 if upper else -1.0)
        corner = low + (np.eye(3)[axis] * size if upper else 0.0)
        holes = [hole for hole in box.openings if hole.face == face]
        luminance, exitance = of_face(box.luminance, face), of_face(box.exitance, face)
        own = _exitance(luminance, exitance)
        finish = _finish(of_face(box.reflectance, face))
        for start, length in _cells((float(size[across[0]]), float(size[across[1]])), holes):
            edges = _facing(u * length[0], v * length[1], out)
            here = corner + u * start[0] + v * start[1]
            _add_flat(made, (here, *edges), finish, own, box.shines, box.name)
        for hole in holes:
            start3 = corner + u * hole.at[0] + v * hole.at[1]
            edges = _facing(u * hole.size[0], v * hole.size[1], out)
            made.portals.append(_portal(start3, *edges))
            if hole.transmittance is not None or hole.index is not None:
                made.pieces.append(_pane(start3, *edges, hole.transmittance, hole.index))


def _facing(u: Array, v: Array, out: Array) -> tuple[Array, Array]:
    """The two edges in the order in which their cross product points out."""
    return (u, v) if float(np.cross(u, v) @ out) > 0 else (v, u)


def _cells(
    size: tuple[float, float], holes: list[Opening]
) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """Rectangles (start, size) that make up a face without its holes."""
    cuts = []
    for k in (0, 1):
        ends = [x for h in holes for x in (h.at[k], h.at[k] + h.size[k])]
        cuts.append(sorted({0.0, size[k], *(min(max(x, 0.0), size[k]) for x in ends)}))
    for a, b in zip(cuts[0], cuts[0][1:], strict=False):
        for c, d in zip(cuts[1], cuts[1][1:], strict=False):
            x, y = (a + b) / 2, (c + d) / 2
            inside = any(h.at[0] < x < h.at[0] + h.size[0] and h.at[1] < y < h.at[1] + h.size[1] for h in holes)
            if not inside and b - a > 1e-9 and d - c > 1e-9:
                yield (a, c), (b - a, d - c)


def _pane(corner: Array, u: Array, v: Array, transmittance: float | None, index: float | None) -> Piece:
    straight = transmittance if transmittance is not None else clearest(index if index is not None else 1.0)
    finish = Finish(f"plain pane {straight!r} {index!r}", flat(0.0), straight=straight, index=index)
    return Piece(builders.rectangle(corner, u, v), finish)


def _portal(corner: Array, u: Array, v: Array) -> Portal:
    return Portal(corner, u, v, _unit(np.cross(u, v)))


def _front(
    name: str, flux: float, at: Array, axes: tuple[Array, Array], shape: Any, size: tuple[float, float], both: bool
) -> Emitter:
    axis, up = axes
    spectrum = flat(1.0)
    return Emitter(
        name, "steady", "lambert", flux, spectrum, _vector(at), _vector(axis), _vector(up), shape, size, both=both
    )


def _small(light: Point | Beam) -> Emitter:
    size = (2 * POINT_RADIUS, 2 * POINT_RADIUS)
    at, spectrum = _vector(np.asarray(light.at, float)), flat(1.0)
    if isinstance(light, Point):
        flux = 4 * math.pi * light.intensity
        return Emitter(
            light.name, "steady", "sphere", flux, spectrum, at, (0.0, 0.0, 1.0), (0.0, 1.0, 0.0), "disc", size
        )
    axis = _unit(np.asarray(light.towards, float))
    exponent = math.log(0.5) / math.log(math.cos(light.beam / 2))
    flux = 2 * math.pi * light.intensity / (exponent + 1)
    up = _vector(_square_to(axis)[1])
    return Emitter(light.name, "steady", "beam", flux, spectrum, at, _vector(axis), up, "disc", size, light.beam)


def _daylight(sky: Sky) -> Daylight:
    to_sun = _unit(np.asarray(sky.to_sun, float))
    horizontal = sky.horizontal if sky.horizontal is not None else 0.0
    if sky.zenith is not None:
        horizontal = sky.zenith / zenith_luminance(sky.kind, to_sun)
    elevation = math.asin(max(-1.0, min(1.0, float(to_sun[2]))))
    return Daylight(_vector(to_sun), elevation, 0.0, sky.sun, horizontal, flat(1.0), flat(1.0), sky.kind)


def _air(medium: Medium | None, sky: Sky | None) -> tuple[Air | None, tuple[Array, Array] | None]:
    if medium is None or medium.extinction == 0:
        return None, None
    air = Air(medium.extinction, medium.g, medium.albedo)
    if medium.low is None or medium.high is None:
        if sky is not None:
            raise InputFault(
                "a medium without a box under a sky would swallow it; expected low and high corners of the medium"
            )
        return air, (np.full(3, -EVERYWHERE), np.full(3, EVERYWHERE))
    low, high = np.asarray(medium.low, float), np.asarray(medium.high, float)
    if np.min(high - low) <= 0:
        raise InputFault(
            f"a medium's box runs from {medium.low} to {medium.high}; expected a high corner above the low"
        )
    return air, (low, high)


def _unit(vector: Array) -> Array:
    return np.asarray(vector / np.linalg.norm(vector))


def _square_to(axis: Array) -> tuple[Array, Array]:
    """Two unit vectors square to a unit vector and to one another."""
    aside = np.eye(3)[int(np.argmin(np.abs(axis)))]
    x = _unit(np.cross(aside, axis))
    return x, np.asarray(np.cross(axis, x))


def _vector(values: Array) -> Vector:
    return float(values[0]), float(values[1]), float(values[2])

"""Where what makes a shot's light gets into its picture: seen straight, as a shadow, mirrored; and whom it shades.

Rays go through the moved lens, by the pupil's centre, into the place with people, heads, stands and panels; from what
they meet, on to every light, and from what mirrors, on to what is mirrored there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.lens.chief import chief_rays
from sidelong.lens.geometry import geometry_of
from sidelong.light.patterns import is_ball
from sidelong.plan.gear import Gear, gear_of
from sidelong.plan.sources import Source, sources_of
from sidelong.plan.values import ShotPlan
from sidelong.spectra.grids import flat
from sidelong.spectra.values import Finish
from sidelong.trace.scene import Piece, Tables, bodies, tables
from sidelong.trace.sight import Sight
from sidelong.trace.stage import build

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

ACROSS, ACROSS_COARSE = 360, 120
"""Rays over the picture's width, for what is seen and mirrored, and for shadows."""
SHADED = 0.02
"""Part of a light that must be hidden from someone's eyes before it is told."""
DEEP = 0.25
"""Part of a light that must be hidden from a place for its shadow there to count; our own figure."""
SMALL = 2e-4
"""Share of the picture under which nothing is told; our own figure."""
GLOSSY = 0.15
"""Roughness up to which a surface shows a light as a mirror does; our own figure."""
FAINT = 5.0
"""A light that lies so far under the whole at everyone throws no shadow that is seen. [stops]"""
_OFF = 2e-4


@dataclass(frozen=True)
class Seen:
    """A light, stand, panel or frame in the picture. `share` of the picture's area that shows it, and `hidden`: the
    part of what would show that stands behind something; `at`: the middle of what shows (of all where nothing does),
    from the film's centre, upright. [m]"""

    name: str
    kind: str
    share: float
    hidden: float
    at: tuple[float, float]


@dataclass(frozen=True)
class Shade:
    """What the thing `name` of a `kind` hides of a `light` from someone's eyes: `part` of its front or disc. [-]"""

    name: str
    kind: str
    light: str
    who: str
    part: float


@dataclass(frozen=True)
class Shadow:
    """The shadow of a thing from a `light` as it falls in the picture: share, what it falls `on`, its middle [m]."""

    name: str
    kind: str
    light: str
    on: str
    share: float
    at: tuple[float, float]


@dataclass(frozen=True)
class Mirrored:
    """A light's front mirrored in a surface of a `finish` in the picture: share, and its middle. [m]"""

    name: str
    finish: str
    share: float
    at: tuple[float, float]


@dataclass(frozen=True)
class InPicture:
    """All that gets into a shot's picture, and the shades on people."""

    seen: tuple[Seen, ...]
    shades: tuple[Shade, ...]
    shadows: tuple[Shadow, ...]
    mirrored: tuple[Mirrored, ...]


NOTHING = InPicture((), (), (), ())


@dataclass(frozen=True)
class _Set:
    """The place with everyone in it, `fixed` its clear faces; the gear, whose faces belong to `owner` (F,)."""

    standing: Sight
    fixed: Flags
    gear: tuple[Gear, ...]
    brought: Sight
    owner: NDArray[np.int64]


@dataclass(frozen=True)
class _Rays:
    """Rays of the picture: film points (N, 2), from (3,) along (N, 3), place frame; what a ray stands for. [m, -]"""

    image: Array
    start: Array
    way: Array
    share: float

    def middle(self, some: Flags | NDArray[np.int64]) -> tuple[float, float]:
        """Of some of them on the film. [m]"""
        x, y = self.image[some].mean(axis=0)
        return float(x), float(y)


def in_picture(plan: ShotPlan) -> InPicture:
    """What of a planned shot's heads, stands, panels and frames gets into the picture, and whom they shade.

    Raises
    ------
    Missing
        This machine has nothing to trace rays with.
    """
    shot = plan.shot
    panels = sum(1 for light in shot.lights if light.bounce is not None and light.bounce.panel is not None)
    gear = gear_of(plan.stage, panels, len(shot.sheets))
    if not gear:
        return NOTHING
    around = _set(plan, gear, panels + len(shot.sheets))
    fine, coarse = _rays(plan, ACROSS), _rays(plan, ACROSS_COARSE)
    sources = _that_count(plan, sources_of(plan.stage, shot))
    return InPicture(
        _seen(around, fine),
        tuple(s for person in range(len(plan.stage.people)) for s in _shades(plan, around, sources, person)),
        _shadows(plan, around, sources, coarse),
        _mirrored(plan, around, fine),
    )


def _set(plan: ShotPlan, gear: tuple[Gear, ...], sheets: int) -> _Set:
    """The stage's own triangles with the gear's faces clear, and the gear by itself."""
    solids = build(plan.stage).solids
    count = len(solids.faces)
    lights = sum(len(piece.mesh.faces) for piece in bodies(plan.stage.emitters))
    first = count - lights - 2 * len(plan.stage.sheets)
    clear = _open_faces(solids)
    clear[first : first + 2 * sheets] = True
    clear[count - lights :] = True
    black = Finish("gear", flat(0.0))
    brought = tables([Piece(g.mesh, black) for g in gear])
    owner = np.repeat(np.arange(len(gear)), [len(g.mesh.faces) for g in gear])
    return _Set(Sight(solids), clear, gear, Sight(brought), owner)


def _open_faces(solids: Tables) -> Flags:
    """Faces that let most light straight through."""
    through = np.array([finish.straight > 0.5 for finish in solids.finishes], bool)
    return np.asarray(through[solids.finish])


def _rays(plan: ShotPlan, across: int) -> _Rays:
    film = plan.shot.body.film
    columns, rows = across, max(1, round(across * film.height / film.width))
    x = ((np.arange(columns) + 0.5) / columns - 0.5) * film.width
    y = ((np.arange(rows) + 0.5) / rows - 0.5) * film.height
    image = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    start, way = chief_rays(geometry_of(plan.focus.setting), image)
    frame = plan.focus.frame
    return _Rays(image, frame.to_place(start), frame.direction_to_place(way), 1.0 / len(image))


def _that_count(plan: ShotPlan, sources: Sequence[Source]) -> list[Source]:
    """The lights that give somebody a share worth speaking of."""
    count = {at.light for point in plan.light.points for at in point.lights if at.stops > point.total_stops - FAINT}
    return [source for source in sources if source.name in count or not plan.light.points]


def _seen(around: _Set, rays: _Rays) -> tuple[Seen, ...]:
    start = np.broadcast_to(rays.start, rays.way.shape)
    distance, face = around.brought.first(start, rays.way, np.zeros(len(around.owner), bool))
    behind, _ = around.standing.first(start, rays.way, around.fixed)
    found = []
    shows = (face >= 0) & (distance < behind)
    for number, gear in enumerate(around.gear):
        # what would show if nothing but the gear itself stood there
        own = around.owner == number
        would = around.brought.first(start, rays.way, ~own)[1] >= 0
        here = shows & own[face]
        if would.mean() < SMALL:
            continue
        hidden = float(1.0 - here.sum() / would.sum())
        at = rays.middle(here if here.any() else would)
        found.append(Seen(gear.name, gear.kind, float(here.mean()), hidden, at))
    return tuple(found)


def _shades(plan: ShotPlan, around: _Set, sources: Sequence[Source], person: int) -> list[Shade]:
    """What hides more than SHADED of a light from a person's eyes, frames left out: they are put there to do so."""
    who = plan.stage.people[person].name
    eyes = np.array(next(point.at for point in plan.focus.points if point.name == who))
    clear = around.fixed | (around.standing.solids.person == person)
    found = []
    for source in sources:
        way, reach = source.towards(eyes[None])
        start = np.broadcast_to(eyes, way[0].shape)
        lit = (reach[0] > 0) & ~around.standing.blocked(start, way[0], clear, reach[0])
        if not lit.any():
            continue
        face = around.brought.first(start[lit], way[0][lit], _own(around, source), reach[0][lit])[1]
        for number, gear in enumerate(around.gear):
            part = float(np.mean((face >= 0) & (around.owner[face] == number)))
            if part > SHADED:
                found.append(Shade(gear.name, gear.kind, source.name, who, part))
    return found


def _own(around: _Set, source: Source) -> Flags:
    """Faces of the gear that a light's own rays do not meet: its own, and frames."""
    own = [g.kind == "frame" or g.name == source.name or g.name == source.panel for g in around.gear]
    return np.asarray(np.array(own, bool)[around.owner])


def _shadows(plan: ShotPlan, around: _Set, sources: Sequence[Source], rays: _Rays) -> tuple[Shadow, ...]:
    start = np.broadcast_to(rays.start, rays.way.shape)
    distance, face = around.standing.first(start, rays.way, around.fixed)
    before = around.brought.blocked(start, rays.way, np.zeros(len(around.owner), bool), distance)
    met = (face >= 0) & ~before
    normal = around.standing.solids.facing[face].astype(float)
    normal *= np.where(np.sum(normal * rays.way, axis=1) > 0, -1.0, 1.0)[:, None]
    points = rays.start + rays.way * np.where(met, distance, 0.0)[:, None] + normal * _OFF
    found = []
    for source in (one.fewer(4) for one in sources):
        thrower = _throwers(around, source, points[met], normal[met])
        for number, gear in enumerate(around.gear):
            falls = np.flatnonzero(met)[thrower == number]
            if len(falls) * rays.share < SMALL:
                continue
            on = _surface(plan, around, face[falls], normal[falls])
            share = len(falls) * rays.share
            found.append(Shadow(gear.name, gear.kind, source.name, on, share, rays.middle(falls)))
    return tuple(found)


def _throwers(around: _Set, source: Source, points: Array, normal: Array) -> NDArray[np.int64]:
    """Which gear takes most of a light from points (N, 3), where it takes DEEP of what the place lets there; -1."""
    way, reach = source.towards(points)
    count = way.shape[1]
    start, flat_way, far = np.repeat(points, count, axis=0), way.reshape(-1, 3), reach.ravel()
    lit = (far > 0) & (np.sum(np.repeat(normal, count, axis=0) * flat_way, axis=1) > 1e-3)
    lit[lit] = ~around.standing.blocked(start[lit], flat_way[lit], around.fixed, far[lit])
    owner = np.full(len(lit), -1, np.int64)
    face = around.brought.first(start[lit], flat_way[lit], _own(around, source), far[lit])[1]
    owner[lit] = np.where(face >= 0, around.owner[face], -1)
    table = owner.reshape(-1, count)
    total = lit.reshape(-1, count).sum(axis=1)
    taken = np.stack([(table == k).sum(axis=1) for k in range(len(around.gear))], axis=1)
    deep = taken.sum(axis=1) >= np.maximum(DEEP * total, 1.0)
    return np.asarray(np.where(deep, taken.argmax(axis=1), -1))


def _surface(plan: ShotPlan, around: _Set, face: NDArray[np.int64], normal: Array) -> str:
    """What most of some faces belong to, in a word: somebody, the floor, a wall, the ceiling."""
    people = around.standing.solids.person[face]
    words = np.where(normal[:, 2] > 0.9, "floor", np.where(normal[:, 2] < -0.9, "ceiling", "wall")).astype(object)
    for index, person in enumerate(plan.stage.people):
        words[people == index] = person.name
    names, counts = np.unique(words.astype(str), return_counts=True)
    return str(names[counts.argmax()])


def _mirrored(plan: ShotPlan, around: _Set, rays: _Rays) -> tuple[Mirrored, ...]:
    """Fronts in what mirrors: rays turned back at the first glossy face, a pane being glossy and clear at once."""
    solids = around.standing.solids
    glossy = np.array([_mirrors(finish) for finish in solids.finishes], bool)[solids.finish]
    start = np.broadcast_to(rays.start, rays.way.shape)
    distance, face = around.standing.first(start, rays.way, around.fixed & ~glossy)
    before = around.brought.blocked(start, rays.way, np.zeros(len(around.owner), bool), distance)
    here = np.flatnonzero((face >= 0) & glossy[face] & ~before)
    normal = solids.facing[face[here]].astype(float)
    way = rays.way[here] - 2 * np.sum(rays.way[here] * normal, axis=1)[:, None] * normal
    points = rays.start + rays.way[here] * distance[here, None] + way * 1e-3
    far, there = around.brought.first(points, way, np.zeros(len(around.owner), bool))
    free = (there >= 0) & ~around.standing.blocked(points, way, around.fixed, far)
    found = []
    for number, gear in enumerate(around.gear):
        emitters = [e for e in plan.stage.emitters if gear.kind == "light" and e.name == gear.name]
        faces = [is_ball(e) | (way @ np.array(e.axis) < 0) for e in emitters]
        if not faces:
            continue
        shows = free & (around.owner[there] == number) & np.any(faces, axis=0)
        for kind in np.unique(solids.finish[face[here[shows]]]):
            some = here[shows & (solids.finish[face[here]] == kind)]
            share = len(some) * rays.share
            if share >= SMALL:
                found.append(Mirrored(gear.name, solids.finishes[int(kind)].name, share, rays.middle(some)))
    return tuple(found)


def _mirrors(finish: Finish) -> bool:
    clear = finish.index is not None or finish.mirror > 0
    return clear or (finish.roughness is not None and finish.roughness <= GLOSSY)

"""What the balance may change beside powers and exposure: the gels of a head, and how far it stands from its aim.

What is drawn stays as it is where it serves. Where wishes cannot be met so, the least change that lets them is taken:
gels by how far they leave the colour, then distances by how many stops they change. Lights at other distances are
metered at a few and their logarithm interpolated between; where a head ends up, everything is metered again.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.light.balance_obstacles import can_be_met
from sidelong.light.balance_search import KEPT, least_miss, problem_of
from sidelong.light.balance_wish import LightWish, LitPoints, Means
from sidelong.light.gel_pack import GelPack, gel_packs
from sidelong.light.values import Vector
from sidelong.place.containment import inside_block, inside_wall
from sidelong.plan.metered import meter_cards
from sidelong.plan.stage import head_names, stage_at_full_power
from sidelong.plan.values import ColourOutcome
from sidelong.shoot.values import Shoot, Shot, ShotLight
from sidelong.spectra.illuminants import flash
from sidelong.trace.quality import FIRST_SAMPLES
from sidelong.units import metres_in_words

Array = NDArray[np.float64]

METERED_AT = 5
"""Distances that a head which may be moved is metered at, evenly in stops."""
STEP = 2 ** (1 / 6)
"""Distances tried: each changes a small light by a third of a stop."""
MOST_TRIED = 1000
"""Sets of gels and distances that are looked at, the smallest changes first."""
_HIDDEN = -40.0
"""Stands for no light at all. [log2 of lx s]"""
GEL_CHANGE = 0.1
"""Stops of distance that a mired of colour counts as much as. Our own figure."""


@dataclass(frozen=True)
class Place:
    """A head at a distance from its aim: where that is [m], what a card at every point gets of it there (P,), by how
    many stops it was moved."""

    distance: float
    at: Vector
    light: Array
    moved: float


@dataclass(frozen=True)
class Choice:
    """A place and gels for every head, and how great a change that is from what is drawn. [stops]"""

    places: tuple[Place | None, ...]
    packs: tuple[GelPack | None, ...]
    change: float


def packs_of(shoot: Shoot, shot: Shot) -> tuple[tuple[GelPack, ...], ...]:
    """For each head the gels that give the colour wished of it, within what it may be off, nearest first; the nearest
    alone where none is so near; nothing where no colour is wished."""
    wished = {wish.light: wish for wish in shot.colour_wishes}
    found: list[tuple[GelPack, ...]] = []
    for name, light in zip(head_names(shot), shot.lights, strict=True):
        if name not in wished:
            found.append(())
            continue
        bare = light.strobe.spectrum if light.strobe.spectrum is not None else flash(light.strobe.kelvin)
        packs = gel_packs(bare, tuple(shoot.kit.gels.values()), wished[name].kelvin)
        within = tuple(pack for pack in packs if pack.off <= wished[name].within_mired)
        found.append(within or packs[:1])
    return tuple(found)


def with_packs(shot: Shot, packs: Sequence[GelPack | None]) -> Shot:
    """The shot with these gels on its heads; None leaves a head's own."""
    lights = (
        light if pack is None else replace(light, gels=pack.gels)
        for light, pack in zip(shot.lights, packs, strict=True)
    )
    return replace(shot, lights=tuple(lights))


def colours_of(shot: Shot, packs: Sequence[GelPack | None]) -> tuple[ColourOutcome, ...]:
    """What comes of the wishes for colour with these gels."""
    wished = {wish.light: wish for wish in shot.colour_wishes}
    return tuple(
        ColourOutcome(name, wished[name].kelvin, pack.kelvin, pack.off, wished[name].within_mired, pack.gels)
        for name, pack in zip(head_names(shot), packs, strict=True)
        if pack is not None
    )


def can_move(shot: Shot) -> bool:
    """Whether any head may be put elsewhere."""
    return any(light.reach is not None for light in shot.lights)


def least_change(
    shoot: Shoot, shot: Shot, case: tuple[LitPoints, tuple[LightWish, ...], Means], packs: Sequence[Sequence[GelPack]]
) -> Choice | None:
    """The least change of gels and distances that lets every wish be met, else that comes nearest; None if nothing is
    nearer than what is drawn. `case` is what is drawn, its gels the first of `packs`."""
    lit, wishes, means = case
    choices = _choices(shoot, shot, lit, packs, {lit.points[wish.point] for wish in wishes})
    for choice in choices:
        if can_be_met(_lit_with(lit, choice, packs), wishes, means) is not None:
            return choice
    best: Choice | None = None
    least = _worst(lit, wishes, means, math.inf)
    for choice in choices:
        worst = _worst(_lit_with(lit, choice, packs), wishes, means, least - KEPT)
        if worst < least - KEPT:
            best, least = choice, worst
    return best


def changed(shot: Shot, choice: Choice) -> Shot:
    """The shot with a choice made."""
    lights = []
    for light, place in zip(with_packs(shot, choice.packs).lights, choice.places, strict=True):
        lights.append(light if place is None else replace(light, at=place.at))
    return replace(shot, lights=tuple(lights))


def changes_in_words(shot: Shot, choice: Choice, imperial: bool = False) -> tuple[str, ...]:
    """What a choice moves, in words."""
    said = []
    for name, light, place in zip(head_names(shot), shot.lights, choice.places, strict=True):
        if place is not None and abs(place.moved) > 1e-6:
            before, after = (metres_in_words(d, imperial) for d in (math.dist(light.at, light.aim), place.distance))
            said.append(f"{name} stands {after} from its aim instead of {before}")
    return tuple(said)


def at_distance(light: ShotLight, distance: float) -> Vector:
    """Where a light stands at a distance from its aim, on the line that it stands on. Place frame [m]."""
    aim = np.array(light.aim)
    away = np.array(light.at) - aim
    x, y, z = aim + away / np.linalg.norm(away) * distance
    return float(x), float(y), float(z)


def is_free(shoot: Shoot, at: Vector) -> bool:
    """Whether a head can stand there: in no wall, block or floor."""
    return at[2] > 0.1 and not bool(inside_wall(shoot.place, np.array(at))) and inside_block(shoot.place, at) is None


def _choices(
    shoot: Shoot, shot: Shot, lit: LitPoints, packs: Sequence[Sequence[GelPack]], names: Collection[str]
) -> list[Choice]:
    options: list[list[tuple[Place | None, GelPack | None]]] = []
    for k in range(len(shot.lights)):
        places: list[Place | None] = [*_places(shoot, shot, k, lit, names)] or [None]
        worn: list[GelPack | None] = [*packs[k]] or [None]
        options.append([(place, pack) for place in places for pack in worn])
    made = []
    for some in itertools.islice(itertools.product(*options), 50 * MOST_TRIED):
        change = sum(abs(place.moved) for place, _ in some if place is not None)
        change += sum(
            GEL_CHANGE * (pack.off - packs[k][0].off) for k, (_, pack) in enumerate(some) if pack is not None
        )
        made.append(Choice(tuple(place for place, _ in some), tuple(pack for _, pack in some), change))
    return sorted(made, key=lambda choice: choice.change)[:MOST_TRIED]


def _places(shoot: Shoot, shot: Shot, head: int, lit: LitPoints, names: Collection[str]) -> list[Place]:
    """Where a head may stand: what is drawn, and every third of a stop within its reach."""
    light = shot.lights[head]
    if light.reach is None:
        return []
    drawn = math.dist(light.at, light.aim)
    near, far = light.reach
    count = math.floor(math.log(far / near) / math.log(STEP) + 1e-6)
    marks = sorted({*(near * STEP**k for k in range(count + 1)), far})
    tried = [d for d in marks if is_free(shoot, at_distance(light, d))]
    here = Place(drawn, light.at, lit.flash[:, head], 0.0)
    if not tried:
        return [here]
    nodes = np.array(sorted({*np.geomspace(tried[0], tried[-1], METERED_AT)}))
    metered = np.array([metered_at(shoot, shot, head, float(d), names) for d in nodes])
    logs = np.log2(np.maximum(metered, 2.0**_HIDDEN))
    return [here] + [
        Place(d, at_distance(light, d), between(nodes, logs, d), 2 * math.log2(drawn / d)) for d in tried
    ]


def between(nodes: Array, logs: Array, distance: float) -> Array:
    """Light at every point (P,) between the distances metered: a cubic through the logarithms, within 0.004 stop of a
    0.9 x 1.2 m front over three octaves; straight lines where a head is hidden at some of them."""
    from scipy.interpolate import CubicSpline  # late: slow import

    x, at = np.log2(nodes), math.log2(distance)
    lines = np.array([np.interp(at, x, logs[:, p]) for p in range(logs.shape[1])])
    if len(nodes) < 4:
        return np.asarray(2.0**lines)
    seen = np.all(logs > _HIDDEN, axis=0)
    smooth = CubicSpline(x, np.where(seen, logs, 0.0))(at)
    return np.asarray(2.0 ** np.where(seen, smooth, lines))


def metered_at(shoot: Shoot, shot: Shot, head: int, distance: float, names: Collection[str]) -> Array:
    """What cards at some people and marks get of one head alone at a distance from its aim, at full power (P,), 0 at
    everyone else. [lx s or lx]"""
    light = replace(shot.lights[head], at=at_distance(shot.lights[head], distance))
    lights = (*shot.lights[:head], light, *shot.lights[head + 1 :])
    stage = stage_at_full_power(shoot, replace(shot, lights=lights))
    alone = replace(stage, emitters=(stage.emitters[head],), daylight=None)
    return meter_cards(shoot, shot, alone, FIRST_SAMPLES, names)[:, 0]


def _lit_with(lit: LitPoints, choice: Choice, packs: Sequence[Sequence[GelPack]]) -> LitPoints:
    light = lit.flash.copy()
    for k, (place, pack) in enumerate(zip(choice.places, choice.packs, strict=True)):
        if place is not None:
            light[:, k] = place.light
        if pack is not None:
            light[:, k] *= pack.passed / packs[k][0].passed
    return replace(lit, flash=light)


def _worst(lit: LitPoints, wishes: tuple[LightWish, ...], means: Means, most: float) -> float:
    found = least_miss(problem_of(lit, wishes, means), np.full(len(wishes), np.inf), KEPT, most)
    return math.inf if found is None else found.value

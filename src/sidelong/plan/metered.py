"""What meters say at everyone of a shot, light by light, every head at full power."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import InputFault
from sidelong.light.exposure import GREY, card_stops
from sidelong.light.readings import Learned, corrected
from sidelong.light.values import Vector
from sidelong.place.openings import opening_frame
from sidelong.plan.precision import TOTAL_ERROR, in_stops
from sidelong.plan.stage import head_names, light_middle
from sidelong.shoot.names import point_of
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.clearance import in_front
from sidelong.trace.meter import meter
from sidelong.trace.stage import build
from sidelong.trace.values import Metered, Progress, Receptor, Stage

Array = NDArray[np.float64]

SPOT = math.radians(1.0)
"""Full angle of the spot meter that looks at windows and blocks. [rad]"""


@dataclass(frozen=True)
class Exposed:
    """What the film makes of light: true stop and speed, ND on the lens [stops], bellows factor."""

    f_number: float
    iso: float
    bellows: float
    nd: float = 0.0

    def stops(self, light: float, seconds: float) -> float:
        """Stops from middle grey of a card under a light [lx], or [lx s] in one second."""
        return float(card_stops(light, seconds, self.f_number, self.iso, self.bellows)) - self.nd


@dataclass(frozen=True)
class Readings:
    """Meters at every point, heads at full power: (P, L) each, [lx] or [lx s], with one-sigma errors.

    `seen` (S, L): windows and blocks, by their luminance as the camera sees it, as the light on a card that would
    look as bright, and its error; `seen_names` (S,).
    """

    points: tuple[str, ...]
    lights: tuple[str, ...]
    flash: tuple[bool, ...]
    card: Array
    card_error: Array
    flat: Array
    flat_error: Array
    dome: Array
    dome_error: Array
    direct: tuple[Array, Array, Array]
    """Of card, flat and dome, what comes straight from the light."""
    seen_names: tuple[str, ...]
    seen: Array
    seen_error: Array
    seen_direct: Array


def meter_everyone(
    shoot: Shoot,
    shot: Shot,
    stage: Stage,
    most_paths: int,
    too_large: Callable[[Readings], Array],
    seed: int = 0,
    progress: Progress | None = None,
) -> Readings:
    """Meters at everyone and every mark, and at the windows and blocks that the shot's wishes name.

    `too_large` says by how many times the error at each point (P,) is larger than it may be.
    """
    named = [(p.name, True) for p in shoot.people] + [(m.name, False) for m in shoot.marks]
    lights = [*head_names(shot), *(("sun", "sky") if stage.daylight is not None else ())]
    camera = np.array(shot.camera.at)
    receptors: list[Receptor] = []
    for name, is_person in named:
        at = held_at(shoot, shot, stage, name)
        without = name if is_person else None
        to_camera = direction(camera - np.array(at))
        receptors.append(Receptor(at, to_camera, False, without))
        receptors.append(Receptor(at, to_camera, True, without))
        receptors += [Receptor(at, direction(light_middle(stage, shot, n, at)), False, without) for n in lights]
    spots = [(name, at) for name in seen_names(shoot, shot) for at in looked_at(shoot, name)]
    receptors += [Receptor(shot.camera.at, direction(at - camera), spot=SPOT) for _, at in spots]
    names, spotted = [name for name, _ in named], [name for name, _ in spots]

    def excess(few: Metered) -> Array:
        each = np.repeat(too_large(_sorted(names, spotted, lights, few)), 2 + len(lights))
        seen = len(few.value) - len(spots)
        return np.concatenate([each, in_stops(few.error[seen:], few.value[seen:]) / TOTAL_ERROR])

    return _sorted(names, spotted, lights, meter(stage, receptors, most_paths, seed, excess, progress))


def meter_cards(shoot: Shoot, shot: Shot, stage: Stage, paths: int, names: Collection[str]) -> Array:
    """What cards get that are held at some people and marks, turned to the camera, 0 at everyone else, and what looks
    as bright as the windows and blocks that the wishes name: (P, L), the lights as the stage has them. [lx, lx s]"""
    camera = np.array(shot.camera.at)
    receptors, rows = [], []
    everyone = [*((p.name, p.name) for p in shoot.people), *((m.name, None) for m in shoot.marks)]
    for row, (name, without) in enumerate(everyone):
        at = held_at(shoot, shot, stage, name)
        if name in names:
            receptors.append(Receptor(at, direction(camera - np.array(at)), False, without))
            rows.append(row)
    spots = [(name, at) for name in seen_names(shoot, shot) for at in looked_at(shoot, name)]
    receptors += [Receptor(shot.camera.at, direction(at - camera), spot=SPOT) for _, at in spots]
    metered = meter(stage, receptors, paths)
    held = len(receptors) - len(spots)
    flash = np.array(metered.flash, bool)
    brightest = _brightest([name for name, _ in spots], metered.value[held:], flash) + held
    cards = np.zeros((len(everyone), len(metered.names)))
    cards[rows] = metered.value[:held]
    return np.vstack([cards, metered.value[brightest] * (math.pi / GREY)])


def held_at(shoot: Shoot, shot: Shot, stage: Stage, name: str) -> Vector:
    """Where a meter is held at a person or mark, place frame (3,): a mark that lies in a surface is read just in
    front of it, on the camera's side; every other at its very point. [m]"""
    at = point_of(shoot, name)
    if name not in {mark.name for mark in shoot.marks}:
        return at
    return in_front(build(stage).solids, at, shot.camera.at)


def seen_names(shoot: Shoot, shot: Shot) -> list[str]:
    """The windows and blocks that a shot's wishes name."""
    held = {*(p.name for p in shoot.people), *(m.name for m in shoot.marks)}
    return list(dict.fromkeys(wish.who for wish in shot.wishes if wish.who not in held))


def looked_at(shoot: Shoot, name: str) -> list[Array]:
    """Where a spot meter looks to judge a window or a block, place frame (3,) each: the middles of a window's four
    quarters, so that no glazing bar is taken for it; the middle of a block. [m]

    Raises
    ------
    InputFault
        The place has no such thing.
    """
    for room in shoot.place.rooms:
        for opening in room.openings:
            if opening.name == name:
                middle, normal, up = opening_frame(room, opening)
                across, along = np.cross(up, normal) * opening.width / 4, up * opening.height / 4
                return [middle + i * across + j * along for i in (-1, 1) for j in (1, -1)]
    for block in shoot.place.blocks:
        if block.name == name:
            return [np.array(block.at) + np.array([0.0, 0.0, block.size[2] / 2])]
    raise InputFault(f'found no window or block "{name}" in the place')


def as_learned(readings: Readings, learned: Learned) -> Readings:
    """The same meters, by what was learned; statistical errors keep their proportion."""

    def scaled(value: Array, error: Array, direct: Array) -> tuple[Array, Array]:
        now = corrected(learned, direct, np.maximum(value - direct, 0.0))
        return now, error * np.divide(now, value, out=np.ones_like(value), where=value > 0)

    card, card_error = scaled(readings.card, readings.card_error, readings.direct[0])
    flat, flat_error = scaled(readings.flat, readings.flat_error, readings.direct[1])
    dome, dome_error = scaled(readings.dome, readings.dome_error, readings.direct[2])
    seen, seen_error = scaled(readings.seen, readings.seen_error, readings.seen_direct)
    return replace(
        readings,
        card=card,
        card_error=card_error,
        flat=flat,
        flat_error=flat_error,
        dome=dome,
        dome_error=dome_error,
        seen=seen,
        seen_error=seen_error,
    )


def scaled_lights(readings: Readings, factors: dict[str, float]) -> Readings:
    """The same meters with lights a factor stronger, by name; the others as they are."""
    scale = np.array([factors.get(name, 1.0) for name in readings.lights])
    return replace(
        readings,
        card=readings.card * scale,
        card_error=readings.card_error * scale,
        flat=readings.flat * scale,
        flat_error=readings.flat_error * scale,
        dome=readings.dome * scale,
        dome_error=readings.dome_error * scale,
        direct=(readings.direct[0] * scale, readings.direct[1] * scale, readings.direct[2] * scale),
        seen=readings.seen * scale,
        seen_error=readings.seen_error * scale,
        seen_direct=readings.seen_direct * scale,
    )


def _sorted(points: Sequence[str], seen: Sequence[str], lights: Sequence[str], metered: Metered) -> Readings:
    count, each = len(points), 2 + len(lights)
    columns = [metered.names.index(name) for name in lights]
    held = count * each
    value, error, direct = (
        part[:held, columns].reshape(count, each, len(lights))
        for part in (metered.value, metered.error, metered.direct)
    )
    own = np.arange(len(lights))
    brightest = _brightest(seen, metered.value[held:, columns], np.array(metered.flash, bool)[columns]) + held
    return Readings(
        tuple(points),
        tuple(lights),
        tuple(metered.flash[c] for c in columns),
        value[:, 0],
        error[:, 0],
        value[:, 2 + own, own],
        error[:, 2 + own, own],
        value[:, 1],
        error[:, 1],
        (direct[:, 0], direct[:, 2 + own, own], direct[:, 1]),
        tuple(dict.fromkeys(seen)),
        metered.value[brightest][:, columns] * (math.pi / GREY),
        metered.error[brightest][:, columns] * (math.pi / GREY),
        metered.direct[brightest][:, columns] * (math.pi / GREY),
    )


def _brightest(seen: Sequence[str], value: Array, flash: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Of the spots (S, L) on each thing, the row of the one that is brightest by daylight, else by flash."""
    steady = value[:, ~flash].sum(1)
    order = np.where(steady > 0, steady, 1e-12 * value.sum(1))
    rows = {name: [k for k, other in enumerate(seen) if other == name] for name in dict.fromkeys(seen)}
    return np.array([max(group, key=lambda k: order[k]) for group in rows.values()], np.int64)


def direction(vector: Array) -> Vector:
    """A vector (3,) at length one."""
    x, y, z = vector / np.linalg.norm(vector)
    return float(x), float(y), float(z)

"""The cables of a shot: from each outlet, battery or generator that has a place to the heads and lamps it feeds.

Drawn, measured, and held against the cable that there is. A reminder and no advice: local codes, the venue and
licensed practice decide.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sidelong.light.values import Strobe, Vector
from sidelong.place.containment import room_at
from sidelong.plan.floor_way import Flat, Floor, crossings, floor_of, length_of, ways
from sidelong.plan.stage import head_names
from sidelong.shoot.values import Kit, Power, Shoot, Shot
from sidelong.units import metres_in_words

LOOP = 0.5
"""In a loop at the foot of the stand, so that a snag pulls the loop and not the stand. Our own figure. [m]"""
_FIELD_DEPTH = 6.0
"""So far from the camera the floor counts as in the picture. [m]"""


@dataclass(frozen=True)
class Crossing:
    """Where a cable lies across a way out, by the name of the opening. Place frame [m]."""

    opening: str
    at: Flat


@dataclass(frozen=True)
class Cable:
    """From a source to a head: its `way` along the floor, corner by corner, place frame; `along` the floor, `down`
    from the outlet, `up` to the head, all [m]. `has`: the cable in the kit, None where the file does not say.
    `straight`: no way along the floor was found."""

    source: str
    head: str
    way: tuple[Flat, ...]
    along: float
    down: float
    up: float
    has: float | None = None
    crossings: tuple[Crossing, ...] = ()
    straight: bool = False

    @property
    def length(self) -> float:
        """All of it, with the loop at the stand. [m]"""
        return self.along + self.down + self.up + LOOP

    @property
    def too_short(self) -> bool:
        """Whether the cable in the kit does not reach."""
        return self.has is not None and self.has < self.length


def feeds(kit: Kit, head: Strobe) -> str | None:
    """The id of the source that feeds a head: the one it names, else the only one there is."""
    if head.fed_by is not None:
        return head.fed_by
    return next(iter(kit.power)) if len(kit.power) == 1 else None


def cables(shoot: Shoot, shot: Shot) -> tuple[Cable, ...]:
    """The cables of a shot, source by source in the kit's order; of a source without a place there are none."""
    heads = list(zip(head_names(shot), shot.lights, strict=True))
    fed = {
        source.id: [(name, light.at) for name, light in heads if feeds(shoot.kit, light.strobe) == source.id]
        for source in shoot.kit.power.values()
        if source.at is not None
    }
    placed = [(shoot.kit.power[id_], own) for id_, own in fed.items() if own]
    if not placed:
        return ()
    spots = [(at[0], at[1]) for _, own in placed for _, at in own]
    spots += [(source.at[0], source.at[1]) for source, _ in placed if source.at is not None]
    people = [(at[0], at[1]) for at in (shot.camera.at, *(p.at for p in shoot.people))]
    level = _floor_under(shoot, heads[0][1].at)
    floor = floor_of(shoot.place, spots, level, people, _seen(shot))
    return tuple(cable for source, own in placed for cable in _of_source(shoot, floor, source, own))


def _of_source(shoot: Shoot, floor: Floor, source: Power, heads: list[tuple[str, Vector]]) -> list[Cable]:
    assert source.at is not None
    start = (source.at[0], source.at[1])
    found = []
    for (name, at), way in zip(heads, ways(floor, start, [(h[0], h[1]) for _, h in heads]), strict=True):
        laid = np.array([start, at[:2]]) if way is None else way
        found.append(
            Cable(
                source.id, name, tuple((float(x), float(y)) for x, y in laid), length_of(laid),
                abs(source.at[2] - _floor_under(shoot, source.at)), max(0.0, at[2] - _floor_under(shoot, at)),
                source.cable, tuple(Crossing(out.name, spot) for out, spot in crossings(floor, laid)), way is None,
            )
        )  # fmt: skip
    return found


def _floor_under(shoot: Shoot, at: Vector) -> float:
    room = room_at(shoot.place, at)
    return 0.0 if room is None else room.at[2]


def _seen(shot: Shot) -> list[Flat]:
    """The corners of the part of the floor that the camera looks over, as a triangle. [m]"""
    at, aim = np.array(shot.camera.at[:2]), np.array(shot.camera.aim[:2])
    way = aim - at
    reach = float(np.linalg.norm(way))
    if reach < 1e-6:
        return []
    half = math.atan(shot.body.film.width / 2 / shot.lens.focal_length)
    middle = math.atan2(way[1], way[0])
    far = _FIELD_DEPTH / math.cos(half)
    return [(float(at[0]), float(at[1]))] + [
        (float(at[0] + far * math.cos(middle + turn)), float(at[1] + far * math.sin(middle + turn)))
        for turn in (-half, half)
    ]


def cable_in_words(cable: Cable, imperial: bool = False) -> str:
    """A cable as it is said: ``loft socket to small head: 8.4 m, of it 5.6 m along the floor, 1.8 m up``."""
    along, up, whole = (metres_in_words(v, imperial) for v in (cable.along, cable.up, cable.length))
    parts = [f"{cable.source} to {cable.head}: {whole}, of it {along} along the floor, {up} up to the head"]
    if cable.has is not None:
        has = metres_in_words(cable.has, imperial)
        parts.append(f"the kit's {has} does not reach" if cable.too_short else f"the kit has {has}")
    if cable.straight:
        parts.append("no way along the floor was found, so it is measured straight")
    for crossing in cable.crossings:
        parts.append(f"crosses the way out at {crossing.opening}: ramp it or tape it down there, or lead it overhead")
    return "; ".join(parts)

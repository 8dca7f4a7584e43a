"""The points of people that a shot wants sharp or soft, with whose they are: eyes, face or the whole figure."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sidelong.frames_of_reference import BodyFrame
from sidelong.people.eyes import eyes, face
from sidelong.people.figure import figure
from sidelong.people.values import Person
from sidelong.shoot.names import point_of
from sidelong.shoot.values import Shoot, Shot

Points = NDArray[np.float64]

_WAYS = np.array([w for w in itertools.product((-1.0, 0.0, 1.0), repeat=3) if any(w)])
"""The directions in which a figure's furthest points are taken."""


@dataclass(frozen=True)
class Asked:
    """All points of a shot that count: `sharp` (S, 3) and `soft` (K, 3), body frame [m]; `sharp_of` and `soft_of`
    tell whose each is and where on them, ("Ada", "chin"); `least` (K,) the least blurs asked for, 0 for as soft as
    can be. [m]"""

    sharp: Points
    soft: Points
    sharp_of: tuple[tuple[str, str], ...]
    soft_of: tuple[tuple[str, str], ...]
    least: Points

    @property
    def bodies(self) -> NDArray[np.int64]:
        """A number for each soft point, the same for all of one person: (K,). [-]"""
        names = list(dict.fromkeys(name for name, _ in self.soft_of))
        return np.array([names.index(name) for name, _ in self.soft_of], int)


def asked(shoot: Shoot, shot: Shot, frame: BodyFrame) -> Asked:
    """The points of a shot: each name's eyes or mark first, then those of the part that counts."""
    sharp, sharp_of = _points(shoot, shot, shot.sharp)
    soft, soft_of = _points(shoot, shot, shot.soft)
    least = np.array([shot.least.get(name, 0.0) for name, _ in soft_of])
    return Asked(frame.to_body(sharp), frame.to_body(soft), sharp_of, soft_of, least)


def _points(shoot: Shoot, shot: Shot, names: tuple[str, ...]) -> tuple[Points, tuple[tuple[str, str], ...]]:
    people = {p.name: p for p in shoot.people}
    at: list[tuple[float, float, float]] = []
    of: list[tuple[str, str]] = []
    for name in names:
        at.append(point_of(shoot, name))
        of.append((name, "eyes" if name in people else "mark"))
        for where, point in _part(people.get(name), shot.parts.get(name, "eyes")).items():
            at.append(point)
            of.append((name, where))
    return np.array(at, float).reshape(-1, 3), tuple(of)


def _part(person: Person | None, part: str) -> dict[str, tuple[float, float, float]]:
    if person is None or part == "eyes":
        return {}
    return face(person) if part == "face" else _furthest(person)


@lru_cache(maxsize=64)
def _furthest(person: Person) -> dict[str, tuple[float, float, float]]:
    """The face, and the points of the clothed figure that lie furthest out in 26 directions, place frame. [m]

    The set of points that a setting images within a blur lies between two planes, to first order, so that a figure
    lies in it when the corners of its hull do; the corners left out lie a few centimetres beyond at most.
    """
    vertices = np.concatenate([thing.mesh.vertices for thing in figure(person)])
    middle = np.array(eyes(person))
    out: dict[str, tuple[float, float, float]] = {}
    for k in np.unique(np.argmax((vertices - middle) @ _WAYS.T, axis=0)):
        x, y, z = (float(v) for v in vertices[k])
        out[f"figure {len(out) + 1}"] = (x, y, z)
    return {**face(person), **out}

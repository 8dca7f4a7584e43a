"""The stored stand-ins: which body a person gets, and its parts and points brought to the place frame.

A stored figure looks along +x with its left at +y, z up from the lowest part of its soles (kneeling: of knees and
toes), the middle of its pupils above the origin. It is scaled so that its eyes come to lie where `people.eyes`
says; a sitting one is also bent in the knees so that hips and soles fit the seat.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import InputFault
from sidelong.people.cloth import unknown
from sidelong.people.values import Person, Vector

Array = NDArray[np.float64]

QUANTUM = 1e-4
"""Stored vertices are whole numbers of this length. [m]"""

BODIES: tuple[str, ...] = ("man", "heavy man", "old man", "woman", "heavy woman", "young woman")
BUILDS: dict[str, tuple[str, ...]] = {
    "average": BODIES,
    "slight": ("old man", "young woman"),
    "heavy": ("heavy man", "heavy woman"),
    "male": ("man", "heavy man", "old man"),
    "female": ("woman", "heavy woman", "young woman"),
    "young": ("man", "young woman"),
    "old": ("old man", "heavy woman"),
    **{body: (body,) for body in BODIES},
}
"""Bodies that a build may be; the name of the person picks one."""

SEAT_LEAST, SEAT_MOST = 0.12, 0.40
"""Lowest and highest seat that a sitting figure can be bent for, as fractions of the stature. [-]"""


@dataclass(frozen=True)
class Part:
    """One part of a stored figure: `vertices` (V, 3) [m], `faces` (F, 3), and where they go on the lowest and the
    highest seat, as offsets (V, 3) [m], zero for other poses."""

    vertices: Array
    faces: NDArray[np.int64]
    low: Array
    high: Array


@dataclass(frozen=True)
class StandIn:
    """One stored figure. `eyes` (3,), `points` by name, `seat` height above the soles (nan unless sitting) [m];
    `bends`: how far each point of the body moves
    on the lowest and the highest seat, `drops`: how far the soles sink on the lowest and the highest seat [m]."""

    parts: dict[str, Part]
    eyes: Array
    points: dict[str, Array]
    bends: dict[str, tuple[Array, Array]]
    seat: float
    drops: tuple[float, float]


@dataclass(frozen=True)
class Placing:
    """How a stored figure comes to the place: bend `low` and `high` (one of them zero), then scale, turn, move."""

    low: float
    high: float
    scale: float
    rotation: Array
    offset: Array

    def place(self, points: Array, low: Array, high: Array) -> Array:
        """Stored points (N, 3) with their bends, in the place frame. [m]"""
        bent = points + self.low * low + self.high * high
        return np.asarray(self.scale * bent @ self.rotation.T + self.offset)


def pick(name: str, count: int, salt: str = "") -> int:
    """A number 0..count-1 that follows from a name alone, so that a person looks the same in every picture."""
    return zlib.crc32(f"{salt}/{name}".encode()) % count


def body_of(person: Person) -> str:
    """The stored body of a person.

    Raises
    ------
    InputFault
        The build is not known.
    """
    if person.build not in BUILDS:
        raise InputFault(f"{person.name}: {unknown('a build', person.build, tuple(BUILDS))}")
    candidates = BUILDS[person.build]
    return candidates[pick(person.name, len(candidates), "body")]


@lru_cache(maxsize=len(BODIES) * 3)
def load(body: str, pose: str) -> StandIn:
    """A stored figure, read once. Fails with FileNotFoundError when the package's own data are gone."""
    data, head = _read(f"{body}_{pose}"), _read(f"{body}_head")
    parts = _parts(data, np.zeros(3)) | _parts(head, data["eyes"])
    names, still = data["point_names"].tolist(), np.zeros_like(data["points"])
    low, high = data.get("points.low", still), data.get("points.high", still)
    points = dict(zip(names, data["points"], strict=True))
    of_head = dict(zip(head["point_names"].tolist(), head["points"] + data["eyes"], strict=True))
    return StandIn(
        parts=parts,
        eyes=data["eyes"],
        points=points | of_head,
        bends={n: (low[i], high[i]) for i, n in enumerate(names)},
        seat=float(data["seat"]),
        drops=(float(data.get("drop.low", 0.0)), float(data.get("drop.high", 0.0))),
    )


def _read(stem: str) -> dict[str, NDArray[Any]]:
    file = files("sidelong.people") / "figures" / f"{stem.replace(' ', '_')}.npz"
    with file.open("rb") as stream, np.load(stream, allow_pickle=False) as stored:
        return {key: stored[key] for key in stored.files}


def _summed(steps: NDArray[np.int16]) -> NDArray[np.int64]:
    """Rows from the steps between them, as they are stored."""
    return np.cumsum(steps, axis=0, dtype=np.int64)


def _bend(data: dict[str, NDArray[Any]], key: str, vertices: Array) -> Array:
    """How far a part moves on another seat, stored in millimetres; nothing when it does not. [m]"""
    return np.asarray(_summed(data[key]) * 10 * QUANTUM if key in data else np.zeros_like(vertices), np.float64)


def _parts(data: dict[str, NDArray[Any]], offset: Array) -> dict[str, Part]:
    """The parts of one file, moved by `offset`. [m]"""
    out = {}
    for name in data["parts"].tolist():
        vertices = _summed(data[f"{name}.v"]) * QUANTUM + offset
        faces = _summed(data[f"{name}.f"])
        out[name] = Part(vertices, faces, _bend(data, f"{name}.low", vertices), _bend(data, f"{name}.high", vertices))
    return out


def placing(person: Person, eyes: Vector, stand_in: StandIn) -> Placing:
    """How to bring a stored figure to the place so that its eyes lie at `eyes` and it faces `person.facing`.

    Raises
    ------
    InputFault
        The seat is too low or too high for someone of that stature to sit on.
    """
    cos, sin = np.cos(person.facing), np.sin(person.facing)
    rotation = np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])
    low = high = 0.0
    if person.pose == "sitting":
        share = person.seat / person.height
        if not SEAT_LEAST <= share <= SEAT_MOST:
            least, most = SEAT_LEAST * person.height, SEAT_MOST * person.height
            raise InputFault(
                f"{person.name}: found a seat of {person.seat:g} m; expected {least:.2f} to {most:.2f} m above the "
                f"feet for a stature of {person.height:g} m; put the feet on a rung (at = [x, y, z]), or let the "
                "person stand"
            )
        scale = (eyes[2] - person.at[2] - person.seat) / (stand_in.eyes[2] - stand_in.seat)
        missing = person.seat / scale - stand_in.seat
        # a higher seat lets the soles sink (drop < 0) relative to the hips, a lower one lifts them
        if missing > 0:
            high = -missing / stand_in.drops[1]
        else:
            low = -missing / stand_in.drops[0]
    else:
        scale = (eyes[2] - person.at[2]) / stand_in.eyes[2]
    offset = np.asarray(eyes) - scale * rotation @ stand_in.eyes
    return Placing(low, high, float(scale), rotation, offset)


def points_of(person: Person, eyes: Vector) -> dict[str, Vector]:
    """Named points of the figure of a person whose eyes are at `eyes`, place frame. [m]"""
    stand_in = load(body_of(person), person.pose)
    to_place = placing(person, eyes, stand_in)
    out: dict[str, Vector] = {}
    for name, point in stand_in.points.items():
        low, high = stand_in.bends.get(name, (np.zeros(3), np.zeros(3)))
        x, y, z = to_place.place(point[None], low[None], high[None])[0]
        out[name] = (float(x), float(y), float(z))
    return out

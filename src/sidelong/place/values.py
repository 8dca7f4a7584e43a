"""The place as plain values: rooms with openings, blocks, meshes, the air and the sky. Place frame, SI."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Vector = tuple[float, float, float]
Wall = Literal["left", "right", "near", "far", "floor", "ceiling"]
"""Seen on the plan with x to the right and y up the page: left is x = 0, near is y = 0."""


@dataclass(frozen=True)
class Opening:
    """A hole in a wall, rectangular, `along` metres from the wall's start and `sill` above the floor.

    Along the near and far walls distances run with x, along left and right with y; in floor and ceiling
    `along` runs with x and `sill` with y. `glass` is the transmission of a pane, None when open air.
    `cover` are the ids of what hangs in it (scrims, nets, gels, flags), from outside in.
    """

    name: str
    wall: Wall
    along: float
    sill: float
    width: float
    height: float
    glass: float | None = None
    cover: tuple[str, ...] = ()
    kind: Literal["window", "door", "hole"] = "hole"
    """A window gets a frame with glazing bars, a door gets jambs; a hole stays bare."""


@dataclass(frozen=True)
class Room:
    """A box seen from inside, `at` its lowest corner; walls are `thickness` thick, outwards."""

    name: str
    at: Vector
    size: Vector
    finish: Mapping[str, str] = field(default_factory=dict)
    """Finish by wall name; `walls` stands for the four upright ones, `all` for all."""
    openings: tuple[Opening, ...] = ()
    thickness: float = 0.25


@dataclass(frozen=True)
class Block:
    """A thing that stands in the place: a box of `size` turned by `turn` about z, `at` its centre on its base.

    `kind` says how it is drawn: a plain box, or one of the simple shapes of place.furnishings.
    """

    name: str
    kind: str
    at: Vector
    size: Vector
    turn: float = 0.0
    finish: str = "timber"


@dataclass(frozen=True)
class MeshFile:
    """A mesh read from a file in the shoot's folder, already checked to lie inside it."""

    name: str
    path: str
    at: Vector = (0.0, 0.0, 0.0)
    turn: float = 0.0
    scale: float = 1.0
    finish: str = "lime wash"


@dataclass(frozen=True)
class Plume:
    """Haze on its way from a machine to an opening: from `at` `to`, place frame [m], drifting [m/s], `output` [g/s];
    `spread` at the machine [m], `diffusivity` of the room's air [m2/s]."""

    at: Vector
    to: Vector
    output: float
    drift: float = 0.2
    spread: float = 0.2
    diffusivity: float = 0.01


@dataclass(frozen=True)
class Air:
    """Haze: `extinction` [1/m], Henyey-Greenstein `g` and single-scattering `albedo` [-]; a `plume` stands out of it.

    `changes`: how often the room's air is changed [1/s], None where it is not stated.
    """

    extinction: float = 0.0
    g: float = 0.7
    albedo: float = 0.98
    plume: Plume | None = None
    changes: float | None = None


@dataclass(frozen=True)
class Sky:
    """`kind` is clear, overcast or dark; `turbidity` is Linke's, for clear skies. [-]"""

    kind: Literal["clear", "overcast", "dark"] = "clear"
    turbidity: float = 3.0


@dataclass(frozen=True)
class Place:
    """Where the shoot happens. `north` is the bearing of the plan's +y axis; latitude, longitude, north [rad]."""

    latitude: float = 0.0
    longitude: float = 0.0
    elevation: float = 0.0
    timezone: str = "UTC"
    north: float = 0.0
    air: Air = Air()
    sky: Sky = Sky()
    ground: float = 0.2
    """Reflectance of the open ground. [-]"""
    rooms: tuple[Room, ...] = ()
    blocks: tuple[Block, ...] = ()
    meshes: tuple[MeshFile, ...] = ()


@dataclass(frozen=True)
class Mark:
    """A named point. Place frame [m]."""

    name: str
    at: Vector

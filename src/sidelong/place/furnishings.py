"""The kinds of block: a table from a kind's name to the function that builds it and to what of it stops a line.

A new kind is one function (in timberwork, gear or fittings) and one row here.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import InputFault
from sidelong.geometry.mesh import Mesh, Thing
from sidelong.place import fittings, gear, timberwork
from sidelong.place.parts import Part, Shape
from sidelong.place.values import Block

Points = NDArray[np.float64]


@dataclass(frozen=True)
class Kind:
    """How a kind of block is built, and from which to which fraction of its height it stops a line of sight
    (None: a line passes, as through a net)."""

    build: Callable[[Shape], list[Part]]
    stops: tuple[float, float] | None = (0.0, 1.0)


_KINDS: Final[Mapping[str, Kind]] = MappingProxyType(
    {
        "box": Kind(timberwork.plain),
        "bench": Kind(timberwork.bench, (0.85, 1.0)),
        "table": Kind(timberwork.table, (0.88, 1.0)),
        "stool": Kind(timberwork.stool, (0.85, 1.0)),
        "crate": Kind(timberwork.crate),
        "planks": Kind(timberwork.planks),
        "beam": Kind(timberwork.beam),
        "post": Kind(timberwork.beam),
        "shelf": Kind(timberwork.shelf, None),
        "ladder": Kind(timberwork.ladder, None),
        "oar": Kind(timberwork.oar, None),
        "barrel": Kind(timberwork.barrel),
        "float": Kind(gear.float_, (0.1, 0.9)),
        "rope": Kind(gear.rope),
        "net": Kind(gear.net, None),
        "net heap": Kind(gear.net_heap, (0.0, 0.6)),
        "net lap": Kind(gear.net_lap, None),
        "basket": Kind(gear.basket),
        "creel": Kind(gear.creel, None),
        "curtain": Kind(gear.curtain),
        "bulb": Kind(fittings.bulb, None),
        "lantern": Kind(fittings.lantern, None),
        "steel post": Kind(fittings.steel_post),
        "steel beam": Kind(fittings.steel_beam),
        "rails": Kind(fittings.rails, None),
        "pipe": Kind(fittings.pipe, None),
        "workbench": Kind(fittings.workbench, (0.85, 1.0)),
        "tram": Kind(fittings.tram),
        "wheelset": Kind(fittings.wheelset),
        "locker": Kind(fittings.locker),
    }
)
KINDS: Final[tuple[str, ...]] = tuple(_KINDS)
"""The names that a block's `kind` may have."""


def kind_of(name: str) -> Kind:
    """The row of a kind of block.

    Raises
    ------
    InputFault
        No kind has this name; the message names the nearest.
    """
    if name in _KINDS:
        return _KINDS[name]
    near = get_close_matches(name, KINDS, n=1, cutoff=0.0)
    raise InputFault(f'found the kind of block "{name}"; expected one of {", ".join(KINDS)}; nearest is "{near[0]}"')


def furnish(block: Block) -> tuple[Thing, ...]:
    """The things that make up a block, in the place [m]; the same every time.

    Raises
    ------
    InputFault
        Its kind is not known.
    """
    random = np.random.default_rng(zlib.crc32(f"{block.kind}/{block.name}".encode()))
    parts = kind_of(block.kind).build(Shape(np.asarray(block.size, float), block.finish, random))
    turn, at = turn_of(block), np.asarray(block.at, float)
    return tuple(
        Thing(
            block.name if k == 0 else f"{block.name}, {part.name}", part.mesh.moved(turn, at), part.finish, block.name
        )
        for k, part in enumerate(parts)
    )


def turn_of(block: Block) -> Points:
    """Rotation (3, 3) from the block's own frame to the place's. [-]"""
    c, s = math.cos(block.turn), math.sin(block.turn)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


def stopping_box(block: Block) -> Points | None:
    """Lowest and highest corner (2, 3), in the block's own frame, of what stops a line; None if nothing does. [m]"""
    stops = kind_of(block.kind).stops
    if stops is None:
        return None
    half = np.asarray(block.size, float) / 2
    height = block.size[2]
    return np.array([[-half[0], -half[1], stops[0] * height], [half[0], half[1], stops[1] * height]])


def whole(block: Block) -> Mesh:
    """All of a block's surfaces as one mesh, place frame. [m]"""
    from_parts = [t.mesh for t in furnish(block)]
    starts = np.cumsum([0] + [len(m.vertices) for m in from_parts[:-1]])
    faces = [m.faces + s for m, s in zip(from_parts, starts, strict=True)]
    return Mesh(np.vstack([m.vertices for m in from_parts]), np.vstack(faces))

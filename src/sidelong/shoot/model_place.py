"""The tables of the shoot file that say where: place, rooms, openings, blocks, meshes, marks."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from sidelong.shoot.model_base import Table, as_table
from sidelong.shoot.quantities import (
    Bearing,
    Box,
    Elevation,
    Extent,
    FinishName,
    FloorPoint,
    Latitude,
    Longitude,
    Metres,
    Name,
    NotNegative,
    Part,
    Point,
    Position,
    SkyKind,
    Turn,
    number,
)

MOST_OPENINGS = 64
"""In the whole place: masonry is cut along every edge of every opening, so that the work grows fast with them."""
WallName = Literal["left", "right", "near", "far", "floor", "ceiling"]
Extinction = Annotated[float, BeforeValidator(number(0, 10, "an extinction per metre"))]
Asymmetry = Annotated[float, BeforeValidator(number(-0.99, 0.99, "an asymmetry"))]
Scale = Annotated[float, BeforeValidator(number(1e-6, 1e6, "a scale"))]


class AirTable(Table):
    """`[place.air]`: the haze."""

    haze: Extinction = 0.0
    g: Asymmetry = 0.7
    albedo: Part = 0.98


class FinishTable(Table):
    """`finish` of a room, by face; `walls` is the four upright ones, `all` every face."""

    left: FinishName | None = None
    right: FinishName | None = None
    near: FinishName | None = None
    far: FinishName | None = None
    floor: FinishName | None = None
    ceiling: FinishName | None = None
    walls: FinishName | None = None
    all: FinishName | None = None


class OpeningTable(Table):
    """`[[place.rooms.openings]]`: a hole in a wall, by `at` and `size`, or by its four lengths."""

    wall: WallName
    name: Name | None = None
    at: tuple[Position, Position] | None = Field(default=None, strict=False)
    size: Extent | None = None
    along: Position | None = None
    sill: NotNegative | None = None
    width: Metres | None = None
    height: Metres | None = None
    glass: Part | None = None
    cover: Name | None = None
    kind: Literal["window", "door", "hole"] | None = None


class RoomTable(Table):
    """`[[place.rooms]]`: a box seen from inside."""

    name: Name | None = None
    at: FloorPoint = (0.0, 0.0, 0.0)
    size: Box
    finish: Annotated[FinishTable, BeforeValidator(as_table("all"))] = FinishTable()
    openings: list[OpeningTable] = Field(default=[], max_length=MOST_OPENINGS)
    thickness: Metres = 0.25


class BlockTable(Table):
    """`[[place.blocks]]`: a thing that stands in the place."""

    name: Name | None = None
    kind: Name = "box"
    at: FloorPoint
    size: Box
    turn: Turn = 0.0
    finish: FinishName = "timber"


class MeshTable(Table):
    """`[[place.meshes]]`: a scan or model in the shoot's folder."""

    name: Name | None = None
    file: Name
    at: Point = (0.0, 0.0, 0.0)
    turn: Turn = 0.0
    scale: Scale = 1.0
    finish: FinishName = "lime wash"


class PlaceTable(Table):
    """`[place]`."""

    latitude: Latitude | None = None
    longitude: Longitude | None = None
    elevation: Elevation = 0.0
    timezone: Name | None = None
    north: Bearing = 0.0
    air: AirTable = AirTable()
    sky: SkyKind = "clear"
    ground: Part | None = None
    rooms: list[RoomTable] = Field(default=[], max_length=16)
    blocks: list[BlockTable] = Field(default=[], max_length=500)
    meshes: list[MeshTable] = Field(default=[], max_length=100)


class MarkTable(Table):
    """`[[marks]]`: a named point."""

    name: Name
    at: FloorPoint

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
    NameOrPoint,
    Names,
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
Drift = Annotated[float, BeforeValidator(number(0.01, 20, "a drift in metres a second,"))]
Spread = Annotated[float, BeforeValidator(number(0.02, 10, "a spread in metres,"))]
Diffusivity = Annotated[float, BeforeValidator(number(1e-5, 10, "a diffusivity in square metres a second,"))]
AirChanges = Annotated[float, BeforeValidator(number(0, 100, "air changes an hour"))]
GramsAMinute = Annotated[float, BeforeValidator(number(0, 1e5, "an output in grams a minute,"))]
Scale = Annotated[float, BeforeValidator(number(1e-6, 1e6, "a scale"))]


class PlumeTable(Table):
    """`[place.air.plume]`: haze on its way from a machine to an opening."""

    machine: Name | None = None
    """Which machine. [id of kit.haze; the only one]"""
    at: Point
    """Where it blows. [m; required]"""
    to: NameOrPoint
    """The opening that the air leaves by, by its name, or a point. [m or name; required]"""
    output: GramsAMinute | None = None
    """What it gives, run steadily. [g/min; the machine's]"""
    drift: Drift = 0.2
    """How fast the air drifts. [m/s; 0.2]"""
    spread: Spread = 0.2
    """How wide the haze is at the machine, one sigma. [m; 0.2]"""
    diffusivity: Diffusivity = 0.01
    """Eddy diffusivity of the room's air: 0.001 still, 0.015 airy. [m2/s; 0.01]"""


class AirTable(Table):
    """`[place.air]`: the haze."""

    haze: Extinction = 0.0
    """Extinction. [per metre; 0]"""
    g: Asymmetry = 0.7
    """Asymmetry of scattering after Henyey and Greenstein. [-1 to 1; 0.7]"""
    albedo: Part = 0.98
    """Part of the extinction that is scattered. [0 to 1; 0.98]"""
    changes: AirChanges | None = None
    """How often the air of the rooms is changed. [per hour; not stated: times are told for 1]"""
    plume: PlumeTable | None = None
    """Haze that drifts to an opening, over what hangs everywhere. [table; none]"""


class FinishTable(Table):
    """`finish` of a room, by face; `walls` is the four upright ones, `all` every face."""

    left: FinishName | None = None
    """Of the left wall. [finish; walls, all]"""
    right: FinishName | None = None
    """Of the right wall. [finish; walls, all]"""
    near: FinishName | None = None
    """Of the near wall. [finish; walls, all]"""
    far: FinishName | None = None
    """Of the far wall. [finish; walls, all]"""
    floor: FinishName | None = None
    """Of the floor. [finish; all]"""
    ceiling: FinishName | None = None
    """Of the ceiling. [finish; all]"""
    outside: FinishName | None = None
    """Of the building's outer skin. [finish; all]"""
    joinery: FinishName | None = None
    """Of window frames, sills and door jambs. [finish; painted timber white]"""
    walls: FinishName | None = None
    """Of the four upright walls. [finish; all]"""
    all: FinishName | None = None
    """Of every face not named. [finish; that of a plain wall]"""


class OpeningTable(Table):
    """`[[place.rooms.openings]]`: a hole in a wall, by `at` and `size`, or by its four lengths."""

    wall: WallName
    """"left" (x = 0), "right", "near" (y = 0), "far", "floor", "ceiling". [-; required]"""
    name: Name | None = None
    """What it is called. [name; its kind and number]"""
    at: tuple[Position, Position] | None = Field(default=None, strict=False)
    """[along the wall, sill above the floor] from the wall's lower x or y end; in floor and ceiling [x, y]. [m;
    along, sill]"""
    size: Extent | None = None
    """[width, height]. [m; width, height]"""
    along: Position | None = None
    """As in `at`. [m; at]"""
    sill: NotNegative | None = None
    """As in `at`. [m; 0]"""
    width: Metres | None = None
    """As in `size`. [m; size]"""
    height: Metres | None = None
    """As in `size`. [m; size]"""
    glass: Part | None = None
    """What a pane lets through. [0 to 1; no pane]"""
    cover: Names = ()
    """What hangs in it, from outside in: an id or a list of ids of scrims, nets, gels or flags of the kit. [ids;
    none]"""
    kind: Literal["window", "door", "hole"] | None = None
    """"window" has a frame and bars, "door" has jambs, "hole" is bare. [-; "hole"]"""


class RoomTable(Table):
    """`[[place.rooms]]`: a box seen from inside."""

    name: Name | None = None
    """What it is called. [name; "room"]"""
    at: FloorPoint = (0.0, 0.0, 0.0)
    """Lowest corner, [x, y] or [x, y, z]. [m; 0, 0, 0]"""
    size: Box
    """[along x, along y, height]. [m; required]"""
    finish: Annotated[FinishTable, BeforeValidator(as_table("all"))] = FinishTable()
    """One finish, or a table of finishes by face. [finish; that of a plain wall]"""
    openings: list[OpeningTable] = Field(default=[], max_length=MOST_OPENINGS)
    """Holes in its walls, at most 64 in the whole place. [list of tables; none]"""
    thickness: Metres = 0.25
    """Of its walls, outwards. [m; 0.25]"""


class BlockTable(Table):
    """`[[place.blocks]]`: a thing that stands in the place."""

    name: Name | None = None
    """What it is called. [name; its kind and number]"""
    kind: Name = "box"
    """What it looks like: "box", "bench", "table", "crate" and others. [-; "box"]"""
    at: FloorPoint
    """Middle of its base, [x, y] or [x, y, z]. [m; required]"""
    size: Box
    """[along x, along y, height] before it is turned. [m; required]"""
    turn: Turn = 0.0
    """About the vertical, anticlockwise on the plan. [degrees; 0]"""
    finish: FinishName = "timber"
    """What it is made of. [finish; "timber"]"""


class MeshTable(Table):
    """`[[place.meshes]]`: a scan or model in the shoot's folder."""

    name: Name | None = None
    """What it is called. [name; its file]"""
    file: Name
    """Path from the shoot's folder, inside it: .obj, .ply, .stl, .glb. [path; required]"""
    at: FloorPoint = (0.0, 0.0, 0.0)
    """Where its origin stands. [m; 0, 0, 0]"""
    turn: Turn = 0.0
    """About the vertical, anticlockwise on the plan. [degrees; 0]"""
    scale: Scale = 1.0
    """Metres for one unit of the file. [-; 1]"""
    finish: FinishName = "lime wash"
    """What it is made of. [finish; "lime wash"]"""


class PlaceTable(Table):
    """`[place]`."""

    latitude: Latitude | None = None
    """North is positive. [degrees; 0, with a doubt]"""
    longitude: Longitude | None = None
    """East is positive. [degrees; 0, with a doubt]"""
    elevation: Elevation = 0.0
    """Height above the sea. [m; 0]"""
    timezone: Name | None = None
    """Name in the tz database, for times without an offset. [-; "UTC"]"""
    north: Bearing = 0.0
    """Bearing of the plan's y axis, clockwise from true north. [degrees; 0]"""
    air: AirTable = AirTable()
    """The haze. [table; clear]"""
    sky: SkyKind = "clear"
    """"clear", "overcast", "dark" (neither sun nor sky), or Linke's turbidity of a clear sky, 1 to 10.
    [-; "clear"]"""
    ground: Part | None = None
    """Reflectance of the open ground. [0 to 1; 0.2, under a dark sky 0]"""
    rooms: list[RoomTable] = Field(default=[], max_length=16)
    """Boxes seen from inside, at most 16. [list of tables; none: open ground]"""
    blocks: list[BlockTable] = Field(default=[], max_length=500)
    """Things that stand there. [list of tables; none]"""
    meshes: list[MeshTable] = Field(default=[], max_length=100)
    """Scans and models from files. [list of tables; none]"""


class MarkTable(Table):
    """`[[marks]]`: a named point."""

    name: Name
    """Its name, which no person has. [name; required]"""
    at: FloorPoint
    """[x, y, z], or [x, y] on the floor. [m; required]"""

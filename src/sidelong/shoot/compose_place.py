"""The place of a shoot file as values."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from sidelong.place.values import Air, Block, MeshFile, Opening, Place, Room, Sky, Vector
from sidelong.shoot.model_place import FinishTable, OpeningTable, PlaceTable, RoomTable
from sidelong.shoot.words import BLOCK, FINISH

USUAL_GROUND = 0.2


def compose_place(table: PlaceTable, folder: Path) -> Place:
    """The place; meshes by their path under `folder`, which has been checked."""
    return Place(
        latitude=table.latitude or 0.0,
        longitude=table.longitude or 0.0,
        elevation=table.elevation,
        timezone=table.timezone or "UTC",
        north=table.north,
        air=Air(
            table.air.haze,
            table.air.g,
            table.air.albedo,
            changes=None if table.air.changes is None else table.air.changes / 3600.0,
        ),
        sky=_sky(table.sky),
        ground=_ground(table),
        rooms=tuple(_room(room, number, len(table.rooms)) for number, room in enumerate(table.rooms, 1)),
        blocks=tuple(
            Block(
                name=b.name or f"{b.kind} {number}",
                kind=BLOCK.known(b.kind),
                at=three(b.at),
                size=three(b.size),
                turn=b.turn,
                finish=FINISH.known(b.finish),
            )
            for number, b in enumerate(table.blocks, 1)
        ),
        meshes=tuple(
            MeshFile(
                name=m.name or Path(m.file).stem,
                path=str(folder / m.file),
                at=three(m.at),
                turn=m.turn,
                scale=m.scale,
                finish=FINISH.known(m.finish),
            )
            for m in table.meshes
        ),
    )


def three(values: Sequence[float]) -> Vector:
    """Three numbers as the vector that the values hold."""
    x, y, z = values
    return (x, y, z)


def _sky(sky: str | float) -> Sky:
    if not isinstance(sky, str):
        return Sky("clear", sky)
    kinds: dict[str, Literal["clear", "overcast", "dark"]] = {"overcast": "overcast", "dark": "dark"}
    return Sky(kinds.get(sky, "clear"))


def _ground(table: PlaceTable) -> float:
    if table.ground is not None:
        return table.ground
    return 0.0 if table.sky == "dark" else USUAL_GROUND


def room_name(room: RoomTable, number: int, of: int) -> str:
    """The name of a room: its own, or "room" with its number where there are several."""
    return room.name or ("room" if of == 1 else f"room {number}")


def _room(table: RoomTable, number: int, of: int) -> Room:
    return Room(
        name=room_name(table, number, of),
        at=three(table.at),
        size=three(table.size),
        finish=_finish(table.finish),
        openings=tuple(_opening(opening, i) for i, opening in enumerate(table.openings, 1)),
        thickness=table.thickness,
    )


def _finish(table: FinishTable) -> dict[str, str]:
    return {face: FINISH.known(name) for face, name in table if name is not None}


def opening_rectangle(table: OpeningTable) -> tuple[float, float, float, float]:
    """Along, sill, width and height of an opening, from either form. [m]"""
    along, sill = table.at if table.at is not None else (table.along or 0.0, table.sill or 0.0)
    width, height = table.size if table.size is not None else (table.width or 1.0, table.height or 1.0)
    return along, sill, width, height


def opening_name(table: OpeningTable, number: int) -> str:
    """The name of an opening: its own, or its kind and its number in the room."""
    return table.name or f"{table.kind or 'opening'} {number}"


def _opening(table: OpeningTable, number: int) -> Opening:
    along, sill, width, height = opening_rectangle(table)
    return Opening(
        name=opening_name(table, number),
        wall=table.wall,
        along=along,
        sill=sill,
        width=width,
        height=height,
        glass=table.glass,
        cover=tuple(table.cover),
        kind=table.kind or "hole",
    )

"""From the model of a shoot file to the values of the layers below: names looked up, defaults filled in.

Takes a model whose names have been checked (see references.py); the model's numbers are SI and true already.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, tzinfo
from pathlib import Path
from zoneinfo import ZoneInfo

from sidelong.light.values import Distribution
from sidelong.people.eyes import eyes
from sidelong.people.values import Person
from sidelong.place.openings import opening_frame
from sidelong.place.values import Mark, Place, Plume, Vector
from sidelong.shoot.compose_kit import NO_LUMINAIRES, compose_kit
from sidelong.shoot.compose_place import compose_place, room_name, three
from sidelong.shoot.compose_shot import Known, ShotComposer
from sidelong.shoot.model import ShootFile
from sidelong.shoot.model_shot import PersonTable, ReadingTable
from sidelong.shoot.surfaces import surface_names
from sidelong.shoot.values import Kit, Reading, Shoot
from sidelong.shoot.words import BUILD, CLOTHES, SKIN


def timezone_of(model: ShootFile) -> tzinfo:
    """The place's timezone, UTC when none is stated or it is not known here."""
    try:
        return ZoneInfo(model.place.timezone) if model.place.timezone else UTC
    except (KeyError, ValueError, OSError):
        return UTC


def shot_names(model: ShootFile) -> tuple[str, ...]:
    """The id of every shot: its own, or its number in the file."""
    return tuple(shot.id or str(number) for number, shot in enumerate(model.shots, 1))


def compose(
    model: ShootFile,
    folder: Path,
    leave_out: frozenset[int] = frozenset(),
    luminaires: Mapping[str, Distribution] = NO_LUMINAIRES,
) -> Shoot:
    """The whole shoot as values; `leave_out` are the positions of shots that are not composed; `luminaires` are the
    luminaire files that it names, read."""
    people_points = {p.name: _eyes_of(p) for p in model.people}
    points: dict[str, Vector] = {**{m.name: three(m.at) for m in model.marks}, **people_points}
    rooms = model.place.rooms
    known = Known(
        points=points,
        bench=compose_kit(model.kit, luminaires),
        zone=timezone_of(model),
        surfaces=surface_names(model),
        rooms=tuple((room.at, room.size) for room in rooms),
        room_names=tuple(room_name(room, i, len(rooms)) for i, room in enumerate(rooms, 1)),
    )
    ids = shot_names(model)
    return Shoot(
        folder=folder,
        title=model.title,
        client=model.client,
        brief=model.brief,
        imperial=model.units == "imperial",
        place=_with_plume(compose_place(model.place, folder), model, known.bench.kit),
        marks=tuple(Mark(m.name, three(m.at)) for m in model.marks),
        people=tuple(_person(p, model, points) for p in model.people),
        kit=known.bench.kit,
        shots=tuple(
            ShotComposer(shot, ids[i], known).shot() for i, shot in enumerate(model.shots) if i not in leave_out
        ),
        readings=tuple(_reading(r) for r in model.readings),
    )


def _with_plume(place: Place, model: ShootFile, kit: Kit) -> Place:
    """The place with the plume of its air, which leaves by the middle of an opening."""
    table = model.place.air.plume
    if table is None:
        return place
    frames = {o.name: opening_frame(room, o)[0] for room in place.rooms for o in room.openings}
    machine = kit.haze.get(table.machine) if table.machine else next(iter(kit.haze.values()), None)
    output = table.output if table.output is not None else (machine.output if machine else None)
    to = frames.get(table.to, (0.0, 0.0, 0.0)) if isinstance(table.to, str) else table.to
    plume = Plume(
        three(table.at),
        three([float(x) for x in to]),
        (output or 0.0) / 60.0,
        table.drift,
        table.spread,
        table.diffusivity,
    )
    return replace(place, air=replace(place.air, plume=plume if output else None))


def _bare_person(table: PersonTable, facing: float) -> Person:
    return Person(
        name=table.name,
        at=three(table.at),
        facing=facing,
        pose=table.pose,
        height=table.height,
        skin=SKIN.known(table.skin),
        clothes=CLOTHES.known(table.clothes),
        seat=table.seat,
        build=BUILD.known(table.build),
        moves=table.moves,
    )


def _eyes_of(table: PersonTable) -> Vector:
    return eyes(_bare_person(table, 0.0))


def _person(table: PersonTable, model: ShootFile, points: dict[str, Vector]) -> Person:
    return _bare_person(table, _facing(table, model, points))


def _facing(table: PersonTable, model: ShootFile, points: dict[str, Vector]) -> float:
    """Direction in the plan, anticlockwise from +x [rad]."""
    facing = table.facing
    if isinstance(facing, float):
        return math.pi / 2 - (facing - model.place.north)
    if isinstance(facing, str):
        facing = points.get(facing)  # "camera", unless somebody has that name, is what is usual
    if facing is not None:
        dx, dy = facing[0] - table.at[0], facing[1] - table.at[1]
        if math.hypot(dx, dy) > 1e-6:
            return math.atan2(dy, dx)
    return _towards_cameras(table, model)


def _towards_cameras(table: PersonTable, model: ShootFile) -> float:
    """The mean direction of the cameras whose picture names the person, else of all, else plan -y."""
    mine = [s.camera.at for s in model.shots if table.name in s.sharp or table.name in s.soft]
    east = north = 0.0
    for x, y, _ in mine or [s.camera.at for s in model.shots]:
        away = math.hypot(x - table.at[0], y - table.at[1])
        if away > 1e-6:
            east += (x - table.at[0]) / away
            north += (y - table.at[1]) / away
    return math.atan2(north, east) if math.hypot(east, north) > 1e-6 else -math.pi / 2


def _reading(table: ReadingTable) -> Reading:
    value, unit = next(
        (value, unit)
        for value, unit in ((table.stops, "stops"), (table.lux, "lx"), (table.lux_seconds, "lxs"), (0.0, "stops"))
        if value is not None
    )
    return Reading(table.shot, table.who, table.light, value, unit, table.power)

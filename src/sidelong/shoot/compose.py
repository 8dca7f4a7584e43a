"""From the model of a shoot file to the values of the layers below: names looked up, defaults filled in.

Takes a model whose names have been checked (see references.py); the model's numbers are SI and true already.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from zoneinfo import ZoneInfo

from sidelong.lens.values import Movement
from sidelong.light.values import Bounce
from sidelong.people.eyes import eyes
from sidelong.people.values import Person
from sidelong.place.values import Mark, Vector
from sidelong.shoot.compose_kit import Bench, compose_kit
from sidelong.shoot.compose_place import compose_place
from sidelong.shoot.model import ShootFile
from sidelong.shoot.model_shot import BounceTable, LightTable, MovementTable, PersonTable, ReadingTable, ShotTable
from sidelong.shoot.values import (
    Body,
    CameraStand,
    Reading,
    Shoot,
    Shot,
    ShotLight,
    Target,
)

USUAL_DAY = datetime(2026, 3, 20, 12)
"""Noon of the equinox: the time of a shot that states none."""
USUAL_BLUR = 1500
"""The film's diagonal over the default limit of blur."""


def timezone_of(model: ShootFile) -> tzinfo:
    """The place's timezone, UTC when none is stated or it is not known here."""
    try:
        return ZoneInfo(model.place.timezone) if model.place.timezone else UTC
    except (KeyError, ValueError, OSError):
        return UTC


def shot_names(model: ShootFile) -> tuple[str, ...]:
    """The id of every shot: its own, or its number in the file."""
    return tuple(shot.id or str(number) for number, shot in enumerate(model.shots, 1))


def compose(model: ShootFile, folder: Path, leave_out: frozenset[int] = frozenset()) -> Shoot:
    """The whole shoot as values; `leave_out` are the positions of shots that are not composed."""
    people_points = {p.name: _eyes_of(p) for p in model.people}
    points: dict[str, Vector] = {**{m.name: _three(m.at) for m in model.marks}, **people_points}
    kit = compose_kit(model.kit)
    zone = timezone_of(model)
    ids = shot_names(model)
    return Shoot(
        folder=folder,
        title=model.title,
        client=model.client,
        brief=model.brief,
        imperial=model.units == "imperial",
        place=compose_place(model.place, folder),
        marks=tuple(Mark(m.name, _three(m.at)) for m in model.marks),
        people=tuple(_person(p, model, points) for p in model.people),
        kit=kit.kit,
        shots=tuple(
            _ShotComposer(shot, ids[i], points, kit, zone).shot()
            for i, shot in enumerate(model.shots)
            if i not in leave_out
        ),
        readings=tuple(_reading(r) for r in model.readings),
    )


def _three(point: Sequence[float]) -> Vector:
    x, y, z = point
    return (x, y, z)


def _bare_person(table: PersonTable, facing: float) -> Person:
    return Person(
        name=table.name,
        at=_three(table.at),
        facing=facing,
        pose=table.pose,
        height=table.height,
        skin=table.skin,
        clothes=table.clothes,
        seat=table.seat,
        build=table.build,
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
        facing = points.get(facing)
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
    return Reading(table.shot, table.who, table.light, value, unit)


def swing_and_tilt(movement: float, rotation: float) -> tuple[float, float]:
    """Swing and tilt of a movement angle and the rotation of its mount. [rad]

    The axis is (sin m cos r, sin m sin r, cos m) and also (sin s cos t, sin t, cos s cos t).
    Worked: m = 8 degrees, r = 0 gives s = 8 degrees, t = 0; r = 90 degrees gives s = 0, t = 8 degrees.
    """
    right, up = math.sin(movement) * math.cos(rotation), math.sin(movement) * math.sin(rotation)
    return math.atan2(right, math.cos(movement)), math.asin(up)


def stated_movement(table: MovementTable | None) -> tuple[float, float] | None:
    """Swing and tilt of a movement table, None where it leaves them to be found. [rad]"""
    if table is None:
        return None
    if table.movement is not None:
        return swing_and_tilt(table.movement, table.rotation or 0.0)
    if table.swing is not None or table.tilt is not None:
        return table.swing or 0.0, table.tilt or 0.0
    return None


def rise_and_shift(shot: ShotTable) -> tuple[float, float]:
    """Rise and shift of a shot, from its camera or its movement. [m]"""
    movement = shot.movement or MovementTable()
    rise = shot.camera.rise if shot.camera.rise is not None else movement.rise
    shift = shot.camera.shift if shot.camera.shift is not None else movement.shift
    return rise or 0.0, shift or 0.0


class _ShotComposer:
    """One shot, its names looked up."""

    def __init__(self, table: ShotTable, name: str, points: dict[str, Vector], bench: Bench, zone: tzinfo) -> None:
        self.table, self.id, self.points, self.bench, self.zone = table, name, points, bench, zone

    def shot(self) -> Shot:
        table, kit = self.table, self.bench.kit
        body = kit.bodies[table.body or next(iter(kit.bodies))]
        lens = kit.lenses[table.lens or next(iter(kit.lenses))]
        rise, shift = rise_and_shift(table)
        angles = stated_movement(table.movement)
        return Shot(
            id=self.id,
            brief=table.brief,
            when=self._when(),
            body=body,
            lens=self.bench.lens_for(lens, table.aperture),
            camera=CameraStand(_three(table.camera.at), self._camera_aim(), table.camera.level),
            sharp=table.sharp,
            soft=table.soft,
            movement=Movement(angles[0], angles[1], rise, shift) if angles else None,
            focus_on=self.focus_on(),
            rise_shift=(rise, shift),
            f_number=table.aperture,
            blur_limit=table.blur_limit or body.film.diagonal / USUAL_BLUR,
            shutter=self._shutter(body),
            iso=table.iso or (body.iso[0] if body.id in self.bench.bodies_with_iso else 100.0),
            balance=table.balance,
            ambient=table.ambient,
            lights=tuple(self._light(light) for light in table.lights),
        )

    def _when(self) -> datetime:
        when = self.table.when or USUAL_DAY
        return when if when.tzinfo is not None else when.replace(tzinfo=self.zone)

    def focus_on(self) -> str | None:
        """Stated, else the first who shall be sharp, else what is aimed at, else the first person or mark."""
        stated = self.table.movement.focus_on if self.table.movement else None
        aim = self.table.camera.aim
        named = aim if isinstance(aim, str) else None
        first = next(iter(self.points), None)
        return stated or (self.table.sharp[0] if self.table.sharp else None) or named or first

    def _camera_aim(self) -> Vector:
        aim = self.table.camera.aim
        if aim is None:
            aim = self.focus_on()
        return self._point(aim, self.table.camera.at)

    def _point(self, place: str | Sequence[float] | None, fallback: Sequence[float]) -> Vector:
        if isinstance(place, str):
            return self.points[place]
        return _three(place if place is not None else fallback)

    def _shutter(self, body: Body) -> float | None:
        if self.table.shutter is not None or self.table.ambient is not None:
            return self.table.shutter
        return max(body.sync, body.shutter[0]) if self.table.lights else 2 ** (-21 / 3)

    def _light(self, table: LightTable) -> ShotLight:
        kit = self.bench.kit
        subject = table.target.who if table.target and table.target.who else self.focus_on()
        aim = self._point(table.aim if table.aim is not None else subject, self._camera_aim())
        power = table.power
        if power is None and table.target is None:
            power = 1.0
        return ShotLight(
            strobe=kit.strobes[table.strobe],
            at=_three(table.at),
            aim=aim,
            modifier=kit.modifiers[table.modifier] if table.modifier else None,
            gels=tuple(kit.gels[g] for g in table.gel),
            power=power,
            target=Target(subject, table.target.stops) if table.target and subject else None,
            bounce=self._bounce(table.bounce, aim, subject) if table.bounce else None,
        )

    def _bounce(self, table: BounceTable, aim: Vector, subject: str | None) -> Bounce:
        panel = table.panel or (table.surface if table.surface in self.bench.kit.modifiers else None)
        if panel is None:
            return Bounce(surface=table.surface)
        to = self._point(table.to if table.to is not None else subject, self._camera_aim())
        return Bounce(panel=self.bench.kit.modifiers[panel], at=self._point(table.at, aim), to=to)

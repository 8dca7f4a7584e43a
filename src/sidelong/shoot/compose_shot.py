"""From one shot of the shoot file to its values: names looked up, defaults filled in."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from sidelong.lens.values import Movement
from sidelong.light.strobe import at_zoom
from sidelong.light.values import Bounce, Modifier
from sidelong.place.values import Vector
from sidelong.shoot.compose_kit import Bench
from sidelong.shoot.compose_place import three
from sidelong.shoot.compose_wishes import colour_wishes_of, freedom_of, is_balanced, wishes_of
from sidelong.shoot.model_shot import BounceTable, CameraTable, LightTable, MovementTable, SheetTable, ShotTable
from sidelong.shoot.surfaces import FACES, bounce_point
from sidelong.shoot.values import Body, CameraStand, Shot, ShotLight, StandingSheet, Target

USUAL_DAY = datetime(2026, 3, 20, 12)
"""Noon of the equinox: the time of a shot that states none."""
USUAL_SHUTTER = 2 ** (-21 / 3)
"""1/125, for a shot without strobes that states neither shutter nor ambient. [s]"""
USUAL_SHEET = (1.2, 1.2)
"""Of a frame of gels that states no size: common practice, no source. [m]"""
USUAL_BLUR = 1500
"""The film's diagonal over the default limit of blur."""
ON_SURFACE = 0.05
"""An aim so near a surface lies on it. [m]"""


@dataclass(frozen=True)
class Known:
    """What a shot's names are looked up in: points by name [m], the kit, the zone of local times, the surfaces by
    name (position of the room, face), and each room's lowest corner, size [m] and name."""

    points: dict[str, Vector]
    bench: Bench
    zone: tzinfo
    surfaces: dict[str, tuple[int, str]]
    rooms: tuple[tuple[Sequence[float], Sequence[float]], ...]
    room_names: tuple[str, ...]


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


def total_angle(angles: tuple[float, float] | None) -> float:
    """The movement angle of a swing and a tilt; 0 for none. [rad]"""
    return math.acos(min(1.0, math.cos(angles[0]) * math.cos(angles[1]))) if angles else 0.0


def rise_and_shift(shot: ShotTable) -> tuple[float, float]:
    """Rise and shift of a shot, from its camera or its movement. [m]"""
    movement = shot.movement or MovementTable()
    rise = shot.camera.rise if shot.camera.rise is not None else movement.rise
    shift = shot.camera.shift if shot.camera.shift is not None else movement.shift
    return rise or 0.0, shift or 0.0


class ShotComposer:
    """One shot, its names looked up."""

    def __init__(self, table: ShotTable, name: str, known: Known) -> None:
        self.table, self.id, self.known = table, name, known
        self.points, self.kit = known.points, known.bench.kit

    def shot(self) -> Shot:
        """The shot as values; every name in it must be known."""
        table, kit = self.table, self.kit
        body = kit.bodies[table.body or next(iter(kit.bodies))]
        lens = kit.lenses[table.lens or next(iter(kit.lenses))]
        rise, shift = rise_and_shift(table)
        angles = stated_movement(table.movement)
        return Shot(
            id=self.id,
            brief=table.brief,
            when=self._when(),
            body=body,
            lens=self.known.bench.lens_for(lens, table.aperture, total_angle(angles), math.hypot(rise, shift)),
            camera=self._camera(table.camera),
            sharp=tuple(str(name) for name in table.sharp),
            soft=tuple(str(name) for name in table.soft),
            parts={str(n): n.part for n in (*table.sharp, *table.soft) if n.part != "eyes"},
            least={str(n): n.least for n in table.soft if n.least > 0.0},
            movement=Movement(angles[0], angles[1], rise, shift) if angles else None,
            focus_on=self.focus_on(),
            focus_stated=bool(table.movement and table.movement.focus_on),
            rise_shift=(rise, shift),
            f_number=table.aperture,
            blur_limit=table.blur_limit or body.film.diagonal / USUAL_BLUR,
            shutter=self._shutter(body),
            iso=table.iso or body.iso[0],
            balance=table.balance,
            ambient=table.ambient,
            lights=tuple(self._light(light) for light in table.lights),
            wishes=wishes_of(table, self.focus_on()),
            colour_wishes=colour_wishes_of(table),
            free=freedom_of(table, body, [kit.heads[light.source] for light in table.lights], bool(kit.filters)),
            filters=tuple(kit.filters[f] for f in table.filters),
            frames=table.frames,
            sheets=tuple(self._sheet(sheet) for sheet in table.sheets),
        )

    def _camera(self, table: CameraTable) -> CameraStand:
        return CameraStand(three(table.at), self._camera_aim(), table.level, table.support, table.framing)

    def _when(self) -> datetime:
        when = self.table.when or USUAL_DAY
        return when if when.tzinfo is not None else when.replace(tzinfo=self.known.zone)

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
        return three(place if place is not None else fallback)

    def _shutter(self, body: Body) -> float | None:
        if self.table.shutter is not None or self.table.ambient is not None or is_balanced(self.table):
            return self.table.shutter
        flashes = any(light.strobe for light in self.table.lights)
        return max(body.sync, body.shutter[0]) if flashes else USUAL_SHUTTER

    def _light(self, table: LightTable) -> ShotLight:
        kit = self.kit
        subject = table.target.who if table.target and table.target.who else self.focus_on()
        stated = table.aim if table.aim is not None else subject
        aim = self._point(stated, self._camera_aim())
        at = three(table.at)
        bounce = self._bounce(table.bounce, table, subject) if table.bounce else None
        if bounce is not None and bounce.at is not None:
            aim = bounce.at
        elif bounce is not None and table.bounce is not None:
            aim = self._aim_at_surface(table.bounce, at, aim)
        power = table.power
        if power is None and table.target is None and not is_balanced(self.table):
            power = 1.0
        return ShotLight(
            strobe=kit.heads[table.source],
            at=at,
            aim=aim,
            modifier=at_zoom(kit.modifiers[table.modifier], table.zoom) if table.modifier else None,
            gels=tuple(kit.gels[g] for g in table.gel),
            power=power,
            target=Target(subject, table.target.stops) if table.target and subject else None,
            bounce=bounce,
            reach=(table.reach[0], table.reach[1]) if table.reach else None,
        )

    def _sheet(self, table: SheetTable) -> StandingSheet:
        kit = self.kit
        pieces = tuple(kit.modifiers[name] if name in kit.modifiers else kit.gels[name] for name in table.of)
        first = next((piece.size for piece in pieces if isinstance(piece, Modifier)), USUAL_SHEET)
        to = table.to if table.to is not None else self.focus_on()
        size = (table.size[0], table.size[1]) if table.size else first
        return StandingSheet(pieces, three(table.at), self._point(to, self._camera_aim()), size)

    def _aim_at_surface(self, table: BounceTable, at: Vector, aim: Vector) -> Vector:
        """An aim on the surface is taken as it is; any other is whom the surface shall light."""
        room, face = self.known.surfaces[table.surface or ""]
        low, size = self.known.rooms[room]
        axis, end = FACES[face]
        if abs(aim[axis] - (low[axis] + end * size[axis])) < ON_SURFACE:
            return aim
        return bounce_point(low, size, face, at, aim)

    def _bounce(self, table: BounceTable, light: LightTable, subject: str | None) -> Bounce:
        """Off a panel, the light is aimed at the panel: `at`, or the light's own aim where that is a point."""
        modifiers = self.kit.modifiers
        panel = table.panel or (table.surface if table.surface in modifiers else None)
        if panel is None:
            room, face = self.known.surfaces[table.surface or ""]
            one = len(self.known.rooms) == 1
            return Bounce(surface=face if one else f"{self.known.room_names[room]} {face}")
        at = table.at if table.at is not None else light.aim
        other = light.aim if table.at is not None and light.aim is not None else subject
        to = self._point(table.to if table.to is not None else other, self._camera_aim())
        return Bounce(panel=modifiers[panel], at=self._point(at, light.at), to=to)

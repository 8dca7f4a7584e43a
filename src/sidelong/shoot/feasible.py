"""Faults of measure: what is stated cannot be, or is more than the kit has. Each is looked at on its own shot."""

from __future__ import annotations

import math

import numpy as np

from sidelong.frames_of_reference import BodyFrame, camera_frame
from sidelong.place.values import Vector
from sidelong.shoot.compose_place import opening_rectangle
from sidelong.shoot.compose_shot import total_angle
from sidelong.shoot.document import shown
from sidelong.shoot.lines import Path
from sidelong.shoot.model import ShootFile
from sidelong.shoot.model_place import OpeningTable, RoomTable
from sidelong.shoot.model_shot import ShotTable
from sidelong.shoot.names import points_of
from sidelong.shoot.report import Report
from sidelong.shoot.values import Shoot, Shot
from sidelong.units import f_mark

_SLACK = 1e-6


def check_feasible(model: ShootFile, shoot: Shoot, report: Report) -> None:
    """Note every fault of measure; `shoot` holds the shots of `model` that had no fault before."""
    for i, lens in enumerate(model.kit.lenses):
        if lens.widest is not None and lens.smallest is not None and lens.smallest < lens.widest:
            expected = f"a smallest stop beyond the widest, f/{f_mark(lens.widest)}"
            report.fault(("kit", "lenses", i, "smallest"), f"f/{f_mark(lens.smallest)}", expected)
    for i, modifier in enumerate(model.kit.modifiers):
        together = (modifier.transmission or 0) + (modifier.reflectance or 0)
        if together > 1 + _SLACK:
            found = f"a transmission and a reflectance of {together:g} together"
            report.fault(("kit", "modifiers", i), found, "at most 1: nothing gives more light than it gets")
    for i, room in enumerate(model.place.rooms):
        for j, opening in enumerate(room.openings):
            _opening(("place", "rooms", i, "openings", j), room, opening, report)
    points = points_of(shoot)
    at_fault = report.shots_at_fault()
    sound = [i for i in range(len(model.shots)) if i not in at_fault]
    for i, shot in zip(sound, shoot.shots, strict=True):
        _Feasible(("shots", i), model.shots[i], shot, points, report).run()


def _opening(path: Path, room: RoomTable, opening: OpeningTable, report: Report) -> None:
    along, sill, width, height = opening_rectangle(opening)
    x, y, z = room.size
    long = y if opening.wall in ("left", "right") else x
    tall = y if opening.wall in ("floor", "ceiling") else z
    if along < -_SLACK or along + width > long + _SLACK or sill < -_SLACK or sill + height > tall + _SLACK:
        found = f"an opening from {along:g} to {along + width:g} along and {sill:g} to {sill + height:g} up"
        report.fault(path, found, f"one inside its wall, {long:g} long and {tall:g} high (metres)")


class _Feasible:
    def __init__(self, path: Path, table: ShotTable, shot: Shot, points: dict[str, Vector], report: Report) -> None:
        self.path, self.table, self.shot, self.points, self.report = path, table, shot, points, report

    def run(self) -> None:
        frame = self._frame()
        if frame is not None:
            self._in_front(frame)
        self._movement()
        self._aperture()
        self._lights()

    def _frame(self) -> BodyFrame | None:
        camera = self.shot.camera
        try:
            return camera_frame(camera.at, camera.aim, camera.level)
        except ValueError:
            path = (*self.path, "camera", "aim")
            self.report.fault(
                path,
                "an aim at the camera itself or straight above or below it",
                "an aim to the front, even if steep",
            )
            return None

    def _in_front(self, frame: BodyFrame) -> None:
        focal = self.shot.lens.focal_length
        wanted = [((*self.path, "sharp", i), name) for i, name in enumerate(self.shot.sharp)]
        if self.table.movement and self.table.movement.focus_on:
            wanted.append(((*self.path, "movement", "focus_on"), self.table.movement.focus_on))
        for path, name in wanted:
            if name not in self.points:
                continue
            ahead = float(frame.to_body(np.asarray(self.points[name]))[2])
            if ahead <= 0:
                found = f"{shown(name)}, {-ahead:.2f} m behind the camera"
                self.report.beyond(path, found, "somebody in front of it who can be sharp", "turn or move the camera")
            elif ahead <= focal:
                found = f"{shown(name)}, {ahead * 1000:.0f} mm in front of the lens"
                self.report.beyond(path, found, f"more than the focal length, {focal * 1000:.0f} mm")

    def _movement(self) -> None:
        lens, asked, degree = self.shot.lens, self.shot.movement, math.pi / 180
        if asked is not None:
            angle = total_angle((asked.swing, asked.tilt))
            if angle > lens.movement + _SLACK:
                table = self.table.movement
                keys = ("movement", "swing", "tilt")
                key = next((k for k in keys if table is not None and getattr(table, k)), "swing")
                self.report.beyond(
                    (*self.path, "movement", key),
                    f"a movement of {angle / degree:.2f} degrees",
                    f"at most {lens.movement / degree:.2f} degrees, which {shown(lens.id)} has",
                    "" if lens.movement else "give the lens its movement in [[kit.lenses]] if it has one",
                )
        rise, shift = self.shot.rise_shift
        if math.hypot(rise, shift) > lens.shift + 1e-9:
            key = "rise" if rise else "shift"
            table_name = "camera" if getattr(self.table.camera, key) is not None else "movement"
            self.report.beyond(
                (*self.path, table_name, key),
                f"a displacement of {math.hypot(rise, shift) * 1000:.1f} mm",
                f"at most {lens.shift * 1000:.1f} mm, which {shown(lens.id)} has",
                "" if lens.shift else "give the lens its shift in [[kit.lenses]] if it has one",
            )

    def _aperture(self) -> None:
        lens, aperture = self.shot.lens, self.table.aperture
        if aperture is not None and aperture < lens.widest * (1 - _SLACK):
            expected = f"f/{f_mark(lens.widest)} or smaller, which {shown(lens.id)} has"
            self.report.beyond((*self.path, "aperture"), f"f/{f_mark(aperture)}", expected)

    def _lights(self) -> None:
        for i, light in enumerate(self.shot.lights):
            path = (*self.path, "lights", i)
            if math.dist(light.at, light.aim) < 1e-3:
                expected = "an aim away from where it stands"
                self.report.fault((*path, "aim"), f"the light {shown(light.strobe.id)} aimed at itself", expected)
            bounce = light.bounce
            if bounce is None or bounce.panel is None or bounce.at is None or bounce.to is None:
                continue
            if math.dist(bounce.at, bounce.to) < 1e-3 or math.dist(bounce.at, light.at) < 1e-3:
                self.report.fault(
                    (*path, "bounce"), "a panel at the light or at whom it lights", "a panel between them"
                )

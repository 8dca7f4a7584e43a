"""Doubts: what can be computed, and is probably not what was meant."""

from __future__ import annotations

import math
from datetime import UTC

import numpy as np

from sidelong.frames_of_reference import camera_frame
from sidelong.light.distribution import total_flux
from sidelong.light.values import Distribution
from sidelong.people.eyes import eyes
from sidelong.place.containment import blocked, inside_block, inside_wall, room_at
from sidelong.place.values import Place, Vector
from sidelong.shoot.document import shown
from sidelong.shoot.lines import Path
from sidelong.shoot.model import ShootFile
from sidelong.shoot.model_shot import ShotTable
from sidelong.shoot.names import points_of
from sidelong.shoot.report import Report
from sidelong.shoot.steady import unsteady
from sidelong.shoot.values import Shoot, Shot, ShotLight
from sidelong.shoot.words import words_of
from sidelong.units import f_mark, iso_mark, metres_in_words, shutter_mark

STAND = 0.9
"""Across the feet of a light stand, spread. [m] Common practice, no source."""
NEAR_WALL = 0.2
"""A stand with its feet along a wall keeps its column at least so far away. [m] Common practice, no source."""
RATIO_OFF = 0.05
"""A luminaire file may be off by so much: round figures, coarse angles. Our own figure. [-]"""
_SLACK = 1e-6


def find_doubts(model: ShootFile, shoot: Shoot, report: Report) -> None:
    """Note every doubt about a shoot that has no fault."""
    _place(model, shoot, report)
    _people(model, shoot, report)
    _kit(model, shoot, report)
    for path, vocabulary, word in words_of(model):
        if not vocabulary.knows(word):
            near = vocabulary.known(word)
            report.doubt(path, f"nothing is known of the {vocabulary.matter} {shown(word)}; {shown(near)} is taken")
    if not shoot.shots:
        report.doubt((), "the shoot has no [[shots]] yet")
    points = points_of(shoot)
    for i, shot in enumerate(shoot.shots):
        _ShotDoubts(("shots", i), model.shots[i], shot, shoot, points, report).run()


def _place(model: ShootFile, shoot: Shoot, report: Report) -> None:
    place = model.place
    dark = place.sky == "dark"
    if (place.latitude is None) != (place.longitude is None):
        one, other = ("longitude", "latitude") if place.latitude is None else ("latitude", "longitude")
        report.doubt(("place",), f"there is a {one} and no {other}; 0 is taken for it")
    elif place.latitude is None and not dark and shoot.shots:
        report.doubt(("place",), "the sky is not dark, and no latitude and longitude are stated; 0 is taken for both")
    local = [shot for shot in model.shots if shot.when is not None and shot.when.tzinfo is None]
    if place.timezone is None and local and not dark:
        report.doubt(("place",), "no timezone is stated; local times are taken as UTC")
    rooms = shoot.place.rooms
    for i, room in enumerate(rooms):
        for j, opening in enumerate(room.openings):
            for other_opening in room.openings[:j]:
                if opening.wall == other_opening.wall and _overlap(
                    (opening.along, opening.sill, opening.width, opening.height),
                    (other_opening.along, other_opening.sill, other_opening.width, other_opening.height),
                ):
                    text = f"the openings {shown(opening.name)} and {shown(other_opening.name)} overlap"
                    report.doubt(("place", "rooms", i, "openings", j), text)


def _overlap(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> bool:
    return all(a[k] < b[k] + b[k + 2] - _SLACK and b[k] < a[k] + a[k + 2] - _SLACK for k in (0, 1))


def _kit(model: ShootFile, shoot: Shoot, report: Report) -> None:
    for i, lens in enumerate(model.kit.lenses):
        if lens.widest is None:
            wide = f_mark(shoot.kit.lenses[lens.id].widest)
            text = f"the widest opening of {shown(lens.id)} is not stated; f/{wide} is taken"
            report.doubt(("kit", "lenses", i), text)
    for i, gel in enumerate(model.kit.gels):
        if gel.transmission is None:
            passed = shoot.kit.gels[gel.id].transmission
            report.doubt(
                ("kit", "gels", i), f"the transmission of {shown(gel.id)} is not stated; {passed:.2f} is taken"
            )
    for i, modifier in enumerate(model.kit.modifiers):
        pattern = shoot.kit.modifiers[modifier.id].pattern
        if pattern is not None and pattern.lamp_flux is not None:
            _luminaire(("kit", "modifiers", i, "pattern"), pattern, pattern.lamp_flux, report)


def _luminaire(path: Path, pattern: Distribution, lamp_flux: float, report: Report) -> None:
    """A luminaire file whose intensities do not give the flux that it states, or more than its lamps have."""
    summed = total_flux(pattern) / lamp_flux
    if pattern.stated_ratio is not None and abs(summed / pattern.stated_ratio - 1.0) > RATIO_OFF:
        report.doubt(
            path,
            f"{shown(pattern.name)} states that {pattern.stated_ratio:.0%} of its lamps' light leaves it, and its "
            f"intensities add up to {summed:.0%}; what they add up to is taken",
        )
    elif summed > 1.0 + RATIO_OFF:
        text = f"the intensities of {shown(pattern.name)} add up to {summed:.0%} of its lamps' light"
        report.doubt(path, f"{text}; all of it is taken")


def _people(model: ShootFile, shoot: Shoot, report: Report) -> None:
    named = {name for shot in shoot.shots for name in (*shot.sharp, *shot.soft)}
    for i, person in enumerate(shoot.people):
        path: Path = ("people", i, "at")
        where = _standing_in(shoot.place, eyes(person))
        if where:
            report.doubt(path, f"{shown(person.name)} has the eyes {where}")
        elif shoot.place.rooms and room_at(shoot.place, (*person.at[:2], person.at[2] + 0.01)) is None:
            report.doubt(path, f"{shown(person.name)} is outside every room")
        if shoot.shots and person.name not in named:
            report.doubt(("people", i, "name"), f"{shown(person.name)} is named in no shot, neither sharp nor soft")
        for j in range(i):
            other = shoot.people[j]
            if math.dist(person.at, other.at) < 0.25:
                report.doubt(path, f"{shown(person.name)} and {shown(other.name)} are in the same spot")


def _standing_in(place: Place, point: Vector) -> str:
    """Words for what solid thing a point lies in; empty when it is free."""
    if bool(inside_wall(place, np.asarray(point))):
        return "inside a wall"
    near = (b for b in place.blocks if math.dist(b.at[:2], point[:2]) <= math.hypot(*b.size[:2]) / 2)
    block = inside_block(Place(blocks=tuple(near)), point)
    return f"inside {shown(block.name)}" if block else ""


class _ShotDoubts:
    def __init__(
        self, path: Path, table: ShotTable, shot: Shot, shoot: Shoot, points: dict[str, Vector], report: Report
    ) -> None:
        self.path, self.table, self.shot, self.shoot, self.points = path, table, shot, shoot, points
        self.report = report

    def run(self) -> None:
        self._camera()
        self._names()
        self._exposure()
        self._when()
        used: set[str] = set()
        for i, light in enumerate(self.shot.lights):
            if light.strobe.id in used and light.strobe.count is None:
                name = shown(light.strobe.id)
                self._say((*self.path, "lights", i, "strobe"), f"{name} is used twice; it must be there twice")
            used.add(light.strobe.id)
            self._light((*self.path, "lights", i), light)

    def _say(self, path: Path, text: str) -> None:
        self.report.doubt(path, f"shot {shown(self.shot.id)}: {text}")

    def _length(self, metres: float) -> str:
        return metres_in_words(metres, self.shoot.imperial)

    def _camera(self) -> None:
        place, at = self.shoot.place, self.shot.camera.at
        path: Path = (*self.path, "camera", "at")
        where = _standing_in(place, at)
        if where:
            self._say(path, f"the camera stands {where}")
            return
        seen = list(dict.fromkeys([*self.shot.sharp, *self.shot.soft])) or list(self.points)
        ends = np.array([self.points[name] for name in seen]).reshape(-1, 3)
        hidden = [name for name, behind in zip(seen, blocked(place, np.asarray(at), ends), strict=True) if behind]
        if place.rooms and room_at(place, at) is None and seen and len(hidden) == len(seen):
            self._say(path, "the camera is outside the room, with no opening between it and anybody of the picture")
        else:
            for name in hidden:
                self._say(path, f"something stands between the camera and {shown(name)}")
        low, high = 0.1, 4.0
        room = room_at(place, at)
        above = at[2] - (room.at[2] if room else 0.0)
        if not low <= above <= high:
            self._say(path, f"the camera is {self._length(above)} above the floor")

    def _names(self) -> None:
        shot = self.shot
        frame = camera_frame(shot.camera.at, shot.camera.aim, shot.camera.level)
        if not shot.sharp and self.points:
            self._say(self.path, f"nobody shall be sharp; the focus is put on {shown(str(shot.focus_on))}")
        if shot.focus_on is None:
            self._say(self.path, "there is nobody to focus on; the ring is put at infinity")
        for i, name in enumerate(shot.soft):
            ahead = float(frame.to_body(np.asarray(self.points[name]))[2])
            if ahead <= 0:
                self._say((*self.path, "soft", i), f"{shown(name)} is behind the camera")
        closest = shot.lens.closest
        for i, name in enumerate(shot.sharp):
            ahead = float(frame.to_body(np.asarray(self.points[name]))[2])
            if closest is not None and ahead + shot.lens.focal_length < closest and not shot.movement:
                text = f"{shown(name)} is nearer than the lens's closest distance, {self._length(closest)}"
                self._say((*self.path, "sharp", i), text)

    def _exposure(self) -> None:
        shot, body, lens = self.shot, self.shot.body, self.shot.lens
        self._above_sync()
        if shot.shutter is not None and not body.shutter[0] * 0.999 <= shot.shutter <= body.shutter[1] * 1.001:
            text = f"the shutter, {shutter_mark(shot.shutter)}, is one that {shown(body.id)} does not have"
            self._say((*self.path, "shutter"), text)
        if not body.iso[0] * 0.999 <= shot.iso <= body.iso[1] * 1.001:
            span = f"{iso_mark(body.iso[0])} to {iso_mark(body.iso[1])}"
            text = f"ISO {iso_mark(shot.iso)} is outside the range of {shown(body.id)}, {span}"
            self._say((*self.path, "iso"), text)
        if shot.f_number is not None and shot.f_number > lens.smallest * 1.001:
            text = f"f/{f_mark(shot.f_number)} is beyond the lens's smallest stop, f/{f_mark(lens.smallest)}"
            self._say((*self.path, "aperture"), text)
        self._unsteady()
        self._unsaid()
        step, movement = lens.rotation_step, self.table.movement
        if step and movement and movement.movement and movement.rotation is not None:
            off = abs((movement.rotation + step / 2) % step - step / 2)
            if off > math.radians(0.01):
                turn = f"{math.degrees(movement.rotation):g} degrees"
                self._say((*self.path, "movement", "rotation"), f"the mount clicks beside a rotation of {turn}")

    def _above_sync(self) -> None:
        """A shutter faster than sync, unless every flash is known to have a mode for it."""
        shot, sync = self.shot, self.shot.body.sync
        flashes = [light.strobe for light in shot.lights if not light.strobe.steady]
        if shot.shutter is None or shot.shutter >= sync * (1 - 1e-3) or all(s.high_speed for s in flashes):
            return
        text = f"the shutter, {shutter_mark(shot.shutter)}, is above the sync speed, {shutter_mark(sync)}"
        without = [shown(s.id) for s in flashes if s.high_speed is False]
        if without:
            lit = f"a single flash lights a band of {shot.shutter / sync:.0%} of the film"
            text += f", and {', '.join(without)} has no high-speed mode: {lit}"
        self._say((*self.path, "shutter"), text if without else f"{text}, with a strobe on")

    def _unsteady(self) -> None:
        """A camera in the hand at a slow shutter that is stated; one that is found is doubted with the light."""
        text = None if self.shot.shutter is None else unsteady(self.shot, self.shot.shutter)
        if text:
            self._say((*self.path, "shutter"), text)

    def _unsaid(self) -> None:
        """What a shot asks of a lens that the kit does not say it has."""
        lens = self.shot.lens
        said, path = self.shoot.kit.lenses[lens.id], (*self.path, "movement")
        if lens.movement > said.movement:
            self._say(path, f"the kit does not say how far {shown(lens.id)} moves; it is taken to move so far")
        if lens.shift > said.shift:
            self._say(path, f"the kit does not say how far {shown(lens.id)} shifts; it is taken to shift so far")

    def _when(self) -> None:
        table, place = self.table, self.shoot.place
        if place.sky.kind == "dark":
            if table.ambient is not None:
                self._say((*self.path, "ambient"), "ambient light is wanted under a dark sky")
            return
        if table.when is None:
            self._say(self.path, f"no time is stated; {self.shot.when:%d %B %Y, %H:%M} is taken")
            return
        when = self.shot.when
        back = when.astimezone(UTC).astimezone(when.tzinfo)
        if back.replace(tzinfo=None) != when.replace(tzinfo=None):
            self._say(
                (*self.path, "when"), "the clocks are put forward over this time of day; it does not exist there"
            )
        elif table.when.tzinfo is None and when.utcoffset() != when.replace(fold=1).utcoffset():
            self._say((*self.path, "when"), "the clocks are put back over this time of day; the first one is taken")
        self._sun()

    def _sun(self) -> None:
        from sidelong.light.sun import sun_position  # late: slow import

        place = self.shoot.place
        if self.table.ambient is None:
            return
        sun = sun_position(self.shot.when, place)
        if sun.elevation < 0:
            low = math.degrees(sun.elevation)
            self._say((*self.path, "ambient"), f"ambient light is wanted, and the sun is {-low:.0f} degrees down")

    def _light(self, path: Path, light: ShotLight) -> None:
        place, name = self.shoot.place, shown(light.strobe.id)
        where = _standing_in(place, light.at)
        room = room_at(place, light.at)
        if where:
            self._say((*path, "at"), f"the light {name} stands {where}")
        elif place.rooms and room is None:
            self._say((*path, "at"), f"the light {name} is outside every room")
        elif room is not None:
            self._stand(path, light, room.at, room.size)
        if math.dist(light.at, self.shot.camera.at) < 0.1:
            self._say((*path, "at"), f"the light {name} and the camera are in the same spot")
        distance = math.dist(light.at, light.aim)
        if light.reach is not None and not light.reach[0] * 0.999 <= distance <= light.reach[1] * 1.001:
            span = f"{self._length(light.reach[0])} to {self._length(light.reach[1])}"
            self._say(
                (*path, "reach"), f"{name} stands {self._length(distance)} from its aim, outside its reach, {span}"
            )
        if light.power is not None and light.power < 2**-light.strobe.range_stops * 0.999:
            stops = f"{light.strobe.range_stops:g} stops"
            self._say((*path, "power"), f"{name} does not go so low: its range is {stops}")
        if light.modifier is not None and light.modifier.kind == "panel":
            text = f"{shown(light.modifier.id)} is a {light.modifier.kind}, which does not go before a head"
            self._say((*path, "modifier"), text)

    def _stand(self, path: Path, light: ShotLight, low: Vector, size: Vector) -> None:
        name, (x, y, z) = shown(light.strobe.id), light.at
        near = min(x - low[0], low[0] + size[0] - x, y - low[1], low[1] + size[1] - y)
        if min(size[:2]) < STAND:
            self._say((*path, "at"), f"the room is too small for the stand of {name}")
        elif near < NEAR_WALL:
            self._say((*path, "at"), f"{name} is {self._length(near)} from a wall: too near for its stand")
        level = math.hypot(light.aim[0] - x, light.aim[1] - y) / max(math.dist(light.aim, light.at), 1e-9)
        half = light.modifier.size[1] / 2 * level if light.modifier else 0.08
        if low[2] + size[2] - z < half:
            self._say((*path, "at"), f"{name} with what is before it reaches through the ceiling")

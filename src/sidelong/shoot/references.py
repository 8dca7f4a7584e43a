"""Faults between tables: names that nothing has, names given twice, two forms of one thing at once."""

from __future__ import annotations

import math
import os
import stat
from collections.abc import Collection, Sequence
from pathlib import Path, PurePosixPath, PureWindowsPath
from zoneinfo import ZoneInfo, available_timezones

from sidelong.errors import FileFault, LuminaireFault
from sidelong.light.usual_modifiers import USUAL
from sidelong.shoot.compose_kit import USUAL_LAMP_KELVIN
from sidelong.shoot.compose_place import opening_name
from sidelong.shoot.document import shown
from sidelong.shoot.lines import Path as KeyPath
from sidelong.shoot.luminaires import load_luminaire
from sidelong.shoot.model import ShootFile
from sidelong.shoot.model_kit import LampTable, MeterReading, ModifierTable, StrobeTable
from sidelong.shoot.model_place import MOST_OPENINGS, OpeningTable, PlumeTable
from sidelong.shoot.model_shot import BounceTable, LightTable, MovementTable, ReadingTable, ShotTable
from sidelong.shoot.references_wishes import check_wishes
from sidelong.shoot.report import Report
from sidelong.shoot.structure import nearest
from sidelong.shoot.surfaces import surface_names
from sidelong.spectra.lamps import is_white_led

TAKEN = ("sun", "sky")
"""Names of lights that no strobe may have."""
SHEETS = ("scrim", "net", "flag", "panel")
"""Kinds of modifiers that hang in a frame or an opening."""
_HANGS = "the id of a scrim, net, flag, panel or gel of the kit"


def check_references(model: ShootFile, report: Report, also: Collection[str] = ()) -> None:
    """Note every fault between the tables of a model; names in `also` are taken for known whatever they name."""
    _Checker(model, report, also).run()


class _Checker:
    def __init__(self, model: ShootFile, report: Report, also: Collection[str]) -> None:
        self.model, self.report, self.also = model, report, also
        kit = model.kit
        self.points = dict.fromkeys([*(p.name for p in model.people), *(m.name for m in model.marks)])
        self.modifiers = {m.id: m for m in kit.modifiers}
        self.gels = {g.id: g for g in kit.gels}
        self.surfaces = surface_names(model)
        self.strobes = {s.id: s for s in kit.strobes}
        self.lamps = {lamp.id: lamp for lamp in kit.lamps}

    def run(self) -> None:
        self._place()
        self._given_twice()
        self._kit()
        for i, person in enumerate(self.model.people):
            if person.facing != "camera":
                self._point(("people", i, "facing"), person.facing)
        for i, shot in enumerate(self.model.shots):
            self._shot(("shots", i), shot)
        for i, reading in enumerate(self.model.readings):
            self._reading(("readings", i), reading)

    def _known(self, path: KeyPath, name: str, known: Collection[str], what: str) -> bool:
        if name in known or name in self.also:
            return True
        self.report.fault(path, shown(name), what, nearest(name, known))
        return False

    def _point(self, path: KeyPath, name: object) -> None:
        if isinstance(name, str):
            self._known(path, name, self.points, "the name of a person or a mark")

    def _unique(self, places: Sequence[tuple[KeyPath, str]], what: str) -> None:
        first: dict[str, KeyPath] = {}
        for path, name in places:
            if name in first:
                line, _ = self.report.document.lines.find(first[name])
                self.report.fault(path, f"{shown(name)} a second time", f"{what} only once (first in line {line})")
            first.setdefault(name, path)

    def _given_twice(self) -> None:
        model = self.model
        people = [(("people", i, "name"), p.name) for i, p in enumerate(model.people)]
        marks = [(("marks", i, "name"), m.name) for i, m in enumerate(model.marks)]
        self._unique([*people, *marks], "each name of a person or mark")
        ids = [(("shots", i, "id"), s.id or str(i + 1)) for i, s in enumerate(model.shots)]
        self._unique(ids, "each shot's id")
        rooms = [(("place", "rooms", i, "name"), r.name) for i, r in enumerate(model.place.rooms) if r.name]
        self._unique(rooms, "each room's name")
        for table, pieces in model.kit:
            self._unique([(("kit", table, i, "id"), p.id) for i, p in enumerate(pieces)], f"each id in kit.{table}")

    def _place(self) -> None:
        place = self.model.place
        if place.timezone is not None:
            try:
                ZoneInfo(place.timezone)
            except (KeyError, ValueError, OSError):
                hint = nearest(place.timezone, available_timezones())
                expected = 'a timezone of the tz database, such as "Europe/Lisbon"'
                self.report.fault(("place", "timezone"), shown(place.timezone), expected, hint)
        if place.air.plume is not None:
            self._plume(("place", "air", "plume"), place.air.plume)
        count = sum(len(room.openings) for room in place.rooms)
        if count > MOST_OPENINGS:
            self.report.fault(("place", "rooms"), f"{count} openings", f"at most {MOST_OPENINGS} in the whole place")
        for i, room in enumerate(place.rooms):
            for j, opening in enumerate(room.openings):
                path: KeyPath = ("place", "rooms", i, "openings", j)
                self._opening(path, opening)
                self._sheets((*path, "cover"), opening.cover)
        for i, mesh in enumerate(place.meshes):
            self._inside(("place", "meshes", i, "file"), mesh.file, "a mesh in the shoot's folder")

    def _plume(self, path: KeyPath, plume: PlumeTable) -> None:
        machines = {h.id: h for h in self.model.kit.haze}
        if plume.machine is not None:
            self._known((*path, "machine"), plume.machine, machines, "the id of a haze machine of the kit")
        if isinstance(plume.to, str):
            rooms = self.model.place.rooms
            names = [opening_name(o, n) for room in rooms for n, o in enumerate(room.openings, 1)]
            self._known((*path, "to"), plume.to, names, "the name of an opening, or a point [x, y, z]")
        elif math.dist(plume.to, plume.at) < 0.1:
            self.report.fault((*path, "to"), "a plume that goes nowhere", "an end away from the machine")
        machine = machines.get(plume.machine or next(iter(machines), ""))
        if plume.output is None and (machine is None or machine.output is None):
            self.report.fault(path, "a plume of a machine without output", "output = grams a minute, here or there")

    def _sheets(self, path: KeyPath, names: Sequence[str]) -> None:
        """Ids of what can hang in a frame or an opening."""
        sheets = [*(m.id for m in self.modifiers.values() if _kind(m) in SHEETS), *self.gels]
        for i, name in enumerate(names):
            if name in self.modifiers and name not in sheets:
                self.report.fault((*path, i), f"the {self.modifiers[name].kind} {shown(name)}", _HANGS)
            else:
                self._known((*path, i), name, sheets, _HANGS)

    def _opening(self, path: KeyPath, opening: OpeningTable) -> None:
        for whole, parts in (("at", ("along", "sill")), ("size", ("width", "height"))):
            both = [p for p in parts if getattr(opening, p) is not None]
            if getattr(opening, whole) is not None and both:
                self.report.fault(
                    (*path, both[0]), f"both {whole} and {both[0]}", f"{whole}, or {' and '.join(parts)}"
                )
        if opening.size is None and (opening.width is None or opening.height is None):
            self.report.fault(path, "an opening without its size", "size = [width, height], or width and height")
        if opening.at is None and opening.along is None:
            self.report.fault(path, "an opening without its place", "at = [along, sill], or along and sill")

    def _inside(self, path: KeyPath, file: str, wanted: str) -> bool:
        """Whether a path names a plain file inside the shoot's folder."""
        folder = self.report.document.folder
        expected = "a file inside the shoot's folder, by its path from there"
        parts = {*PurePosixPath(file).parts, *PureWindowsPath(file).parts}
        windows = PureWindowsPath(file)
        if PurePosixPath(file).is_absolute() or windows.is_absolute() or windows.drive or windows.root:
            self.report.fault(path, f"the absolute path {shown(file)}", expected)
            return False
        if ".." in parts:
            self.report.fault(path, f"{shown(file)}, which climbs out of the folder", expected)
            return False
        real = Path(os.path.realpath(folder / file))
        if not real.is_relative_to(folder):
            self.report.fault(path, f"{shown(file)}, a link that leads out of the folder", expected)
            return False
        try:
            kind = real.stat().st_mode
        except (OSError, ValueError):
            near = nearest(file, _files_in(folder))
            self.report.fault(path, f"{shown(file)}, which is not there", wanted, near)
            return False
        if not stat.S_ISREG(kind):
            self.report.fault(path, f"{shown(file)}, which is no plain file", expected)
            return False
        return True

    def _pattern(self, path: KeyPath, file: str) -> None:
        """A modifier's luminaire file: kept in the report if it can be read, else its own fault is told."""
        if not self._inside(path, file, "a luminaire file in the shoot's folder"):
            return
        try:
            self.report.luminaires[file] = load_luminaire(self.report.document.folder, file)
        except LuminaireFault as error:
            self.report.faults.append(error.fault)
            self.report.fault_paths.append(path)
        except FileFault as error:
            self.report.fault(path, str(error), "a luminaire file")

    def _kit(self) -> None:
        used = {light.source for shot in self.model.shots for light in shot.lights}
        for i, lamp in enumerate(self.model.kit.lamps):
            self._lamp(("kit", "lamps", i), lamp)
        for i, modifier in enumerate(self.model.kit.modifiers):
            if modifier.pattern is not None:
                self._pattern(("kit", "modifiers", i, "pattern"), modifier.pattern)
        for i, strobe in enumerate(self.model.kit.strobes):
            self._strobe(("kit", "strobes", i), strobe, strobe.id in used)

    def _lamp(self, path: KeyPath, lamp: LampTable) -> None:
        if (lamp.lumens is None) == (lamp.reading is None):
            found = "neither lumens nor reading" if lamp.lumens is None else "lumens and reading"
            self.report.fault(path, found, "lumens of the bare lamp, or reading = {distance, lux}")
        if lamp.reading is not None and lamp.reading.modifier is not None:
            where: KeyPath = (*path, "reading", "modifier")
            self._known(where, lamp.reading.modifier, self.modifiers, "the id of a modifier")
        if lamp.id in TAKEN or lamp.id in self.strobes:
            self.report.fault((*path, "id"), shown(lamp.id), "an id that neither a strobe, the sun nor the sky has")
        if lamp.fed_by is not None:
            sources = [p.id for p in self.model.kit.power]
            self._known((*path, "fed_by"), lamp.fed_by, sources, "the id of an outlet, battery or generator")
        kelvin = lamp.kelvin or USUAL_LAMP_KELVIN[lamp.spectrum]
        if lamp.spectrum == "led" and not is_white_led(kelvin, lamp.cri):
            expected = "a colour temperature that a white LED has, such as 3200 or 5600"
            self.report.fault((*path, "kelvin"), f"an LED of {kelvin:g} K and Ra {lamp.cri:g}", expected)

    def _strobe(self, path: KeyPath, strobe: StrobeTable, used: bool) -> None:
        forms = [f for f in ("guide_number", "efficacy", "reading") if getattr(strobe, f) is not None]
        expected = "one calibration: guide_number, efficacy or reading"
        if len(forms) > 1:
            self.report.fault((*path, forms[1]), f"{' and '.join(forms)} at once", expected, of_key=True)
        if not forms and used:
            self.report.fault(path, f"the strobe {shown(strobe.id)}, used in a shot, with no calibration", expected)
        if strobe.id in TAKEN:
            expected = "another id: sun and sky are lights of their own"
            self.report.fault((*path, "id"), shown(strobe.id), expected)
        if strobe.fed_by is not None:
            sources = [p.id for p in self.model.kit.power]
            self._known((*path, "fed_by"), strobe.fed_by, sources, "the id of an outlet, battery or generator")
        if strobe.guide_modifier is not None:
            self._known((*path, "guide_modifier"), strobe.guide_modifier, self.modifiers, "the id of a modifier")
        if strobe.reading is not None:
            self._meter_reading((*path, "reading"), strobe.reading)

    def _meter_reading(self, path: KeyPath, reading: MeterReading) -> None:
        if (reading.lux_seconds is None) == (reading.aperture is None):
            found = "neither lux_seconds nor aperture" if reading.aperture is None else "lux_seconds and aperture"
            self.report.fault(path, found, "what the meter read: lux_seconds, or aperture (with iso)")
        if reading.modifier is not None:
            self._known((*path, "modifier"), reading.modifier, self.modifiers, "the id of a modifier")

    def _shot(self, path: KeyPath, shot: ShotTable) -> None:
        kit = self.model.kit
        self._piece((*path, "body"), shot.body, [b.id for b in kit.bodies], "body", required=False)
        self._piece((*path, "lens"), shot.lens, [lens.id for lens in kit.lenses], "lens", required=True)
        for key in ("sharp", "soft"):
            for i, name in enumerate(getattr(shot, key)):
                self._point((*path, key, i), name)
            self._unique(
                [((*path, key, i), name) for i, name in enumerate(getattr(shot, key))], f"each name in {key}"
            )
            for i, name in enumerate(getattr(shot, key)):
                if name.part != "eyes" and name in {m.name for m in self.model.marks}:
                    found = f"the {name.part} of the mark {shown(name)}"
                    self.report.fault((*path, key, i), found, "a part of a person only")
        sharp = set(shot.sharp)
        for i, name in enumerate(shot.soft):
            if name in sharp:
                self.report.fault((*path, "soft", i), f"{shown(name)} in sharp and in soft", "each in one of them")
        self._point((*path, "camera", "aim"), shot.camera.aim)
        if shot.camera.aim is None and not self.points:
            self.report.fault((*path, "camera"), "a camera without an aim", "aim = a name or a point [x, y, z]")
        self._movement((*path, "movement"), shot.movement, shot)
        for i, sheet in enumerate(shot.sheets):
            where: KeyPath = (*path, "sheets", i)
            self._sheets((*where, "of"), sheet.of)
            if not sheet.of:
                self.report.fault((*where, "of"), "a frame with nothing in it", _HANGS)
            self._point((*where, "to"), sheet.to)
        for i, light in enumerate(shot.lights):
            self._light((*path, "lights", i), light, shot)
        check_wishes(path, shot, self.model, self.report, self._known)

    def _piece(self, path: KeyPath, name: str | None, known: list[str], what: str, required: bool) -> None:
        if name is not None:
            self._known(path, name, known, f"the id of a {what} in the kit")
        elif not known and required:
            self.report.fault(path[:-1], f"a shot, and no {what} in the kit", f"[[kit.{what}es]] with its id")
        elif len(known) > 1:
            expected = f"{what} = one of {', '.join(shown(k) for k in known[:8])}"
            self.report.fault(path[:-1], f"a shot that does not say which {what}", expected)

    def _movement(self, path: KeyPath, movement: MovementTable | None, shot: ShotTable) -> None:
        if movement is None:
            return
        first = [k for k in ("swing", "tilt") if getattr(movement, k) is not None]
        second = [k for k in ("movement", "rotation") if getattr(movement, k) is not None]
        forms = "swing and tilt, or movement and rotation"
        if first and second:
            self.report.fault((*path, second[0]), f"{first[0]} and {second[0]} at once", forms, of_key=True)
        elif second == ["rotation"]:
            self.report.fault((*path, "rotation"), "a rotation without a movement", forms, of_key=True)
        for key in ("rise", "shift"):
            if getattr(movement, key) is not None and getattr(shot.camera, key) is not None:
                expected = f"{key} in one of them"
                self.report.fault((*path, key), f"{key} in the movement and in the camera", expected, of_key=True)
        self._point((*path, "focus_on"), movement.focus_on)

    def _source(self, path: KeyPath, light: LightTable, shot: ShotTable) -> None:
        if (light.strobe is None) == (light.lamp is None):
            found = "neither strobe nor lamp" if light.lamp is None else "strobe and lamp"
            self.report.fault(path, found, "strobe = the id of a flash head, or lamp = that of a steady light")
        elif light.strobe is not None:
            self._known((*path, "strobe"), light.strobe, self.strobes, "the id of a strobe in the kit")
        elif light.lamp is not None:
            self._known((*path, "lamp"), light.lamp, self.lamps, "the id of a lamp in the kit")
            if light.target is not None and shot.shutter is None and shot.ambient is not None:
                expected = "power, or a stated shutter: a lamp counts with the ambient that the shutter is found for"
                self.report.fault((*path, "target"), "a target of a lamp beside ambient", expected)

    def _light(self, path: KeyPath, light: LightTable, shot: ShotTable) -> None:
        self._source(path, light, shot)
        if light.modifier is not None:
            self._known((*path, "modifier"), light.modifier, self.modifiers, "the id of a modifier in the kit")
            mounted = self.modifiers.get(light.modifier)
            if mounted is not None:
                self._zoom((*path, "zoom"), light, mounted)
            if mounted is not None and mounted.kind in ("flag", "black cloth"):
                expected = "something that goes before a head: a flag only holds light back"
                self.report.fault((*path, "modifier"), f"the flag {shown(mounted.id)}", expected)
        for i, gel in enumerate(light.gel):
            self._known((*path, "gel", i), gel, self.gels, "the id of a gel in the kit")
        self._point((*path, "aim"), light.aim)
        if light.power is not None and light.target is not None:
            self.report.fault((*path, "target"), "power and target at once", "power, or target to have it found")
        if light.target is not None:
            self._point((*path, "target", "who"), light.target.who)
            if light.target.who is None and not self.points:
                self.report.fault((*path, "target"), "a target for nobody", "who = the name of a person or mark")
        if light.bounce is not None:
            self._bounce((*path, "bounce"), light.bounce, light)

    def _zoom(self, path: KeyPath, light: LightTable, mounted: ModifierTable) -> None:
        if mounted.zoom is not None and light.lamp is not None:
            self.report.fault((*path[:-1], "modifier"), "a zoom's guide numbers before a lamp", "a beam for a lamp")
        if light.zoom is None:
            return
        if mounted.zoom is None:
            expected = "a modifier with zoom = [[beam, guide number], ...] in the kit"
            self.report.fault(path, f"a zoom of {shown(mounted.id)}, which has none", expected)
        elif not mounted.zoom[0][0] - 1e-6 <= light.zoom <= mounted.zoom[-1][0] + 1e-6:
            low, high = (math.degrees(beam) for beam, _ in (mounted.zoom[0], mounted.zoom[-1]))
            self.report.fault(path, f"{math.degrees(light.zoom):g} degrees", f"{low:g} to {high:g} degrees")

    def _bounce(self, path: KeyPath, bounce: BounceTable, light: LightTable) -> None:
        panels = [m.id for m in self.modifiers.values() if _kind(m) == "panel"]
        if (bounce.surface is None) == (bounce.panel is None):
            found = "neither surface nor panel" if bounce.panel is None else "surface and panel"
            self.report.fault(path, found, "a surface of a room, or a panel of the kit")
        elif bounce.surface is not None:
            what = "a surface of a room or the id of a panel"
            self._known(path, bounce.surface, [*self.surfaces, *panels], what)
        elif bounce.panel is not None:
            self._known((*path, "panel"), bounce.panel, panels, "the id of a modifier of the kind panel")
        off_panel = bounce.panel is not None or bounce.surface in panels
        if off_panel and bounce.at is None and not isinstance(light.aim, tuple):
            self.report.fault(
                path, "a panel without its place", "bounce = {panel, at}, or the light's aim as a point"
            )
        self._point((*path, "at"), bounce.at)
        self._point((*path, "to"), bounce.to)

    def _heads(self) -> list[str]:
        """The names that heads go by: a strobe's id, numbered where one shot uses it again."""
        most = max((len(shot.lights) for shot in self.model.shots), default=0)
        numbered = [f"{head} {n}" for head in (*self.strobes, *self.lamps) for n in range(2, most + 1)]
        return [*self.strobes, *self.lamps, *numbered]

    def _reading(self, path: KeyPath, reading: ReadingTable) -> None:
        self._point((*path, "who"), reading.who)
        given = [k for k in ("stops", "lux", "lux_seconds") if getattr(reading, k) is not None]
        if len(given) != 1:
            found = " and ".join(given) or "a reading without a value"
            self.report.fault(path, found, "one of stops, lux, lux_seconds")
        ids = [s.id or str(i + 1) for i, s in enumerate(self.model.shots)]
        if reading.shot is not None:
            self._known((*path, "shot"), reading.shot, ids, "the id of a shot")
        if reading.light is not None:
            self._known((*path, "light"), reading.light, [*self._heads(), *TAKEN], "the id of a strobe, sun or sky")
        if reading.power is not None and reading.light not in self._heads():
            self.report.fault(
                (*path, "power"), "the power of no strobe", "`light` to name the strobe that was read alone"
            )


def _kind(modifier: ModifierTable) -> str:
    """The plain kind of a modifier."""
    usual = USUAL.get(modifier.kind)
    return modifier.kind if usual is None else usual.kind


def _files_in(folder: Path) -> list[str]:
    try:
        return sorted(os.listdir(folder))[:200]
    except OSError:
        return []

"""The light of a shot in few numbers, for the page's live view: sources, and a room's even share of reflected light.

Direct light by Lambert's cosine and the square of the distance; what surfaces send on comes as one even illuminance,
which a room with mean reflectance rho and inner area A has from a flux that enters it:

    E = flux rho / (A (1 - rho))

(the integrating sphere's formula; a room is no sphere, so this is the size of it, not its shape). Shadows, and the
sizes of sources, are the page's. Nothing is traced: a millisecond.

Source
------
lambert1760; walsh1958 (integrating sphere)
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from itertools import combinations
from typing import Any

import numpy as np

from sidelong.colour.adapt import BRADFORD, spectrum_xyz
from sidelong.colour.temperature import temperature_of
from sidelong.desk.scene import covers
from sidelong.desk.scene_shot import front_area
from sidelong.light.gel import filtered
from sidelong.light.patterns import axial_intensity, beam_exponent
from sidelong.light.values import Daylight, Emitter, Gel
from sidelong.place.shell import finish_of
from sidelong.place.values import Place, Room
from sidelong.plan.stage import stage_at_full_power
from sidelong.shoot.values import Shoot, Shot, ShotLight
from sidelong.spectra import finishes
from sidelong.spectra.illuminants import DAYLIGHT_FROM, daylight_phase, flash, planck
from sidelong.spectra.values import Spectrum
from sidelong.trace.stage import haze_box
from sidelong.trace.values import Stage

_FACES = ("left", "right", "near", "far", "floor", "ceiling")
MOST_PAIRED = 16
"""Gels of a kit, from the first, that the page may lay over each other in any pair."""
_COLDEST, _WARMEST, _STEP = 40.0, 640.0, 5.0
"""Balances of the table of whites. [mired]"""


def scene_light(shoot: Shoot, shot: Shot) -> dict[str, Any]:
    """Heads at full power, sun and sky of a shot, each with its colour and its even share of reflected light.

    Per head: `name`, `strobe`, `steady` (a lamp: lumens and lux instead of lumen and lux seconds), `energy_j`,
    `step_stops` (0: a dial without steps) and `range_stops` of its power, `power` as the file gives it or None,
    `gels_on` and `gels` (gel_choices); `at`, `axis`, `up` (place frame), `pattern`, `shape`, `size_m`, `exponent` (a
    beam's cos^n), `grid_deg`, `intensity_cds` on its axis, `front_cdm2` of its front as it is seen
    (a bounced one's own), `white` (XYZ, Y = 1), `ambient_lxs`. A bounced head stands
    where it is turned to, a Lambertian patch. Then `sun` and `sky` or None; `scrims` in openings, each a Lambertian
    front that gives on what sun falls on it: `name` of its part in the scene, place and size as a head's, `glow_lx`
    the illuminance it gives out; `ground`'s reflectance, the body's `sync_s`, `shutter_s` and `iso` ranges,
    `nd_stops` on the lens, `haze` or None (`extinction_per_m`, `albedo`, `g` in the box from `low` to `high`, place
    frame [m], where it sees `open` shares of sky and ground) and `whites` (white_table).
    """
    stage = stage_at_full_power(shoot, shot)
    around = _surroundings(shoot.place)
    gels = tuple(shoot.kit.gels.values())
    heads = [
        _head(emitter, light, around, stage) | _dials(light, gels)
        for emitter, light in zip(stage.emitters, shot.lights, strict=True)
    ]
    day = stage.daylight
    return {
        "shot": shot.id,
        "heads": heads,
        "sun": None if day is None or day.sun_normal <= 0 else _sun(day, shoot.place, around),
        "sky": None if day is None else _sky(day, shoot.place, around),
        "scrims": [] if day is None else _scrims(shoot, day),
        "ground": shoot.place.ground,
        "sync_s": shot.body.sync,
        "shutter_s": list(shot.body.shutter),
        "iso": list(shot.body.iso),
        "nd_stops": math.fsum(f.stops for f in shot.filters),
        "haze": _haze(stage),
        "whites": white_table(),
    }


@lru_cache(maxsize=1)
def white_table() -> dict[str, Any]:
    """XYZ (Y = 1) of what balances turn neutral: `daylight` to 250 mired, `planck` from there, every `step` mired
    from `first`; between the points X and Z are straight lines over mired to 1e-4."""
    turn = 1e6 / DAYLIGHT_FROM
    cold = np.arange(_COLDEST, turn + 0.5 * _STEP, _STEP)
    warm = np.arange(turn, _WARMEST + 0.5 * _STEP, _STEP)
    return {
        "step": _STEP,
        "daylight": {"first": float(cold[0]), "xz": [_xz(daylight_phase(1e6 / m)) for m in cold]},
        "planck": {"first": float(warm[0]), "xz": [_xz(planck(1e6 / m)) for m in warm]},
    }


def _xz(spectrum: Spectrum) -> list[float]:
    x, y, z = spectrum_xyz(spectrum)
    return [float(x / y), float(z / y)]


def white_of(spectrum: Spectrum) -> list[float]:
    """XYZ (3,) of a light, Y = 1. [-]"""
    xyz = spectrum_xyz(spectrum)
    return [float(v) for v in xyz / xyz[1]]


def _haze(stage: Stage) -> dict[str, Any] | None:
    """The even haze; what drifts from a machine is left out."""
    air = stage.place.air
    if air.extinction <= 0:
        return None
    low, high = haze_box(stage)
    return {
        "extinction_per_m": air.extinction,
        "albedo": air.albedo,
        "g": air.g,
        "open": [0.0, 0.0] if stage.place.rooms else [0.5, 0.5],
        "low": [float(v) for v in low],
        "high": [float(v) for v in high],
    }


class _Around:
    """A room's mean reflectance and inner area [m2], openings taken as black."""

    def __init__(self, room: Room) -> None:
        x, y, z = room.size
        areas = {"left": y * z, "right": y * z, "near": x * z, "far": x * z, "floor": x * y, "ceiling": x * y}
        for o in room.openings:
            areas[o.wall] = max(0.0, areas[o.wall] - o.width * o.height)
        share = sum(areas[f] * reflectance(finish_of(room, f)) for f in _FACES)
        self.room = room
        self.area = 2 * (x * y + y * z + x * z)
        self.rho = min(0.95, share / self.area)

    def even(self, flux: float) -> float:
        """[lx or lx s] of a flux [lm or lm s] that enters."""
        return flux * self.rho / (self.area * (1.0 - self.rho))

    def holds(self, at: tuple[float, float, float]) -> bool:
        return all(a <= p <= a + s for p, a, s in zip(at, self.room.at, self.room.size, strict=True))


@lru_cache(maxsize=256)
def reflectance(name: str) -> float:
    """Luminous reflectance of a finish by its name. [-]"""
    return finishes.luminous_reflectance(finishes.finish(name).reflectance)


def _surroundings(place: Place) -> tuple[_Around, ...]:
    return tuple(_Around(room) for room in place.rooms)


def _head(emitter: Emitter, light: ShotLight, around: tuple[_Around, ...], stage: Stage) -> dict[str, Any]:
    front = axial_intensity(emitter) / max(front_area(emitter), 1e-6)
    emitter = _bounced(emitter, light, around, stage)
    room = next((a for a in around if a.holds(emitter.at)), None)
    pattern = "lambert" if emitter.pattern == "table" else emitter.pattern
    return {
        "name": emitter.name,
        "at": list(emitter.at),
        "axis": list(emitter.axis),
        "up": list(emitter.up),
        "pattern": pattern,
        "shape": emitter.shape,
        "size_m": list(emitter.size),
        "exponent": beam_exponent(emitter.beam) if pattern == "beam" else 1.0,
        "grid_deg": None if emitter.grid is None else math.degrees(emitter.grid),
        "front_cdm2": front,
        "intensity_cds": axial_intensity(emitter),
        "white": white_of(emitter.spectrum),
        "ambient_lxs": 0.0 if room is None else room.even(emitter.flux),
        "bounced": light.bounce is not None,
    }


def _dials(light: ShotLight, gels: tuple[Gel, ...]) -> dict[str, Any]:
    """What of a head can be set, and what each gel of the kit would make of its light."""
    strobe = light.strobe
    return {
        "strobe": strobe.id,
        "energy_j": strobe.energy,
        "step_stops": strobe.step_stops,
        "range_stops": strobe.range_stops,
        "power": light.power,
        "gels_on": [gel.id for gel in light.gels],
        "gels": gel_choices(strobe.spectrum or flash(strobe.kelvin), light.gels, gels),
        "steady": strobe.steady,
    }


def gel_choices(bare: Spectrum, worn: tuple[Gel, ...], gels: tuple[Gel, ...]) -> list[dict[str, Any]]:
    """What a light becomes, one lumen of it bare: bare, as it is worn now, behind each gel of the kit, behind any
    two, and behind what is worn and one more.

    `ids` of the gels; `share` of the flux left; `cones` (3,), Bradford responses to a lumen of the bare light;
    `cct_K` and `duv` of what comes out. A
    layer under other gels is nearly B^-1 diag(cones there / cones here) B times itself: exact for surfaces without
    colour.
    """
    more = [(*worn, gel) for gel in gels if gel not in worn]
    sets = [(), worn, *((gel,) for gel in gels), *combinations(gels[:MOST_PAIRED], 2), *more]
    distinct: dict[tuple[str, ...], tuple[Gel, ...]] = {}
    for some in sets:
        # light passes a stack alike in whatever order it lies
        distinct.setdefault(tuple(sorted(gel.id for gel in some)), some)
    return [{"ids": [gel.id for gel in some], **_through(bare, some)} for some in distinct.values()]


def _through(bare: Spectrum, gels: tuple[Gel, ...]) -> dict[str, Any]:
    spectrum, share = filtered(bare, gels)
    cones = BRADFORD @ np.array(white_of(spectrum)) * share
    kelvin, duv = temperature_of(spectrum_xyz(spectrum))
    return {"share": share, "cones": [float(v) for v in cones], "cct_K": float(kelvin), "duv": float(duv)}


def _bounced(emitter: Emitter, light: ShotLight, around: tuple[_Around, ...], stage: Stage) -> Emitter:
    """A head that is turned at a surface or panel, as the Lambertian patch that it makes there."""
    bounce = light.bounce
    if bounce is None:
        return emitter
    sheet = next((s for s in stage.sheets if bounce.panel is not None and s.name == bounce.panel.id), None)
    if sheet is not None:
        return replace(
            emitter, pattern="lambert", shape="rectangle", size=sheet.size, at=sheet.at, axis=sheet.axis,
            up=sheet.up, grid=None, flux=emitter.flux * sheet.reflectance,
        )  # fmt: skip
    at = np.array(light.aim, float)
    way = at - np.array(light.at)
    axis, rho = _wall_at(at, -way / max(1e-9, float(np.linalg.norm(way))), around)
    spot = max(0.3, 0.6 * float(np.linalg.norm(way)))
    up = (0.0, 1.0, 0.0) if abs(axis[2]) > 0.9 else (0.0, 0.0, 1.0)
    at = at + 0.02 * np.array(axis)
    return replace(
        emitter, pattern="lambert", shape="disc", size=(spot, spot), at=_triple(at), axis=axis, up=up, grid=None,
        flux=emitter.flux * rho,
    )  # fmt: skip


def _wall_at(
    at: np.ndarray, back: np.ndarray, around: tuple[_Around, ...]
) -> tuple[tuple[float, float, float], float]:
    """The normal into the room of the wall that a point lies nearest to, and its reflectance; `back` outdoors."""
    best: tuple[float, tuple[float, float, float], float] | None = None
    for a in around:
        low, high = np.array(a.room.at), np.array(a.room.at) + np.array(a.room.size)
        for axis, (below, above) in enumerate((("left", "right"), ("near", "far"), ("floor", "ceiling"))):
            for face, away, sign in ((below, at[axis] - low[axis], 1.0), (above, high[axis] - at[axis], -1.0)):
                normal = [0.0, 0.0, 0.0]
                normal[axis] = sign
                if best is None or abs(away) < best[0]:
                    best = (abs(float(away)), _triple(np.array(normal)), reflectance(finish_of(a.room, face)))
    return (_triple(back), 0.5) if best is None else best[1:]


def _sun(day: Daylight, place: Place, around: tuple[_Around, ...]) -> dict[str, Any]:
    to_sun = np.array(day.to_sun)
    flux = sum(_entering(a.room, to_sun) for a in around) * day.sun_normal
    area = sum(a.area for a in around)
    even = max(around, key=lambda a: a.area).even(flux) if area else 0.0
    return {
        "to_sun": list(day.to_sun),
        "normal_lx": day.sun_normal,
        "white": white_of(day.sun_spectrum),
        "cct_K": float(temperature_of(spectrum_xyz(day.sun_spectrum))[0]),
        "ambient_lx": even,
        "ground_lx": day.sun_normal * max(0.0, float(to_sun[2])),
    }


def _sky(day: Daylight, place: Place, around: tuple[_Around, ...]) -> dict[str, Any]:
    # an upright opening sees half the sky and half the ground; the ground's own share is counted with the sun's
    flux = (
        sum(
            o.width * o.height * (o.glass or 1.0) * (1.0 if o.wall == "ceiling" else 0.5 + 0.5 * place.ground)
            for a in around
            for o in a.room.openings
            if o.wall != "floor"
        )
        * day.sky_horizontal
    )
    even = max(around, key=lambda a: a.area).even(flux) if around else 0.0
    return {
        "horizontal_lx": day.sky_horizontal,
        "white": white_of(day.sky_spectrum),
        "cct_K": float(temperature_of(spectrum_xyz(day.sky_spectrum))[0]),
        "ambient_lx": even,
    }


def _scrims(shoot: Shoot, day: Daylight) -> list[dict[str, Any]]:
    found = []
    for name, sheet in covers(shoot).items():
        if sheet.diffuse <= 0.0:
            continue
        falls = day.sun_normal * max(0.0, -float(np.dot(sheet.axis, day.to_sun)))
        found.append(
            {
                "name": f"cover of {name}",
                "at": list(sheet.at),
                "axis": list(sheet.axis),
                "up": list(sheet.up),
                "size_m": list(sheet.size),
                "glow_lx": falls * sheet.diffuse,
            }
        )
    return found


def _entering(room: Room, to_sun: np.ndarray) -> float:
    """Area that the openings of a room show to the sun, their panes counted. [m2]"""
    out = {"right": 0, "far": 1, "ceiling": 2, "left": 3, "near": 4, "floor": 5}
    total = 0.0
    for o in room.openings:
        face = out[o.wall]
        cosine = float(to_sun[face % 3]) * (1.0 if face < 3 else -1.0)
        total += o.width * o.height * (o.glass or 1.0) * max(0.0, cosine)
    return total


def _triple(values: np.ndarray) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])

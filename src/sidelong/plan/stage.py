"""What stands and shines in a shot: the stage that the meters and the picture are both traced from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import count

import numpy as np
from numpy.typing import NDArray

from sidelong.light.daylight import daylight
from sidelong.light.sheets import sheet_finish
from sidelong.light.strobe import emitter
from sidelong.light.values import Emitter, Gel, Head, Modifier, Vector
from sidelong.place.containment import room_at
from sidelong.place.openings import opening_frame
from sidelong.place.values import Opening, Place, Room
from sidelong.shoot.values import Shoot, Shot, ShotLight, StandingSheet
from sidelong.trace.values import Sheet, Stage

NEAR_WALL = 1.2
"""A head this near to the wall it is turned at lights the room by its patch there; our own figure. [m]"""
_UP = np.array([0.0, 0.0, 1.0])


def stage_at_full_power(shoot: Shoot, shot: Shot) -> Stage:
    """The stage of a shot with every head at full power, so that any power is a factor on its layer."""
    names = head_names(shot)
    emitters = tuple(_emitter(shoot, name, light) for name, light in zip(names, shot.lights, strict=True))
    sheets = [sheet for light in shot.lights if (sheet := _panel(light)) is not None]
    sheets += [_standing(sheet) for sheet in shot.sheets]
    sheets += [sheet for room in shoot.place.rooms for o in room.openings if (sheet := _cover(shoot, room, o))]
    return Stage(shoot.place, shoot.people, emitters, daylight(shot.when, shoot.place), tuple(sheets))


def at_powers(stage: Stage, powers: dict[str, float]) -> Stage:
    """The stage with each head at a fraction of full power, by name."""
    return replace(stage, emitters=tuple(replace(e, flux=e.flux * float(powers[e.name])) for e in stage.emitters))


def with_factors(stage: Stage, factors: dict[str, float]) -> Stage:
    """The stage with every light a factor stronger, by name: heads, and where there is daylight "sun" and "sky"."""
    day = stage.daylight
    if day is not None:
        sun, sky = day.sun_normal * factors["sun"], day.sky_horizontal * factors["sky"]
        stage = replace(stage, daylight=replace(day, sun_normal=sun, sky_horizontal=sky))
    return at_powers(stage, factors)


def head_names(shot: Shot) -> tuple[str, ...]:
    """A name for each head of a shot: its strobe's id, numbered from the second use on."""
    names: list[str] = []
    for light in shot.lights:
        trials = (light.strobe.id if n == 1 else f"{light.strobe.id} {n}" for n in count(1))
        names.append(next(name for name in trials if name not in names))
    return tuple(names)


def _emitter(shoot: Shoot, name: str, light: ShotLight) -> Emitter:
    head = Head(name, light.strobe, light.at, light.aim, light.modifier, light.gels, 1.0, light.bounce)
    bounced = light.bounce is not None or reach_of_wall(shoot.place, light.at, light.aim) < NEAR_WALL
    return replace(emitter(head, shoot.kit.modifiers), bounced=bounced)


def reach_of_wall(place: Place, at: Vector, aim: Vector) -> float:
    """How far a head in a room is from the wall, floor or ceiling that it is turned at; inf outside. [m]"""
    room = room_at(place, at)
    way = _unit(np.array(aim) - np.array(at), _UP)
    if room is None:
        return math.inf
    low, here = np.array(room.at), np.array(at)
    ends = np.where(way > 0, low + np.array(room.size), low)
    ahead = np.abs(way) > 1e-6
    return float(np.min((ends[ahead] - here[ahead]) / way[ahead]))


def light_middle(stage: Stage, shot: Shot, name: str, point: Vector) -> NDArray[np.float64]:
    """Unit direction (3,), place frame, from a point to the middle of a light: where a flat receptor is turned.

    The head itself or its bounce; the sun's centre; for the sky the zenith in the open, and in a room the middle of
    the opening that looks largest from the point.
    """
    if name == "sun" and stage.daylight is not None:
        return np.array(stage.daylight.to_sun)
    if name == "sky":
        return _sky_middle(stage, point)
    light = shot.lights[head_names(shot).index(name)]
    bounce = light.bounce
    source = light.at if bounce is None else bounce.at if bounce.at is not None else light.aim
    return _unit(np.array(source) - np.array(point), _UP)


def _sky_middle(stage: Stage, point: Vector) -> NDArray[np.float64]:
    here, best, largest = np.array(point), _UP, 0.0
    for room in stage.place.rooms:
        inside = np.all(here > np.array(room.at)) and np.all(here < np.array(room.at) + np.array(room.size))
        for opening in room.openings if inside else ():
            centre, normal, _ = opening_frame(room, opening)
            way = centre - here
            size = opening.width * opening.height * abs(float(way @ normal)) / max(1e-6, float(way @ way)) ** 1.5
            if size > largest:
                best, largest = _unit(way, _UP), size
    return best


def _unit(vector: NDArray[np.float64], otherwise: NDArray[np.float64]) -> NDArray[np.float64]:
    size = float(np.linalg.norm(vector))
    return np.asarray(vector / size) if size > 1e-9 else otherwise


def _panel(light: ShotLight) -> Sheet | None:
    """The panel a head is bounced off: its face halves the angle between the head and whom it should light."""
    bounce = light.bounce
    if bounce is None or bounce.panel is None:
        return None
    at = np.array(bounce.at if bounce.at is not None else light.aim, float)
    to_head = _unit(np.array(light.at) - at, _UP)
    to_subject = to_head if bounce.to is None else _unit(np.array(bounce.to) - at, to_head)
    axis = _unit(to_head + to_subject, to_head)
    panel = bounce.panel
    finish = None if panel.finish is None else sheet_finish([panel])
    return Sheet(panel.id, _vector(at), _vector(axis), _up_for(axis), panel.size, panel.reflectance, finish=finish)


def _standing(sheet: StandingSheet) -> Sheet:
    """A frame of sheets, its near side turned to what it faces."""
    axis = _unit(np.array(sheet.to) - np.array(sheet.at), _UP)
    return _made_of(sheet.pieces, sheet.at, _vector(axis), _up_for(axis), sheet.size)


def _made_of(
    pieces: Sequence[Modifier | Gel], at: Vector, axis: Vector, up: Vector, size: tuple[float, float]
) -> Sheet:
    """A sheet of pieces one behind the other, the last on the side that `axis` points to."""
    finish = sheet_finish(pieces)
    mean = float(finish.reflectance.values.mean())
    name = " + ".join(piece.id for piece in pieces)
    return Sheet(name, at, axis, up, size, mean, finish.diffuse, finish.straight, finish)


def _cover(shoot: Shoot, room: Room, opening: Opening) -> Sheet | None:
    """Scrims and gels hung in an opening, a hand inside the room's face of the wall."""
    if not opening.cover:
        return None
    centre, normal, height = opening_frame(room, opening)
    size = (opening.width + 0.02, opening.height + 0.02)
    at, axis, up = _vector(centre + 0.01 * normal), _vector(normal), _vector(height)
    kit = shoot.kit
    return _made_of([kit.modifiers.get(name) or kit.gels[name] for name in opening.cover], at, axis, up, size)


def _up_for(axis: NDArray[np.float64]) -> Vector:
    trial = _UP - float(_UP @ axis) * axis
    return _vector(_unit(trial, np.array([0.0, 1.0, 0.0])))


def _vector(values: NDArray[np.float64]) -> Vector:
    return float(values[0]), float(values[1]), float(values[2])

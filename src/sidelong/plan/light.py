"""A shot's light: what arrives at everyone, light by light, and the powers and shutter that make the balance."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sidelong.light.exposure import bellows_factor, light_for_stops
from sidelong.light.power import power_in_words
from sidelong.plan.balance import balanced_settings
from sidelong.plan.learned import Foretold, Table, lesson_of
from sidelong.plan.metered import Exposed, Readings, as_learned, meter_everyone
from sidelong.plan.precision import excess
from sidelong.plan.settings import Settings, settings_one_by_one
from sidelong.plan.stage import at_powers, stage_at_full_power, with_factors
from sidelong.plan.values import FocusPlan, HeadSetting, LightAtPoint, LightPlan, PointLight
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.quality import READING_SAMPLES
from sidelong.trace.values import Stage

Array = NDArray[np.float64]


def plan_light(
    shoot: Shoot, shot: Shot, focus: FocusPlan, most_paths: int = READING_SAMPLES
) -> tuple[LightPlan, Stage]:
    """The light of a shot, and the stage with every head at the power that was found.

    Readings follow up to `most_paths` light paths a point.

    The shoot's readings correct every light first (plan/learned.py).
    A head whose `target` lies out of its range is set to the nearest end, and says by how many stops it misses. In a
    shot with wishes all that is free is found together (plan/balance.py); the answer is in `balance`.
    """
    full = stage_at_full_power(shoot, shot)
    film = exposed_of(shot, focus)

    def settings_for(readings: Readings) -> Settings:
        if shot.free is None:
            return settings_one_by_one(shot, readings, film)
        return balanced_settings(shoot, shot, readings, film, focus)

    readings = meter_everyone(shoot, shot, full, most_paths, lambda few: _excess(shot, few, settings_for(few)))
    settings = settings_for(readings)
    lesson = lesson_of(shoot.readings, shot, _foretold(readings, settings))
    if lesson is not None:
        readings, full = as_learned(readings, lesson.learned), with_factors(full, lesson.factors)
        settings = settings_for(readings)
    scale = settings.scale(readings)
    plan = LightPlan(
        shutter=settings.shutter,
        iso=settings.exposed.iso,
        daylight=full.daylight,
        heads=settings.heads,
        points=_points(readings, scale, settings),
        notes=settings.notes if lesson is None else (*settings.notes, *lesson.notes),
        learned=() if lesson is None else lesson.lights,
        nd=settings.exposed.nd,
        balance=settings.balance,
    )
    return plan, at_powers(full, dict(zip(readings.lights, scale, strict=True)))


def exposed_of(shot: Shot, focus: FocusPlan) -> Exposed:
    """What the film of a shot makes of light, before anything is chosen."""
    magnification = focus.setting.extension / focus.setting.lens.focal_length
    bellows = float(bellows_factor(magnification, focus.setting.lens.pupil_ratio))
    nd = math.fsum(f.stops for f in shot.filters)
    return Exposed(focus.setting.f_number, shot.iso, bellows, nd)


def _foretold(readings: Readings, settings: Settings) -> Foretold:
    film, scale = settings.exposed, settings.scale(readings)

    def table(value: Array, error: Array, direct: Array) -> Table:
        return Table(direct * scale, np.maximum(value - direct, 0.0) * scale, error * scale)

    card = table(readings.card, readings.card_error, readings.direct[0])
    flat = table(readings.flat, readings.flat_error, readings.direct[1])
    dome = table(readings.dome, readings.dome_error, readings.direct[2])
    seconds = np.array([1.0 if flash else settings.shutter for flash in readings.flash])
    middle = float(light_for_stops(film.nd, 1.0, film.f_number, film.iso, film.bellows))
    names = readings.points, readings.lights, readings.flash
    return Foretold(*names, card, flat, dome, seconds, middle, settings.powers)


def _excess(shot: Shot, readings: Readings, settings: Settings) -> Array:
    """By how many times the worst error at each point (P,) is larger than it may be, first settings assumed. [-]"""
    scale = settings.scale(readings)
    scale *= np.array([1.0 if flash else settings.shutter for flash in readings.flash])
    set_by = [
        (readings.points.index(light.target.who), [k])
        for k, light in enumerate(shot.lights)
        if light.target is not None
    ]
    who = next(iter(shot.sharp), readings.points[0] if readings.points else None)
    if shot.shutter is None and who in readings.points:
        set_by.append((readings.points.index(who), [k for k, flash in enumerate(readings.flash) if not flash]))
    return excess(readings.card * scale, readings.card_error * scale, readings.flash, set_by)


def _points(readings: Readings, scale: Array, settings: Settings) -> tuple[PointLight, ...]:
    seconds = np.array([1.0 if flash else settings.shutter for flash in readings.flash])
    return tuple(_point(readings, i, scale, seconds, settings.exposed) for i in range(len(readings.points)))


def _point(readings: Readings, i: int, scale: Array, seconds: Array, film: Exposed) -> PointLight:
    lights = []
    for k, name in enumerate(readings.lights):
        card = readings.card[i, k] * scale[k]
        relative = readings.card_error[i, k] / readings.card[i, k] if readings.card[i, k] > 0 else 0.0
        lights.append(
            LightAtPoint(
                light=name,
                flash=readings.flash[k],
                flat=float(readings.flat[i, k] * scale[k]),
                flat_error=float(readings.flat_error[i, k] * scale[k]),
                dome=float(readings.dome[i, k] * scale[k]),
                dome_error=float(readings.dome_error[i, k] * scale[k]),
                stops=film.stops(card, float(seconds[k])),
                stops_error=float(relative / math.log(2.0)),
            )
        )
    exposed = readings.card[i] * scale * seconds
    flash = np.array(readings.flash, bool)
    return PointLight(
        name=readings.points[i],
        lights=tuple(lights),
        total_stops=film.stops(float(exposed.sum()), 1.0),
        ambient_stops=film.stops(float(exposed[~flash].sum()), 1.0),
        flash_stops=film.stops(float(exposed[flash].sum()), 1.0),
    )


def head_in_words(head: HeadSetting) -> str:
    """A head's setting as it is dialled: ``1/4 + 1/3, 100 J``; a lamp's in watts."""
    return f"{power_in_words(head.power)}, {head.energy:.0f} {'W' if head.steady else 'J'}"

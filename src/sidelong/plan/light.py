"""A shot's light: what arrives at everyone, light by light, and the powers and shutter that make the balance."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.light.exposure import bellows_factor, light_for_stops
from sidelong.light.power import power_in_words
from sidelong.plan.balance import balanced_settings
from sidelong.plan.balance_places import (
    can_move,
    changed,
    changes_in_words,
    colours_of,
    least_change,
    packs_of,
    with_packs,
)
from sidelong.plan.haze import haze_words
from sidelong.plan.learned import Belief, Foretold, Lesson, Table, lesson_of
from sidelong.plan.metered import Exposed, Readings, as_learned, meter_everyone
from sidelong.plan.precision import excess
from sidelong.plan.settings import Settings, settings_one_by_one
from sidelong.plan.stage import at_powers, stage_at_full_power, with_factors
from sidelong.plan.values import ColourOutcome, FocusPlan, HeadSetting, LightAtPoint, LightPlan, PointLight
from sidelong.shoot.steady import unsteady
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.quality import MOST_SAMPLES
from sidelong.trace.values import Progress, Stage

Array = NDArray[np.float64]


def plan_light(
    shoot: Shoot,
    shot: Shot,
    focus: FocusPlan,
    most_paths: int = MOST_SAMPLES,
    taught: Mapping[str, Belief] | None = None,
    progress: Progress | None = None,
) -> tuple[LightPlan, Stage]:
    """The light of a shot, and the stage with every head at the power that was found.

    Readings follow up to `most_paths` light paths a point; `progress` is called as the metering goes on, and
    again from 0 where heads are tried elsewhere.

    The shoot's readings correct every light first (plan/learned.py), with what other shots have `taught` of it.
    A head whose `target` lies out of its range is set to the nearest end, and says by how many stops it misses. In a
    shot with wishes all that is free is found together (plan/balance.py); the answer is in `balance`.
    """
    task = _Task(shoot, shot, focus, most_paths, progress)
    lit = _lit(task, None)
    lesson = lesson_of(shoot.readings, shot, _foretold(lit.readings, lit.settings), taught)
    if lesson is not None:
        lit = _lit(task, lesson)
    readings, settings, full = lit.readings, lit.settings, lit.stage
    scale = settings.scale(readings)
    plan = LightPlan(
        shutter=settings.shutter,
        iso=settings.exposed.iso,
        daylight=full.daylight,
        heads=settings.heads,
        points=_points(readings, scale, settings),
        notes=(
            *settings.notes,
            *_doubted(shot, settings.shutter),
            *(() if lesson is None else lesson.notes),
            *haze_words(shoot),
        ),
        learned=() if lesson is None else lesson.lights,
        nd=settings.exposed.nd,
        balance=settings.balance,
    )
    return plan, at_powers(full, dict(zip(readings.lights, scale, strict=True)))


def _doubted(shot: Shot, shutter: float) -> tuple[str, ...]:
    """A shutter [s] that was found and is slow for the hand or the monopod; one that is stated, the check doubts."""
    slow = unsteady(shot, shutter) if shot.shutter is None else None
    return () if slow is None else (slow,)


@dataclass
class _Task:
    """What is to be planned; what is `metered` of the shot as drawn is kept, since readings do not change it."""

    shoot: Shoot
    shot: Shot
    focus: FocusPlan
    most_paths: int
    progress: Progress | None = None
    metered: dict[object, tuple[Stage, Readings]] = field(default_factory=dict)


@dataclass(frozen=True)
class _Lit:
    """A shot as it is lit: its stage at full power, meters and settings."""

    stage: Stage
    readings: Readings
    settings: Settings


def _lit(task: _Task, lesson: Lesson | None) -> _Lit:
    """The shot metered and set, by what was learned; gels and places of its heads chosen where its wishes need it."""
    if task.shot.free is None:
        return _set(task, task.shot, lesson)
    packs = packs_of(task.shoot, task.shot)
    worn = tuple(some[0] if some else None for some in packs)
    drawn = with_packs(task.shot, worn)
    lit = _with_changes(_set(task, drawn, lesson), colours_of(task.shot, worn))
    balance = lit.settings.balance
    if balance is None or balance.answer.met or not (can_move(drawn) or any(len(some) > 1 for some in packs)):
        return lit
    choice = least_change(task.shoot, drawn, (balance.lit, balance.asked, balance.means), packs)
    if choice is None:
        return lit
    words = changes_in_words(drawn, choice, task.shoot.imperial)
    moved = _set(task, changed(drawn, choice), lesson)
    return _with_changes(moved, colours_of(task.shot, choice.packs), words)


def _set(task: _Task, shot: Shot, lesson: Lesson | None) -> _Lit:
    film = exposed_of(shot, task.focus)

    def settings_for(readings: Readings) -> Settings:
        if shot.free is None:
            return settings_one_by_one(shot, readings, film)
        return balanced_settings(task.shoot, shot, readings, film, task.focus)

    worn = tuple((light.at, tuple(gel.id for gel in light.gels)) for light in shot.lights)
    if worn not in task.metered:
        stage = stage_at_full_power(task.shoot, shot)
        readings = meter_everyone(
            task.shoot,
            shot,
            stage,
            task.most_paths,
            lambda few: _excess(shot, few, settings_for(few), len(task.shoot.people)),
            progress=task.progress,
        )
        task.metered[worn] = stage, readings
    stage, readings = task.metered[worn]
    if lesson is not None:
        readings, stage = as_learned(readings, lesson.learned), with_factors(stage, lesson.factors)
    return _Lit(stage, readings, settings_for(readings))


def _with_changes(lit: _Lit, colours: tuple[ColourOutcome, ...], changes: tuple[str, ...] = ()) -> _Lit:
    if lit.settings.balance is None:
        return lit
    balance = replace(lit.settings.balance, colours=colours, changes=changes)
    return replace(lit, settings=replace(lit.settings, balance=balance))


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


def _excess(shot: Shot, readings: Readings, settings: Settings, people: int) -> Array:
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
    others = (readings.flat, readings.flat_error), (readings.dome, readings.dome_error)
    return excess(readings.card * scale, readings.card_error * scale, set_by, people, others)


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

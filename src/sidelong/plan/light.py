"""A shot's light: what arrives at everyone, light by light, and the powers and shutter that make the balance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import OutOfPower
from sidelong.light.exposure import (
    bellows_factor,
    card_stops,
    flash_loss_above_sync,
    light_for_stops,
    shutter_for_stops,
)
from sidelong.light.power import nearest_power, power_in_words
from sidelong.light.readings import Learned, corrected
from sidelong.light.values import Vector
from sidelong.plan.learned import Foretold, Table, lesson_of
from sidelong.plan.precision import excess
from sidelong.plan.stage import at_powers, head_names, light_middle, stage_at_full_power, with_factors
from sidelong.plan.values import FocusPlan, HeadSetting, LightAtPoint, LightPlan, PointLight
from sidelong.plan.words import stops_in_words
from sidelong.shoot.names import point_of
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.meter import meter
from sidelong.trace.quality import READING_SAMPLES
from sidelong.trace.values import Metered, Receptor, Stage
from sidelong.units import SHUTTER_MARKS, shutter_mark, true_shutter

Array = NDArray[np.float64]


@dataclass(frozen=True)
class _Readings:
    """Meters at every point, heads at full power: (P, L) each, [lx] or [lx s], with one-sigma errors."""

    points: tuple[str, ...]
    lights: tuple[str, ...]
    flash: tuple[bool, ...]
    card: Array
    card_error: Array
    flat: Array
    flat_error: Array
    dome: Array
    dome_error: Array
    direct: tuple[Array, Array, Array]
    """Of card, flat and dome, what comes straight from the light."""


@dataclass(frozen=True)
class _Exposure:
    f_number: float
    iso: float
    bellows: float


@dataclass(frozen=True)
class _Settings:
    """What camera and heads are set to; `loss` of the flash above sync. [s, stops]"""

    shutter: float
    loss: float
    heads: tuple[HeadSetting, ...]
    notes: tuple[str, ...]

    @property
    def powers(self) -> dict[str, float]:
        return {h.name: h.power for h in self.heads}


def plan_light(
    shoot: Shoot, shot: Shot, focus: FocusPlan, most_paths: int = READING_SAMPLES
) -> tuple[LightPlan, Stage]:
    """The light of a shot, and the stage with every head at the power that was found.

    Readings follow up to `most_paths` light paths a point.

    The shoot's readings correct every light first (plan/learned.py).
    A head whose `target` lies out of its range is set to the nearest end, and says by how many stops it misses.
    """
    full = stage_at_full_power(shoot, shot)
    magnification = focus.setting.extension / focus.setting.lens.focal_length
    bellows = float(bellows_factor(magnification, focus.setting.lens.pupil_ratio))
    exposure = _Exposure(focus.setting.f_number, shot.iso, bellows)
    readings = _meter_everyone(shoot, shot, focus, full, exposure, most_paths)
    settings = _settings(shot, readings, exposure)
    lesson = lesson_of(shoot.readings, shot, _foretold(readings, settings, exposure))
    if lesson is not None:
        readings, full = _as_learned(readings, lesson.learned), with_factors(full, lesson.factors)
        settings = _settings(shot, readings, exposure)
    factors = settings.powers
    points = _points(readings, factors, exposure, settings.shutter, settings.loss)
    notes = settings.notes if lesson is None else (*settings.notes, *lesson.notes)
    learned = () if lesson is None else lesson.lights
    plan = LightPlan(settings.shutter, shot.iso, full.daylight, settings.heads, points, notes, learned)
    return plan, at_powers(full, {name: power * 2.0**-settings.loss for name, power in factors.items()})


def _settings(shot: Shot, readings: _Readings, exposure: _Exposure) -> _Settings:
    shutter, notes = _shutter(shot, readings, exposure)
    loss = flash_loss_above_sync(shutter, shot.body.sync) if shot.lights else 0.0
    if loss > 0.0:
        notes.append(
            f"{shutter_mark(shutter)} is shorter than sync, {shutter_mark(shot.body.sync)}: without a pulsed "
            f"mode part of the film stays dark, and with one the flash loses {loss:.1f} stops, which is counted here"
        )
    heads = tuple(_head(shot, index, name, readings, exposure, loss) for index, name in enumerate(head_names(shot)))
    return _Settings(shutter, loss, heads, tuple(notes))


def _foretold(readings: _Readings, settings: _Settings, exposure: _Exposure) -> Foretold:
    powers, loss = settings.powers, settings.loss
    scale = np.array([powers[name] * 2.0**-loss if name in powers else 1.0 for name in readings.lights])

    def table(value: Array, error: Array, direct: Array) -> Table:
        return Table(direct * scale, np.maximum(value - direct, 0.0) * scale, error * scale)

    card = table(readings.card, readings.card_error, readings.direct[0])
    flat = table(readings.flat, readings.flat_error, readings.direct[1])
    dome = table(readings.dome, readings.dome_error, readings.direct[2])
    seconds = np.array([1.0 if flash else settings.shutter for flash in readings.flash])
    middle = float(light_for_stops(0.0, 1.0, exposure.f_number, exposure.iso, exposure.bellows))
    return Foretold(readings.points, readings.lights, readings.flash, card, flat, dome, seconds, middle, powers)


def _as_learned(readings: _Readings, learned: Learned) -> _Readings:
    """The same meters, by what was learned; statistical errors keep their proportion."""

    def scaled(value: Array, error: Array, direct: Array) -> tuple[Array, Array]:
        now = corrected(learned, direct, np.maximum(value - direct, 0.0))
        return now, error * np.divide(now, value, out=np.ones_like(value), where=value > 0)

    card, card_error = scaled(readings.card, readings.card_error, readings.direct[0])
    flat, flat_error = scaled(readings.flat, readings.flat_error, readings.direct[1])
    dome, dome_error = scaled(readings.dome, readings.dome_error, readings.direct[2])
    return replace(
        readings,
        card=card,
        card_error=card_error,
        flat=flat,
        flat_error=flat_error,
        dome=dome,
        dome_error=dome_error,
    )


def _meter_everyone(
    shoot: Shoot, shot: Shot, focus: FocusPlan, stage: Stage, exposure: _Exposure, most_paths: int
) -> _Readings:
    named = [(p.name, True) for p in shoot.people] + [(m.name, False) for m in shoot.marks]
    lights = [*head_names(shot), *(("sun", "sky") if stage.daylight is not None else ())]
    receptors: list[Receptor] = []
    for name, is_person in named:
        at = point_of(shoot, name)
        without = name if is_person else None
        to_camera = _direction(focus.frame.at - np.array(at))
        receptors.append(Receptor(at, to_camera, False, without))
        receptors.append(Receptor(at, to_camera, True, without))
        receptors += [Receptor(at, _direction(light_middle(stage, shot, n, at)), False, without) for n in lights]
    names = [name for name, _ in named]

    def too_large(few: Metered) -> Array:
        return np.repeat(_excess(shot, _sorted(names, lights, few), exposure), 2 + len(lights))

    return _sorted(names, lights, meter(stage, receptors, most_paths, excess=too_large))


def _excess(shot: Shot, readings: _Readings, exposure: _Exposure) -> Array:
    """By how many times the worst error at each point (P,) is larger than it may be, first settings assumed. [-]"""
    settings = _settings(shot, readings, exposure)
    powers, shutter, loss = settings.powers, settings.shutter, settings.loss
    scale = np.array([powers[name] * 2.0**-loss if name in powers else 1.0 for name in readings.lights])
    scale *= np.array([1.0 if flash else shutter for flash in readings.flash])
    set_by = [
        (readings.points.index(light.target.who), [k])
        for k, light in enumerate(shot.lights)
        if light.target is not None
    ]
    who = next(iter(shot.sharp), readings.points[0] if readings.points else None)
    if shot.shutter is None and who in readings.points:
        set_by.append((readings.points.index(who), [k for k, flash in enumerate(readings.flash) if not flash]))
    return excess(readings.card * scale, readings.card_error * scale, readings.flash, set_by)


def _sorted(points: Sequence[str], lights: Sequence[str], metered: Metered) -> _Readings:
    count, each = len(points), 2 + len(lights)
    columns = [metered.names.index(name) for name in lights]
    value = metered.value[:, columns].reshape(count, each, len(lights))
    error = metered.error[:, columns].reshape(count, each, len(lights))
    direct = metered.direct[:, columns].reshape(count, each, len(lights))
    own = np.arange(len(lights))
    return _Readings(
        tuple(points),
        tuple(lights),
        tuple(metered.flash[c] for c in columns),
        value[:, 0],
        error[:, 0],
        value[:, 2 + own, own],
        error[:, 2 + own, own],
        value[:, 1],
        error[:, 1],
        (direct[:, 0], direct[:, 2 + own, own], direct[:, 1]),
    )


def _direction(vector: Array) -> Vector:
    x, y, z = vector / np.linalg.norm(vector)
    return float(x), float(y), float(z)


def _shutter(shot: Shot, readings: _Readings, exposure: _Exposure) -> tuple[float, list[str]]:
    """The shutter given, or the mark that brings the ambient at the first sharp one nearest to the wish."""
    if shot.shutter is not None:
        return shot.shutter, []
    fallback = shot.body.sync
    who = next(iter(shot.sharp), readings.points[0] if readings.points else None)
    steady = [k for k, flash in enumerate(readings.flash) if not flash]
    if who not in readings.points or not steady:
        return fallback, [f"no steady light to set the shutter by: {shutter_mark(fallback)}, the sync speed"]
    light = float(readings.card[readings.points.index(who), steady].sum())
    wanted = shot.ambient or 0.0
    exact = shutter_for_stops(wanted, light, exposure.f_number, exposure.iso, exposure.bellows)
    shortest = max(shot.body.shutter[0], shot.body.sync if shot.lights else 0.0)
    marks = [t for t in map(true_shutter, SHUTTER_MARKS) if shortest * 0.999 <= t <= shot.body.shutter[1] * 1.001]
    chosen = min(marks or [fallback], key=lambda t: abs(math.log2(t / exact)) if math.isfinite(exact) else -t)
    miss = math.log2(chosen / exact) if math.isfinite(exact) else -math.inf
    notes = [f"shutter {shutter_mark(chosen)} for ambient {stops_in_words(wanted)} at {who}"]
    if abs(miss) > 1 / 6 + 1e-6:
        notes.append(f"the ambient at {who} comes out {stops_in_words(wanted + miss)} instead: no shutter nearer")
    return chosen, notes


def _head(shot: Shot, index: int, name: str, readings: _Readings, exposure: _Exposure, loss: float) -> HeadSetting:
    light = shot.lights[index]
    strobe, target = light.strobe, light.target
    if target is None:
        power = light.power if light.power is not None else 1.0
        return HeadSetting(name, power, math.log2(power), power * strobe.energy, "as given", 0.0)
    wanted = f"{stops_in_words(target.stops)} at {target.who}"
    at = readings.points.index(target.who)
    full = _stops(readings.card[at, readings.lights.index(name)], 1.0, exposure) - loss
    if full == -math.inf:
        note = f"nothing of {name} reaches {target.who}: it is blocked, or behind the card turned to the camera"
        return HeadSetting(name, 1.0, 0.0, strobe.energy, wanted, -math.inf, note)
    note = ""
    try:
        power = nearest_power(strobe, 2.0 ** (target.stops - full))
    except OutOfPower as error:
        power, note = error.figures["power"], str(error)
    miss = full + math.log2(power) - target.stops
    return HeadSetting(name, power, math.log2(power), power * strobe.energy, wanted, miss, note)


def _points(
    readings: _Readings, powers: dict[str, float], exposure: _Exposure, shutter: float, loss: float
) -> tuple[PointLight, ...]:
    scale = np.array([powers.get(name, 1.0) * 2.0 ** -(loss if name in powers else 0.0) for name in readings.lights])
    seconds = np.array([1.0 if flash else shutter for flash in readings.flash])
    return tuple(_point(readings, i, scale, seconds, exposure) for i in range(len(readings.points)))


def _point(readings: _Readings, i: int, scale: Array, seconds: Array, exposure: _Exposure) -> PointLight:
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
                stops=_stops(card, float(seconds[k]), exposure),
                stops_error=float(relative / math.log(2.0)),
            )
        )
    exposed = readings.card[i] * scale * seconds
    flash = np.array(readings.flash, bool)
    return PointLight(
        name=readings.points[i],
        lights=tuple(lights),
        total_stops=_stops(float(exposed.sum()), 1.0, exposure),
        ambient_stops=_stops(float(exposed[~flash].sum()), 1.0, exposure),
        flash_stops=_stops(float(exposed[flash].sum()), 1.0, exposure),
    )


def _stops(light: float, seconds: float, exposure: _Exposure) -> float:
    return float(card_stops(light, seconds, exposure.f_number, exposure.iso, exposure.bellows))


def head_in_words(head: HeadSetting) -> str:
    """A head's setting as it is dialled: ``1/4 + 1/3, 100 J``."""
    return f"{power_in_words(head.power)}, {head.energy:.0f} J"

"""What camera and heads are set to, one head after the other for its own target."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import OutOfPower
from sidelong.light.exposure import flash_loss_above_sync, shutter_for_stops
from sidelong.light.power import nearest_power
from sidelong.light.values import Strobe
from sidelong.plan.metered import Exposed, Readings
from sidelong.plan.stage import head_names
from sidelong.plan.values import BalancePlan, HeadSetting
from sidelong.plan.words import stops_in_words
from sidelong.shoot.values import Shot
from sidelong.units import SHUTTER_MARKS, shutter_mark, true_shutter

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Settings:
    """What is set: the film's `exposed`, `shutter` [s], `loss` of the flash above sync [stops], the heads; notes in
    words, and how a shot's wishes were met where it has any."""

    exposed: Exposed
    shutter: float
    loss: float
    heads: tuple[HeadSetting, ...]
    notes: tuple[str, ...]
    balance: BalancePlan | None = None

    @property
    def powers(self) -> dict[str, float]:
        """The power of each head, by name. [-]"""
        return {h.name: h.power for h in self.heads}

    def scale(self, readings: Readings) -> Array:
        """What each light (L,) gives of its full power, a flash's loss above sync counted. [-]"""
        powers = self.powers
        losses = [2.0**-self.loss if flash else 1.0 for flash in readings.flash]
        return np.asarray(np.array([powers.get(name, 1.0) for name in readings.lights]) * np.array(losses))


def settings_one_by_one(shot: Shot, readings: Readings, exposed: Exposed) -> Settings:
    """The shutter that is given or meets the ambient, then each head for its own target."""
    shutter, notes = _shutter(shot, readings, exposed)
    loss = flash_loss_above_sync(shutter, shot.body.sync) if has_flash(shot) else 0.0
    if loss > 0.0:
        notes.append(above_sync(shot, shutter, loss))
    spent = [(shutter, 0.0) if light.strobe.steady else (1.0, loss) for light in shot.lights]
    heads = tuple(
        _head(shot, index, name, readings, exposed, spent[index]) for index, name in enumerate(head_names(shot))
    )
    return Settings(exposed, shutter, loss, heads, tuple(notes))


def above_sync(shot: Shot, shutter: float, loss: float) -> str:
    """What a shutter faster than sync does to the flash, in words."""
    marks = f"{shutter_mark(shutter)} is shorter than sync, {shutter_mark(shot.body.sync)}"
    pulsed = [light.strobe.high_speed for light in shot.lights if not light.strobe.steady]
    if all(pulsed):
        return f"{marks}: with the high-speed mode on the flash loses {loss:.1f} stops, which is counted here"
    return (
        f"{marks}: without a pulsed mode part of the film stays dark, and with one the flash loses {loss:.1f} stops, "
        "which is counted here"
    )


def _shutter(shot: Shot, readings: Readings, exposed: Exposed) -> tuple[float, list[str]]:
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
    exact = shutter_for_stops(wanted, light * 2.0**-exposed.nd, exposed.f_number, exposed.iso, exposed.bellows)
    chosen = nearest_shutter(shot, exact, fallback)
    miss = math.log2(chosen / exact) if math.isfinite(exact) else -math.inf
    notes = [f"shutter {shutter_mark(chosen)} for ambient {stops_in_words(wanted)} at {who}"]
    if abs(miss) > 1 / 6 + 1e-6:
        notes.append(f"the ambient at {who} comes out {stops_in_words(wanted + miss)} instead: no shutter nearer")
    return chosen, notes


def nearest_shutter(shot: Shot, exact: float, otherwise: float) -> float:
    """The mark nearest to a time [s], inf for the longest, that the body has and a flash can wait for; true time
    [s]. `otherwise` where there is none."""
    shortest = max(shot.body.shutter[0], shot.body.sync if has_flash(shot) else 0.0)
    marks = [t for t in map(true_shutter, SHUTTER_MARKS) if shortest * 0.999 <= t <= shot.body.shutter[1] * 1.001]
    return min(marks or [otherwise], key=lambda t: abs(math.log2(t / exact)) if math.isfinite(exact) else -t)


def has_flash(shot: Shot) -> bool:
    """Whether any head of a shot is a flash, which the shutter has to wait for."""
    return any(not light.strobe.steady for light in shot.lights)


def _head(
    shot: Shot, index: int, name: str, readings: Readings, exposed: Exposed, spent: tuple[float, float]
) -> HeadSetting:
    """A head's setting; `spent` = the seconds that its light counts (1: a flash), the stops it loses above sync."""
    light, (seconds, loss) = shot.lights[index], spent
    strobe, target = light.strobe, light.target
    if target is None:
        return head_at(name, strobe, light.power if light.power is not None else 1.0, "as given")
    wanted = f"{stops_in_words(target.stops)} at {target.who}"
    at = readings.points.index(target.who)
    full = exposed.stops(readings.card[at, readings.lights.index(name)], seconds) - loss
    if full == -math.inf:
        note = f"nothing of {name} reaches {target.who}: it is blocked, or behind the card turned to the camera"
        return head_at(name, strobe, 1.0, wanted, -math.inf, note)
    note = ""
    try:
        power = nearest_power(strobe, 2.0 ** (target.stops - full))
    except OutOfPower as error:
        power, note = error.figures["power"], str(error)
    return head_at(name, strobe, power, wanted, full + math.log2(power) - target.stops, note)


def head_at(name: str, strobe: Strobe, power: float, wanted: str, miss: float = 0.0, note: str = "") -> HeadSetting:
    """A head's setting at a power [-]: what was wanted of it, by how many stops it misses."""
    stops = math.log2(power) if power > 0 else -math.inf
    return HeadSetting(name, power, stops, power * strobe.energy, wanted, miss, note, strobe.steady)

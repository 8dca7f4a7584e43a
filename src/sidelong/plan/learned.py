"""What the day's readings say of a shot: from meter readings and the planned table to a factor for each light.

A reading is of the settings that the plan has without any reading, what the first sheet in the photographer's hand
says; where it states a power, of that.
In stops it is an 18 % card's, turned to the camera; in lux or lux seconds, of one light a flat receptor's turned to
it, of all lights a dome's turned to the camera (lux: the steady lights, lux seconds: the flashes).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.light.readings import (
    DAYLIGHT_SIGMA,
    METER_SIGMA,
    PLACE_SIGMA,
    STROBE_SIGMA,
    Learned,
    Prior,
    Said,
    learn,
    mean_factor,
    outlier_in_words,
)
from sidelong.plan.values import LearnedLight
from sidelong.plan.words import stops_in_words
from sidelong.shoot.values import Reading, Shot

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Table:
    """A receptor's table (P, L) at the settings planned: `direct`, `reflected` and one-sigma `error`. [lx or lx s]"""

    direct: Array
    reflected: Array
    error: Array


@dataclass(frozen=True)
class Foretold:
    """What is planned without readings: tables of a card and a dome turned to the camera and of a flat receptor
    turned to each light; `seconds` (L,) that make lux seconds of each light [s or 1]; `middle`, the lux seconds on
    a card that make middle grey; `powers` of the heads, by name."""

    points: tuple[str, ...]
    lights: tuple[str, ...]
    flash: tuple[bool, ...]
    card: Table
    flat: Table
    dome: Table
    seconds: Array
    middle: float
    powers: dict[str, float]


@dataclass(frozen=True)
class Lesson:
    """`learned` on arrays; the same in `lights`, the place last; `factors` by which the picture's layers go, by
    name; `notes` on readings that cannot be used."""

    learned: Learned
    lights: tuple[LearnedLight, ...]
    factors: dict[str, float]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class _Row:
    """One usable reading: straight and reflected light foretold (L,), their error, what was said, its words."""

    direct: Array
    reflected: Array
    error: float
    value: float
    words: str


@dataclass(frozen=True)
class Belief:
    """What other shots say of a light or of the place: `stops` over what the kit promises, one `sigma` [stops], and
    the shots."""

    stops: float
    sigma: float
    shots: tuple[str, ...]


PLACE = "place"
"""Under this name beliefs hold what is learned of the light that the place gives back."""


def lesson_of(
    readings: Sequence[Reading], shot: Shot, foretold: Foretold, taught: Mapping[str, Belief] | None = None
) -> Lesson | None:
    """What the readings of this shot, or of no shot, teach about its lights, and what was `taught` of them by other
    shots; None where there is neither."""
    taught = {name: belief for name, belief in (taught or {}).items() if name in (PLACE, *foretold.lights)}
    mine = [r for r in readings if r.shot in (None, shot.id)]
    mine = [r for r in mine if r.light in (None, *foretold.lights) or r.shot is not None]
    if not mine and not set(taught) - {PLACE}:
        return None
    tried = [_row(reading, foretold) for reading in mine]
    rows = [row for row in tried if isinstance(row, _Row)]
    said = _said(rows, len(foretold.lights))
    learned = learn(said, _prior(foretold, taught))
    factors = mean_factor(learned, foretold.card.direct, foretold.card.reflected)
    return Lesson(
        learned,
        _lights(learned, said, rows, foretold.lights, taught),
        dict(zip(foretold.lights, (float(f) for f in factors), strict=True)),
        tuple(row for row in tried if isinstance(row, str)),
    )


def _prior(foretold: Foretold, taught: Mapping[str, Belief]) -> Prior:
    usual = dict(
        zip(foretold.lights, (STROBE_SIGMA if flash else DAYLIGHT_SIGMA for flash in foretold.flash), strict=True)
    )
    believed = [taught.get(name, Belief(0.0, usual[name], ())) for name in foretold.lights]
    place = taught.get(PLACE, Belief(0.0, PLACE_SIGMA, ()))
    return Prior(tuple(b.sigma for b in believed), place.sigma, tuple(b.stops for b in believed), place.stops)


def reading_in_words(reading: Reading) -> str:
    """A reading as it would be called out: ``-0.3 at Ana by key``, ``120 lx at Ana``."""
    value = stops_in_words(reading.value) if reading.unit == "stops" else f"{reading.value:g} {_SAID[reading.unit]}"
    return f"{value} at {reading.who}" + (f" by {reading.light}" if reading.light is not None else "")


def learned_in_words(lights: Sequence[LearnedLight]) -> tuple[str, ...]:
    """One line a light that was read, one for each reading left out: ``key: +1.9 stops ±0.1, by 1 reading``."""
    lines = []
    for light in lights:
        if (light.readings or light.taught_in) and (light.light != PLACE or abs(light.stops) >= 0.05):
            name = "light that the place gives back" if light.light == PLACE else light.light
            by = [f"{light.readings} reading{'s' if light.readings > 1 else ''}"] if light.readings else []
            by += [f"what was read in {', '.join(light.taught_in)}"] if light.taught_in else []
            figures = f"{light.stops:+.1f} stops ±{light.sigma:.1f} against the kit's figures"
            lines.append(f"{name}: {figures}, by {' and '.join(by)}")
    outliers = dict.fromkeys(words for light in lights for words in light.outliers)
    return (*lines, *outliers)


_SAID = {"lx": "lx", "lxs": "lx s"}


def _row(reading: Reading, foretold: Foretold) -> _Row | str:
    """The reading against what was foretold, or why it cannot be used."""
    words = reading_in_words(reading)
    if reading.light is not None and reading.light not in foretold.lights:
        return f"the reading {words} is not used: this shot has no light of that name"
    seen = np.array([reading.light in (None, name) for name in foretold.lights])
    flash = np.array(foretold.flash, bool)
    if reading.unit == "stops":
        table, scale, value = foretold.card, foretold.seconds, foretold.middle * 2.0**reading.value
    else:
        seen = seen & (flash if reading.unit == "lxs" else ~flash)
        table = foretold.dome if reading.light is None else foretold.flat
        scale, value = np.ones_like(foretold.seconds), reading.value
        if not seen.any():
            return f"the reading {words} is not used: strobes are read in lux_seconds, steady light in lux"
    at = foretold.points.index(reading.who)
    direct, reflected = (np.where(seen, part[at] * scale, 0.0) for part in (table.direct, table.reflected))
    if not (value > 0 and direct.sum() + reflected.sum() > 0):
        return (
            f"the reading {words} is not used: {'no light was read' if value <= 0 else 'nothing was foretold there'}"
        )
    if reading.power is not None and reading.light is not None:
        value *= foretold.powers[reading.light] / reading.power
    error = float(np.sqrt((np.where(seen, table.error[at] * scale, 0.0) ** 2).sum()))
    return _Row(direct, reflected, error / float(direct.sum() + reflected.sum()) / math.log(2.0), value, words)


def _said(rows: Sequence[_Row], lights: int) -> Said:
    return Said(
        np.array([row.direct for row in rows]).reshape(len(rows), lights),
        np.array([row.reflected for row in rows]).reshape(len(rows), lights),
        np.array([row.value for row in rows]),
        np.array([math.hypot(METER_SIGMA, row.error) for row in rows]),
    )


def _lights(
    learned: Learned, said: Said, rows: Sequence[_Row], names: Sequence[str], taught: Mapping[str, Belief]
) -> tuple[LearnedLight, ...]:
    lights = []
    for k, name in enumerate(names):
        out = [
            outlier_in_words(learned, m, row.words)
            for m, row in enumerate(rows)
            if learned.outlier[m] and said.direct[m, k] + said.reflected[m, k] > 0
        ]
        sigma, used = float(learned.sigma[k]), int(learned.used[k])
        shots = taught[name].shots if name in taught else ()
        lights.append(LearnedLight(name, float(learned.stops[k]), sigma, used, tuple(out), shots))
    kept = int((~learned.outlier).sum())
    shots = taught[PLACE].shots if PLACE in taught else ()
    return (*lights, LearnedLight(PLACE, learned.place, learned.place_sigma, kept, (), shots))

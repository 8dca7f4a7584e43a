"""The same picture at several hours of a day: traced once, its noise taken out and developed hour by hour."""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol

import numpy as np

from sidelong.light.values import Daylight
from sidelong.picture.develop import develop, film_exposure, weights
from sidelong.picture.make import without_noise
from sidelong.picture.noise import remove_noise
from sidelong.picture.values import Exposure, Notice, Picture, Quality
from sidelong.trace.render_day import render_day
from sidelong.trace.values import DayLayers, Layers, Progress, Stage, View

DAYLIGHT = "daylight"
"""Sun and sky of an hour together, in one layer: nothing weighs them apart."""
TRACING = 0.75
"""Share of the time that tracing takes, for the progress told. [-]"""


@dataclass(frozen=True)
class Moment:
    """An hour: its sun and sky (None: dark), its exposure, and by how many `stops` lights are moved, by name."""

    daylight: Daylight | None
    exposure: Exposure
    stops: Mapping[str, float] = field(default_factory=dict)


class DayTracer(Protocol):
    """What turns a stage, the daylight of several hours and a view into the layers of all of them."""

    def __call__(
        self,
        stage: Stage,
        days: Sequence[Daylight],
        view: View,
        samples: int,
        seed: int,
        progress: Progress,
        max_depth: int,
    ) -> DayLayers: ...


@dataclass(frozen=True)
class Strip:
    """What a day is pictured from: a stage through a view, its moments, how much work goes in, and a seed."""

    stage: Stage
    view: View
    moments: tuple[Moment, ...]
    quality: Quality
    seed: int = 0


def day_layers(strip: Strip, progress: Progress, trace: DayTracer = render_day) -> DayLayers:
    """The layers, as traced, of those moments of a strip that are not dark, in their order.

    Raises
    ------
    ValueError
        It is dark all day.
    Missing
        The machine lacks what the tracer needs.
    """
    days = [moment.daylight for moment in strip.moments if moment.daylight is not None]
    if not days:
        raise ValueError("a day of suns needs an hour that is not dark")
    work = strip.quality.tracing
    return trace(strip.stage, days, strip.view, work.samples, strip.seed, progress, work.max_depth)


def day_pictures(
    strip: Strip, progress: Progress = lambda done: None, trace: DayTracer = render_day
) -> Iterator[Picture]:
    """The picture of every moment, in order, made as it is asked for: a strip in full size need not fit in memory.

    Layers are those of the heads and lamps, then DAYLIGHT; dark hours have the former alone. Noise is taken out as
    for a single picture, of heads and lamps once. `progress` hears the share done, and may raise to stop.

    Raises
    ------
    ValueError, Missing
        As `day_layers`.
    """
    begun = time.perf_counter()
    traced = day_layers(strip, lambda done: progress(done * TRACING), trace)
    smooth, notices = _smooth(traced, strip.quality, lambda done: progress(TRACING + done * (0.95 - TRACING)))
    tracing = time.perf_counter() - begun
    lit = iter(range(traced.hours))
    for number, moment in enumerate(strip.moments):
        hour = next(lit) if moment.daylight is not None else None
        yield _picture(strip, moment, _at(smooth, len(traced.lamps.names), hour), notices, tracing)
        progress(0.95 + 0.05 * (number + 1) / len(strip.moments))


def _smooth(traced: DayLayers, quality: Quality, progress: Progress) -> tuple[Layers, tuple[Notice, ...]]:
    """Lamps and every hour's daylight as one set of layers, each with its noise taken out, unless that is left to
    their sum or left out."""
    lamps = traced.lamps
    names = tuple(f"{DAYLIGHT} {k}" for k in range(traced.hours))
    together = replace(
        lamps,
        names=(*lamps.names, *names),
        flash=(*lamps.flash, *(False for _ in names)),
        xyz=np.concatenate([lamps.xyz, traced.sun + traced.sky], axis=2),
    )
    if quality.noise is None or quality.noise == "quick":
        return together, ()
    smooth, notice = remove_noise(together, quality.noise, progress)
    return smooth, (notice,) if notice else ()


def _at(layers: Layers, lamps: int, hour: int | None) -> Layers:
    chosen = [*range(lamps), *([] if hour is None else [lamps + hour])]
    return replace(
        layers,
        names=(*layers.names[:lamps], *([] if hour is None else [DAYLIGHT])),
        flash=tuple(layers.flash[k] for k in chosen),
        xyz=layers.xyz[:, :, chosen],
    )


def _picture(strip: Strip, moment: Moment, layers: Layers, notices: tuple[Notice, ...], seconds: float) -> Picture:
    begun = time.perf_counter()
    exposure = moment.exposure
    counts = weights(layers, exposure.shutter, moment.stops)
    if strip.quality.noise == "quick":
        layers, film, notices = without_noise(layers, counts, strip.quality, lambda done: None)
    else:
        film = film_exposure(layers, counts)
    srgb = develop(film, exposure.iso, exposure.balance, strip.seed)
    spent = seconds / len(strip.moments) + time.perf_counter() - begun
    return Picture(strip.view, exposure, layers, counts, film, srgb, layers.samples, spent, notices)

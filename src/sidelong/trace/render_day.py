"""The predicted picture at several hours of a day, from one pass of light paths."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace

from sidelong.light.values import Daylight
from sidelong.trace.quality import DEFAULT
from sidelong.trace.render import Work, gathered
from sidelong.trace.stage import build
from sidelong.trace.values import DayLayers, Layers, Progress, Stage, View


def render_day(
    stage: Stage,
    days: Sequence[Daylight],
    view: View,
    samples: int = DEFAULT.samples,
    seed: int = 0,
    progress: Progress | None = None,
    max_depth: int = DEFAULT.max_depth,
) -> DayLayers:
    """Trace a view at the hours whose sun and sky are `days`, at least one; the stage's own daylight does not count.

    All else as `trace.render.render`; the same view at the same hour comes out the same within its noise.

    Raises
    ------
    Missing
        This machine has nothing to compile light paths with.
    """
    begun = time.perf_counter()
    from sidelong.trace.day import DayTracer  # late: slow import
    from sidelong.trace.exposing import Exposure  # late: slow import
    from sidelong.trace.hours import DayWorld  # late: slow import

    lit = build(replace(stage, daylight=None))
    work = Work(samples, seed, max_depth)
    lamps = len(lit.names)
    seen = gathered(
        Exposure(DayWorld(lit, tuple(days), stage.place.rooms), view, DayTracer),
        lamps + 2 * len(days),
        work,
        progress,
    )
    layers = Layers(
        names=lit.names,
        flash=lit.flash,
        xyz=seen.xyz[:, :, :lamps],
        depth=seen.depth,
        person=seen.person,
        albedo=seen.albedo,
        normal=seen.normal,
        samples=samples,
        seconds=time.perf_counter() - begun,
    )
    return DayLayers(layers, sun=seen.xyz[:, :, lamps::2], sky=seen.xyz[:, :, lamps + 1 :: 2])

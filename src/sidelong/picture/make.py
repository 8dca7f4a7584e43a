"""The main path of a predicted picture: trace the light, take out the noise, weigh the lights, develop."""

from __future__ import annotations

import time
from dataclasses import replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from sidelong.picture.develop import develop, film_exposure, weights
from sidelong.picture.noise import remove_noise
from sidelong.picture.values import Exposure, Notice, Picture, Quality
from sidelong.trace.render import render as trace_layers
from sidelong.trace.values import Layers, Progress, Stage, View

TRACING = 0.8
"""Share of the time that tracing takes, for the progress told. [-]"""


class Tracer(Protocol):
    """What turns a stage and a view into one layer of film exposure for each light."""

    def __call__(
        self, stage: Stage, view: View, samples: int, seed: int, progress: Progress, max_depth: int
    ) -> Layers: ...


def make_picture(
    stage: Stage,
    view: View,
    exposure: Exposure,
    quality: Quality,
    progress: Progress = lambda done: None,
    seed: int = 0,
    trace: Tracer = trace_layers,
) -> Picture:
    """The predicted picture of a stage through a view, exposed and developed.

    `progress` hears the share done, 0 to 1, and may raise KeyboardInterrupt to stop. The same seed gives the same
    picture.

    Raises
    ------
    Missing
        The machine lacks what the tracer needs.
    """
    started = time.perf_counter()
    work = quality.tracing
    layers = trace(stage, view, work.samples, seed, lambda done: progress(done * TRACING), work.max_depth)
    counts = weights(layers, exposure.shutter)
    layers, film, notices = without_noise(
        layers, counts, quality, lambda done: progress(TRACING + done * (0.98 - TRACING))
    )
    srgb = develop(film, exposure.iso, exposure.balance, seed)
    progress(1.0)
    return Picture(
        view=view,
        exposure=exposure,
        layers=layers,
        counts=counts,
        exposure_xyz=film,
        srgb=srgb,
        samples=layers.samples,
        seconds=time.perf_counter() - started,
        notices=notices,
    )


def without_noise(
    layers: Layers, counts: NDArray[np.float64], quality: Quality, progress: Progress
) -> tuple[Layers, NDArray[np.float32], tuple[Notice, ...]]:
    """The layers and their weighed sum, either with its noise taken out."""
    film = film_exposure(layers, counts)
    if quality.noise is None:
        return layers, film, ()
    if quality.noise == "quick":
        together = replace(layers, names=("all",), flash=(True,), xyz=film[:, :, None])
        smooth, notice = remove_noise(together, "quick", progress)
        return layers, smooth.xyz[:, :, 0], (notice,) if notice else ()
    smooth, notice = remove_noise(layers, quality.noise, progress)
    return smooth, film_exposure(smooth, counts), (notice,) if notice else ()

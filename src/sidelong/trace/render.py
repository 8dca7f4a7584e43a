"""The predicted picture: film exposure of every light through the moved lens."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sidelong.trace.engine import on_gpu
from sidelong.trace.quality import DEFAULT, PASS_PATHS, PASS_PATHS_GPU
from sidelong.trace.scene import NOBODY, Scene
from sidelong.trace.stage import build, sky_of
from sidelong.trace.values import Layers, Progress, Stage, View

if TYPE_CHECKING:
    from sidelong.trace.exposing import Exposure

AT_ONCE = 256
"""Samples of a pixel that are followed in one piece."""


def render(
    stage: Stage,
    view: View,
    samples: int = DEFAULT.samples,
    seed: int = 0,
    progress: Progress | None = None,
    max_depth: int = DEFAULT.max_depth,
) -> Layers:
    """Trace the picture of a view, one layer per light.

    `samples` paths a pixel; `max_depth` vertices of a path at most. The same seed gives the same numbers on the
    same kind of machine. `progress` is called between passes, and may raise to stop.

    Raises
    ------
    Missing
        This machine has nothing to compile light paths with.
    """
    return render_scene(build(stage), view, samples, seed, progress, max_depth)


def render_scene(
    scene: Scene,
    view: View,
    samples: int = DEFAULT.samples,
    seed: int = 0,
    progress: Progress | None = None,
    max_depth: int = DEFAULT.max_depth,
) -> Layers:
    """As `render`, of a scene already put together."""
    begun = time.perf_counter()
    from sidelong.trace.exposing import Exposure  # late: slow import
    from sidelong.trace.world import World  # late: slow import

    exposure = Exposure(World(scene, sky_of(scene.daylight)), view)
    seen = gathered(exposure, len(scene.names), Work(samples, seed, max_depth), progress)
    return Layers(
        names=scene.names,
        flash=scene.flash,
        xyz=seen.xyz,
        depth=seen.depth,
        person=seen.person,
        albedo=seen.albedo,
        normal=seen.normal,
        samples=samples,
        seconds=time.perf_counter() - begun,
    )


@dataclass(frozen=True)
class Work:
    """`samples` paths a pixel from a `seed`, of `max_depth` vertices at most."""

    samples: int
    seed: int
    max_depth: int


@dataclass(frozen=True)
class Gathered:
    """What was traced: `xyz` (H, W, L, 3), `depth` and `person` (H, W), `albedo` and `normal` (H, W, 3), as `Layers`
    has them."""

    xyz: NDArray[np.float32]
    depth: NDArray[np.float32]
    person: NDArray[np.int32]
    albedo: NDArray[np.float32]
    normal: NDArray[np.float32]


def gathered(exposure: Exposure, lights: int, work: Work, progress: Progress | None) -> Gathered:
    """Follow every path of a view and gather its `lights` layers."""
    view, samples = exposure.view, work.samples
    pixels = view.width * view.height
    # a pixel whose samples come in one piece is written once: no sum needs more digits then
    xyz = np.zeros((pixels, lights, 3), np.float32 if samples <= AT_ONCE else np.float64)
    albedo, normal = np.zeros((pixels, 3)), np.zeros((pixels, 3))
    most = PASS_PATHS_GPU if on_gpu() else PASS_PATHS
    for first, last, start, stop in passes(pixels, samples, most):
        light, colour, facing = exposure.expose((first, last), (start, stop), work.seed, work.max_depth)
        share = (stop - start) / samples
        xyz[first:last] += share * light
        albedo[first:last] += share * colour
        normal[first:last] += share * facing
        if progress is not None:
            progress(_done(last, stop, pixels, samples))
    depth, person = exposure.map()
    shape = (view.height, view.width)
    return Gathered(
        xyz=xyz.reshape(*shape, lights, 3).astype(np.float32, copy=False),
        depth=depth.reshape(shape),
        person=person.reshape(shape),
        albedo=albedo.reshape(*shape, 3).astype(np.float32),
        normal=_unit(normal).reshape(*shape, 3).astype(np.float32),
    )


def passes(pixels: int, samples: int, most: int = PASS_PATHS) -> Iterator[tuple[int, int, int, int]]:
    """Pieces of work of at most `most` paths: first and last pixel, first and last sample.

    All samples of a band of pixels at once while that fits, so that each band's work is one kernel.
    """
    step = min(samples, AT_ONCE)
    band = min(pixels, max(1, most // step))
    for start in range(0, samples, step):
        for first in range(0, pixels, band):
            yield first, min(first + band, pixels), start, min(start + step, samples)


def _done(last: int, stop: int, pixels: int, samples: int) -> float:
    step = min(samples, AT_ONCE)
    whole = max(stop - step, 0) / samples
    return min(1.0, whole + (stop - max(stop - step, 0)) / samples * last / pixels)


def _unit(normals: NDArray[Any]) -> NDArray[Any]:
    size = np.linalg.norm(normals, axis=-1, keepdims=True)
    return normals / np.where(size > 0, size, 1.0)


__all__ = ["NOBODY", "Gathered", "Work", "gathered", "passes", "render", "render_scene"]

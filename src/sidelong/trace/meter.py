"""What a light meter reads at points of a stage, light by light, along the same paths that the picture uses."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import InputFault
from sidelong.trace.quality import FIRST_SAMPLES, READING_DEPTH, READING_SAMPLES
from sidelong.trace.scene import NOBODY, Scene
from sidelong.trace.stage import build, sky_of
from sidelong.trace.values import Excess, Metered, Progress, Receptor, Stage

Array = NDArray[np.float64]
LOOKED, FOLLOWED_FIRST, FOLLOWED_MORE = 0.03, 0.08, 0.95
"""How far a metering of the demo is, of its time, when the lights have been looked at, when the first paths have been
followed, and when those have that the first look at errors asked for. [-]"""


class _Told:
    """Tells how far a metering is: each stretch of it has its own part of the whole."""

    def __init__(self, progress: Progress | None) -> None:
        self._progress = progress
        self._from, self._until, self._paths, self._done = 0.0, 0.0, 1, 0

    def stretch(self, until: float, paths: int) -> None:
        """Another stretch begins, of so many paths, at whose end the whole is done as far as `until`."""
        self._from, self._until, self._paths, self._done = self._until, until, max(1, paths), 0

    def end(self) -> None:
        """All is done, however little was asked for in the end."""
        if self._progress is not None:
            self._progress(1.0)

    def passed(self, paths: int) -> None:
        """So many more paths have been followed."""
        self._done += paths
        if self._progress is not None:
            share = min(1.0, self._done / self._paths)
            self._progress(self._from + (self._until - self._from) * share)


def meter(
    stage: Stage,
    receptors: Sequence[Receptor],
    samples: int = READING_SAMPLES,
    seed: int = 0,
    excess: Excess | None = None,
    progress: Progress | None = None,
) -> Metered:
    """Illuminance at receptors from every light, straight and reflected, with its statistical error.

    At most `samples` paths a point for what is reflected; the straight part is summed over each light in turn.
    With `excess`, FIRST_SAMPLES are followed everywhere, and it says from their errors where more are worth while,
    then once more from the errors of all.
    A receptor's `without` takes that person away for its reading alone. `progress` is called after each pass.

    Raises
    ------
    InputFault
        `without` names nobody on the stage.
    Missing
        This machine has nothing to compile light paths with.
    """
    index = {p.name: i for i, p in enumerate(stage.people)}
    for receptor in receptors:
        if receptor.without is not None and receptor.without not in index:
            raise InputFault(
                f'a reading is to be taken without "{receptor.without}", who is not on the stage; expected one of '
                + (", ".join(sorted(index)) or "nobody")
            )
    away = [NOBODY if r.without is None else index[r.without] for r in receptors]
    return meter_scene(build(stage), receptors, away, samples, seed, excess, progress)


def meter_scene(
    scene: Scene,
    receptors: Sequence[Receptor],
    away: Sequence[int] | None = None,
    samples: int = READING_SAMPLES,
    seed: int = 0,
    excess: Excess | None = None,
    progress: Progress | None = None,
) -> Metered:
    """As `meter`, of a scene already put together; `away` numbers the person left out for each receptor."""
    from sidelong.trace.reading import BATCHES, STRAIGHT_SAMPLES, Reading  # late: slow import

    if not receptors:
        none = np.zeros((0, len(scene.names)))
        return Metered(scene.names, scene.flash, none, none, none, np.zeros((0, len(scene.names), 3)))
    told = _Told(progress)
    reading = Reading(scene, sky_of(scene.daylight), receptors, away or [NOBODY] * len(receptors), told.passed)
    first = samples if excess is None else min(samples, FIRST_SAMPLES)
    told.stretch(LOOKED, reading.slots.count * STRAIGHT_SAMPLES)
    reading.look(np.arange(reading.slots.count), STRAIGHT_SAMPLES // BATCHES, seed)
    direct = reading.straight()
    told.stretch(1.0 if first == samples else FOLLOWED_FIRST, reading.slots.count * first)
    reading.follow(np.arange(reading.slots.count), max(1, first // BATCHES), seed, READING_DEPTH)
    metered = _metered(scene, direct, reading.reflected(), reading.white)
    if excess is None or first == samples:
        told.end()
        return metered
    # decided twice and no more: looking again and again would stop where luck made errors small
    for until in (FOLLOWED_MORE, 1.0):
        done = reading.tally.paths * BATCHES
        needed = paths_needed(reading.slots.of_points(excess(metered)), done, samples)
        told.stretch(until, int(np.maximum(needed - done, 0).sum()))
        for start, more in np.unique(np.stack([done, needed], axis=1)[needed > done], axis=0):
            points = np.flatnonzero((done == start) & (needed == more))
            reading.follow(points, int(more - start) // BATCHES, seed, READING_DEPTH)
        metered = _metered(scene, direct, reading.reflected(), reading.white)
    told.end()
    return metered


def paths_needed(excess: Array, done: NDArray[np.int64] | int, most: int) -> NDArray[np.int64]:
    """Paths that bring errors, `excess` (P,) times too large after `done`, down to what is wanted: `done` times a
    power of two, since points are spread evenly over such numbers, up to `most`. Errors fall with the root of paths.
    """
    doublings = np.ceil(2.0 * np.log2(np.clip(excess, 1.0, 1e6)) - 0.1)
    return np.minimum(done * 2 ** np.minimum(doublings, 40).astype(np.int64), most)


def _metered(scene: Scene, direct: tuple[Array, Array], reflected: tuple[Array, Array], white: Array) -> Metered:
    xyz = reflected[0] + direct[0][:, :, None] * white
    return Metered(
        names=scene.names,
        flash=scene.flash,
        value=xyz[:, :, 1],
        error=np.hypot(direct[1], reflected[1]),
        direct=direct[0],
        xyz=xyz,
    )

"""Meters in a plain scene, followed until their error is what was asked for: everything for it is imported from here.

::

    from sidelong.trace.plain import PlainScene, Point, Receptor, meter_plain

    scene = PlainScene([Point(at=(0, 0, 3), intensity=900)])
    [reading] = meter_plain(scene, [Receptor(at=(0, 0, 0), normal=(0, 0, 1))])
    print(reading.value, reading.error, reading.unit)  # 100 lx

docs/metering-a-scene.md shows every kind of thing at work.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import InputFault
from sidelong.trace.plain_checks import checked_number, checked_vector
from sidelong.trace.plain_shapes import assembled
from sidelong.trace.plain_values import (
    Beam,
    Box,
    Disc,
    Gap,
    Medium,
    Opening,
    Pane,
    PlainReading,
    PlainScene,
    Point,
    Progress,
    Rectangle,
    Sky,
    Sphere,
)
from sidelong.trace.scene import NOBODY, Scene
from sidelong.trace.stage import sky_of
from sidelong.trace.values import Receptor

__all__ = [
    "Beam",
    "Box",
    "Disc",
    "Gap",
    "Medium",
    "Opening",
    "Pane",
    "PlainReading",
    "PlainScene",
    "Point",
    "Receptor",
    "Rectangle",
    "Sky",
    "Sphere",
    "meter_plain",
]

Array = NDArray[np.float64]

FIRST_PATHS = 4096
"""Straight looks and light paths a receptor starts with."""
MOST_PATHS = 1 << 21
"""Light paths, and looks at every light, that a receptor gets at most unless told otherwise."""
DEPTH = 4096
"""Vertices of a path at most: roulette ends all of them long before."""
LIFTED = 5e-5
"""How far a receptor is lifted along its axis, so that the surface that it may lie on is behind it. [m]"""
_ROUNDS = 8
_SHARES = 0.5, 0.8
"""Parts of the error asked for that looks and paths may each have; together 0.94 of it."""


def meter_plain(
    scene: PlainScene,
    receptors: Sequence[Receptor],
    relative_error: float = 0.005,
    smallest: float = 0.0,
    seed: int = 0,
    most_paths: int = MOST_PATHS,
    progress: Progress | None = None,
) -> list[PlainReading]:
    """What receptors read in a plain scene.

    Parameters
    ----------
    scene : PlainScene
        What stands and shines.
    receptors : sequence of Receptor
        Where meters are held, which way, and of which kind: flat, dome, cylinder, spot.
    relative_error : float
        Standard error asked for, over the reading; readings stop being refined when they are known so well. [-]
    smallest : float
        A standard error below which no reading is refined; for readings that may be nought. [lx, cd/m2]
    seed : int
        Another seed, another independent reading; the same one gives the same numbers on the same kind of machine.
    most_paths : int
        Light paths followed from a receptor at most. [-]
    progress : Progress, optional
        Called between passes with the largest error over what was asked for; may raise to stop.

    Returns
    -------
    list of PlainReading
        In the receptors' order.

    Raises
    ------
    InputFault
        Something of the scene or of a receptor is not as it must be.
    Missing
        This machine has nothing to compile light paths with.
    """
    checked_number("the relative error", relative_error, 1e-5, 1.0)
    checked_number("the smallest error", smallest, 0.0)
    held = [_lifted(receptor) for receptor in receptors]
    made = assembled(scene)
    if not held:
        return []
    if not made.names:
        return [PlainReading(0.0, 0.0, 0.0, {}, "lx" if r.spot is None else "cd/m2") for r in held]
    run = _Run(made, held, seed, max(int(most_paths), FIRST_PATHS))
    for _ in range(_ROUNDS):
        excess = run.excess(relative_error, smallest)
        if progress is not None:
            progress(float(excess.max()))
        if not run.refine(excess):
            break
    return run.readings(relative_error, smallest)


class _Run:
    """Readings under way: what was looked at and followed, and what more of it is worth."""

    def __init__(self, scene: Scene, receptors: Sequence[Receptor], seed: int, most: int) -> None:
        from sidelong.trace.reading import BATCHES, Reading  # late: slow import

        self.scene, self.receptors, self.seed, self.most, self.batches = scene, receptors, seed, most, BATCHES
        self.reading = Reading(scene, sky_of(scene.daylight), receptors, [NOBODY] * len(receptors))
        everyone = np.arange(self.reading.slots.count)
        self._look(everyone, FIRST_PATHS)
        self._follow(everyone, FIRST_PATHS)

    def _look(self, points: NDArray[np.int64], count: int) -> None:
        self.reading.look(points, count // self.batches, self.seed)

    def _follow(self, points: NDArray[np.int64], count: int) -> None:
        self.reading.follow(points, count // self.batches, self.seed, DEPTH)

    def totals(self) -> tuple[Array, Array, Array]:
        """Of all lights together: the value, and the errors of looks and of paths, (R,) each."""
        looked, followed = self.reading.by_batch()
        value = looked.sum(2).mean(1) + followed.sum(2).mean(1)
        return value, _error(looked.sum(2)), _error(followed.sum(2))

    def excess(self, relative: float, smallest: float) -> Array:
        """By how many times looks' and paths' errors (R, 2) are larger than they may be. [-]"""
        value, straight, by_path = self.totals()
        wanted = np.maximum(relative * np.abs(value), max(smallest, 1e-30))
        return np.stack([straight / (_SHARES[0] * wanted), by_path / (_SHARES[1] * wanted)], axis=1)

    def refine(self, excess: Array) -> bool:
        """More looks and paths where they are worth while; False if nowhere or no more are allowed."""
        more = False
        for column, tally, work in (
            (0, self.reading.looked, self._look),
            (1, self.reading.tally, self._follow),
        ):
            worst = self.reading.slots.of_points(excess[:, column])
            done = tally.paths * self.batches
            # four or sixteen times as many: coarse steps, so that luck has few occasions to end too soon
            steps = np.where(worst > 3.0, 16, np.where(worst > 1.0, 4, 1))
            wanted = np.minimum(done * steps, self.most)
            for count in np.unique(np.stack([done, wanted], axis=1), axis=0):
                if count[1] > count[0]:
                    points = np.flatnonzero((done == count[0]) & (wanted == count[1]))
                    work(points, int(count[1] - count[0]))
                    more = True
        return more

    def readings(self, relative: float, smallest: float) -> list[PlainReading]:
        """The readings as they stand."""
        value, straight, by_path = self.totals()
        error = np.hypot(straight, by_path)
        settled = error <= np.maximum(relative * np.abs(value), smallest)
        looked, followed = self.reading.by_batch()
        direct, parts = looked.mean(1), looked.mean(1) + followed.mean(1)
        paths = self.reading.tally.paths[self.reading.slots.place[:, 0]] * self.batches
        return [
            PlainReading(
                value=float(value[k]),
                error=float(error[k]),
                direct=float(direct[k].sum()),
                parts={name: float(part) for name, part in zip(self.scene.names, parts[k], strict=True)},
                unit="lx" if receptor.spot is None else "cd/m2",
                paths=int(paths[k]),
                settled=bool(settled[k]),
            )
            for k, receptor in enumerate(self.receptors)
        ]


def _error(batches: Array) -> Array:
    return np.asarray(batches.std(1, ddof=1) / math.sqrt(batches.shape[1]))


def _lifted(receptor: Receptor) -> Receptor:
    """The receptor, checked, and lifted off the surface that it may lie on.

    Raises
    ------
    InputFault
        Its place or axis is not three numbers, its spot no angle, or somebody is to be left out.
    """
    at = checked_vector("a receptor's place", receptor.at)
    axis = checked_vector("a receptor's normal", receptor.normal, direction=True)
    axis = axis / np.linalg.norm(axis)
    if receptor.spot is not None:
        checked_number("a spot receptor's angle", receptor.spot, 1e-4, math.pi)
    if (receptor.spot is not None) + receptor.dome + receptor.cylinder > 1:
        raise InputFault("a receptor is one of flat, dome, cylinder and spot; two were given")
    if receptor.without is not None:
        raise InputFault(f'a receptor is without "{receptor.without}"; a plain scene has no people')
    if not receptor.cylinder:
        at = at + LIFTED * (1.0 + float(np.max(np.abs(at)))) * axis
    return Receptor(
        (float(at[0]), float(at[1]), float(at[2])),
        (float(axis[0]), float(axis[1]), float(axis[2])),
        receptor.dome,
        None,
        receptor.spot,
        receptor.cylinder,
    )

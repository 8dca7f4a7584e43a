"""What a light meter reads at points of a stage, light by light, along the same paths that the picture uses."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sidelong.errors import InputFault
from sidelong.trace.quality import READING_DEPTH, READING_SAMPLES
from sidelong.trace.scene import NOBODY, Scene
from sidelong.trace.stage import build, sky_of
from sidelong.trace.values import Metered, Receptor, Stage


def meter(
    stage: Stage,
    receptors: Sequence[Receptor],
    samples: int = READING_SAMPLES,
    seed: int = 0,
    max_depth: int = READING_DEPTH,
) -> Metered:
    """Illuminance at receptors from every light, straight and reflected, with its statistical error.

    `samples` paths a receptor for what is reflected; the straight part is summed over each light in turn.
    A receptor's `without` takes that person away for its reading alone.

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
    return meter_scene(build(stage), receptors, away, samples, seed, max_depth)


def meter_scene(
    scene: Scene,
    receptors: Sequence[Receptor],
    away: Sequence[int] | None = None,
    samples: int = READING_SAMPLES,
    seed: int = 0,
    max_depth: int = READING_DEPTH,
) -> Metered:
    """As `meter`, of a scene already put together; `away` numbers the person left out for each receptor."""
    from sidelong.trace.reading import Reading  # late: slow import

    if not receptors:
        none = np.zeros((0, len(scene.names)))
        return Metered(scene.names, scene.flash, none, none, none, np.zeros((0, len(scene.names), 3)))
    reading = Reading(scene, sky_of(scene.daylight), receptors, away or [NOBODY] * len(receptors))
    direct, direct_error = reading.straight(seed)
    reflected, reflected_error = reading.reflected(samples, seed, max_depth)
    xyz = reflected + direct[:, :, None] * reading.white
    return Metered(
        names=scene.names,
        flash=scene.flash,
        value=xyz[:, :, 1],
        error=np.hypot(direct_error, reflected_error),
        direct=direct,
        xyz=xyz,
    )

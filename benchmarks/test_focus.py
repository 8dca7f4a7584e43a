"""How long the optics take: a million blurs at once, and one full focus answer. For people to read; gates nothing."""

import math

import numpy as np

from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.values import Lens, Movement, Setting
from sidelong.plan.focus import plan_focus


def test_blur_of_a_million_points(benchmark) -> None:
    chance = np.random.default_rng(1)
    points = chance.uniform([-2.0, -1.0, 1.0], [2.0, 1.0, 8.0], (1_000_000, 3))
    glass = geometry_of(
        Setting(Lens("ninety", 0.09, widest=2.8), Movement(math.radians(4), math.radians(1), 0.0, 0.0), 0.003, 2.8)
    )
    found = benchmark(blur, glass, points)
    assert np.isfinite(found.major).all()


def test_one_focus_answer(benchmark, loft) -> None:
    shot = next(shot for shot in loft.shots if shot.movement is None)
    found = benchmark(plan_focus, loft, shot)
    assert found.solved

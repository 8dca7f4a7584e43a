"""How long the optics take: a million blurs at once, and one full focus answer. For people to read; gates nothing."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.live import follow
from sidelong.lens.solve import find, solve_movement
from sidelong.lens.values import Lens, Movement, Setting
from sidelong.lens.wish import Wish
from sidelong.plan.focus import plan_focus
from sidelong.units import f_marks


def test_blur_of_a_million_points(benchmark) -> None:
    chance = np.random.default_rng(1)
    points = chance.uniform([-2.0, -1.0, 1.0], [2.0, 1.0, 8.0], (1_000_000, 3))
    glass = geometry_of(
        Setting(Lens("ninety", 0.09, widest=2.8), Movement(math.radians(4), math.radians(1), 0.0, 0.0), 0.003, 2.8)
    )
    found = benchmark(blur, glass, points)
    assert np.isfinite(found.major).all()


def six(sharp: int) -> Wish:
    """Six people before a 45 mm lens, so many of them to be sharp and the others soft."""
    chance = np.random.default_rng(0)
    people = chance.uniform([-0.8, -0.35, 2.5], [0.8, 0.35, 4.5], (6, 3))
    lens = Lens("l", 0.045, 2.8284, movement=math.radians(8.5), closest=0.4)
    return Wish(lens, people[:sharp], people[sharp:], 80e-6, f_marks(lens.widest, lens.smallest))


@pytest.mark.parametrize("sharp", [3, 4, 6])
def test_six_people_without_proofs(benchmark, sharp) -> None:
    assert benchmark(find, six(sharp)).answer.widest_f >= 0.0


@pytest.mark.parametrize("sharp", [3, 4, 6])
def test_six_people_with_proofs(benchmark, sharp) -> None:
    assert benchmark(solve_movement, six(sharp)).widest_f_proved is not None


@pytest.mark.parametrize("sharp", [3, 4, 6])
def test_following_one_of_six_people(benchmark, sharp) -> None:
    wish = six(sharp)
    last = find(wish)
    moved = replace(wish, sharp=wish.sharp + np.array([[0.01, 0.0, 0.02]] + [[0.0] * 3] * (sharp - 1)))
    assert benchmark(follow, moved, last).answer.widest_f >= 0.0


def test_one_focus_answer(benchmark, loft) -> None:
    shot = next(shot for shot in loft.shots if shot.movement is None)
    found = benchmark(plan_focus, loft, shot)
    assert found.solved

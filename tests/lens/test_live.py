"""An answer that follows a drag against the full one."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.live import follow
from sidelong.lens.solve import find
from sidelong.lens.values import Lens
from sidelong.lens.wish import Wish
from sidelong.units import f_marks, true_f_number


@pytest.mark.parametrize("step", [0.0, math.radians(15)])
@pytest.mark.parametrize(("sharp", "soft", "seed"), [(3, 3, 2), (2, 1, 0), (4, 0, 1)])
def test_after_a_drag_it_is_the_full_answer(step, sharp, soft, seed):
    lens = Lens("l", 0.045, true_f_number(2.8), movement=math.radians(8.5), closest=0.4, rotation_step=step)
    rng = np.random.default_rng(seed)

    def people(n):
        return np.stack([rng.uniform(-0.8, 0.8, n), rng.uniform(-0.35, 0.35, n), rng.uniform(2.5, 4.5, n)], axis=1)

    asked = Wish(lens, people(sharp), people(soft), 80e-6, f_marks(lens.widest, lens.smallest))
    found = follow(asked, None)
    for _ in range(10):
        moved = asked.sharp + np.array([[0.005, 0.0, 0.01]] + [[0.0, 0.0, 0.0]] * (sharp - 1))
        asked = replace(asked, sharp=moved)
        found = follow(asked, found)
        assert np.all(blur(geometry_of(found.answer.setting), asked.sharp).major <= asked.blur_limit * (1 + 2e-6))
    full = find(asked).answer
    wider = lens.widest * 0.98 if soft else 0.04 * lens.widest
    assert max(found.answer.widest_f, wider) == pytest.approx(max(full.widest_f, wider), rel=1e-4)
    if soft:
        assert found.answer.soft_least >= full.soft_least * 0.97


def test_another_number_of_soft_ones_starts_afresh():
    lens = Lens("l", 0.045, true_f_number(2.8), movement=math.radians(8.5))
    one = Wish(lens, np.array([[0.1, 0.0, 3.0]]), np.array([[0.5, 0.1, 4.0]]), 60e-6, f_marks(2.8, 22.6))
    two = replace(one, soft=np.array([[0.5, 0.1, 4.0], [-0.4, 0.1, 3.5]]))
    assert follow(two, find(one)).answer.soft_least == find(two).answer.soft_least

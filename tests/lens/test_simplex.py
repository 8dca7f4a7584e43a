"""Many small programmes at once against SciPy's linear programming."""

import numpy as np
import pytest
from scipy.optimize import linprog

from sidelong.lens.simplex import lowest


@pytest.mark.parametrize("seed", range(60))
def test_the_same_lowest_cost_as_a_library(seed):
    rng = np.random.default_rng(seed)
    n, m = rng.integers(2, 7), rng.integers(1, 40)
    rows, right = rng.normal(size=(5, m, n)), rng.normal(size=(5, m)) * 0.7 + 0.6
    cost = np.eye(n)[-1] if seed % 3 == 0 else rng.normal(size=n)
    low, high = -rng.uniform(0.2, 2.0, (5, n)), rng.uniform(0.2, 2.0, (5, n))
    found = lowest(cost, rows, right, low, high)
    again = lowest(cost, rows + 1e-4, right, low, high, found.active)
    for k in range(5):
        library = linprog(cost, rows[k], right[k], bounds=np.stack([low[k], high[k]], axis=1))
        if library.status == 2:
            assert np.isinf(found.bound[k])
            assert np.isnan(found.x[k]).all()
            continue
        assert cost @ found.x[k] == pytest.approx(library.fun, abs=1e-8)
        assert library.fun - 1e-7 <= found.bound[k] <= library.fun + 1e-9
        assert np.all(rows[k] @ found.x[k] <= right[k] + 1e-9)
        moved = linprog(cost, rows[k] + 1e-4, right[k], bounds=np.stack([low[k], high[k]], axis=1))
        if moved.status == 0:
            assert cost @ again.x[k] == pytest.approx(moved.fun, abs=1e-8)


def test_an_empty_box_and_a_row_that_asks_too_much_leave_nothing():
    rows = np.array([[[0.0, 0.0]], [[1.0, 0.0]]])
    found = lowest(np.array([1.0, 1.0]), rows, np.array([[-1.0], [-9.0]]), -np.ones((2, 2)), np.ones((2, 2)))
    assert np.isinf(found.bound).all()
    crossed = lowest(np.array([1.0]), np.zeros((1, 1, 1)), np.ones((1, 1)), np.array([[2.0]]), np.array([[1.0]]))
    assert np.isinf(crossed.bound).all()

"""Curves through knots, against the same method in a library of its own."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from sidelong.spectra.monotone import monotone

values = st.lists(st.floats(0.0, 1.0).map(lambda v: round(v, 3)), min_size=3, max_size=9)


@given(values, st.integers(0, 2**32 - 1))
def test_agrees_with_the_library_and_stays_between_the_knots(ys, seed):
    random = np.random.default_rng(seed)
    x = np.cumsum(random.uniform(0.1, 3.0, len(ys)))
    at = random.uniform(x[0], x[-1], 50)
    curve = monotone(x, ys, at)
    # the same cubics in floating point; values are of size 1
    assert curve == pytest.approx(PchipInterpolator(x, ys)(at), abs=1e-12)
    k = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(x) - 2)
    low, high = np.minimum(ys[:-1], ys[1:])[k], np.maximum(ys[:-1], ys[1:])[k]
    assert np.all((curve >= low - 1e-12) & (curve <= high + 1e-12))


def test_through_the_knots_and_on_beyond_them():
    x, y = [0.0, 1.0, 3.0, 4.0], [0.1, 0.4, 0.3, 0.9]
    assert monotone(x, y, x) == pytest.approx(y, abs=1e-15)
    assert monotone(x, y, [-0.5, 4.5]) == pytest.approx(PchipInterpolator(x, y)([-0.5, 4.5]), abs=1e-12)

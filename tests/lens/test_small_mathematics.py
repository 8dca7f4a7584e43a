"""Small numerical tools of the lens, against scipy's."""

import math

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from scipy.special import ndtr

from sidelong.lens.normal import below
from sidelong.lens.valley import lowest


def test_the_normal_distribution():
    x = np.concatenate([np.linspace(-9.0, 9.0, 100_003), [-1e300, -np.inf, 0.0, np.inf, 1e300]])
    assert np.abs(below(x) - ndtr(x)).max() < 1e-11
    assert below(x[:6].reshape(2, 3)).shape == (2, 3)


@pytest.mark.parametrize("bottom", [0.0501, 0.0537, 0.0599])
def test_the_lowest_point_of_a_valley_with_a_sharp_and_with_a_round_bottom(bottom):
    sharp = lambda x: abs(x - bottom) * (2.0 if x > bottom else 1.0)
    assert lowest(sharp, 0.05, 0.06, 1e-10) == pytest.approx(bottom, abs=1e-10)
    smooth = lambda x: math.cosh(100.0 * (x - bottom))
    found = minimize_scalar(smooth, bounds=(0.05, 0.06), method="bounded", options={"xatol": 1e-10}).x
    # a round bottom is known to the root of the rounding error, 1e-8 of a curvature's length of 0.01
    assert lowest(smooth, 0.05, 0.06, 1e-10) == pytest.approx(found, abs=2e-9)

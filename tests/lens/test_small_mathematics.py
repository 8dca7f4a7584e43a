"""Small numerical tools of the lens, against scipy's."""

import numpy as np
from scipy.special import ndtr

from sidelong.lens.normal import below


def test_the_normal_distribution():
    x = np.concatenate([np.linspace(-9.0, 9.0, 100_003), [-1e300, -np.inf, 0.0, np.inf, 1e300]])
    assert np.abs(below(x) - ndtr(x)).max() < 1e-11
    assert below(x[:6].reshape(2, 3)).shape == (2, 3)

"""Stokes (1862), a pile of plates: T = T1 T2 / (1 - R1 R2). Two diffusers of T 0.35, R 0.5 cost 2.6141 stops."""

import math

import pytest

from printed import Printed
from sidelong.light.diffusion import stacked


def test_two_layers():
    through, back = stacked(0.35, 0.5, 2)
    assert -math.log2(through) == Printed("2.6141")
    assert -math.log2(0.35**2) == Printed("3.03")
    assert through + back < 1


def test_layers_that_absorb_nothing_follow_the_closed_form():
    # T of n clear scattering layers: 1 / T_n = 1 + n (1/T - 1)
    for layers in range(1, 9):
        through, back = stacked(0.4, 0.6, layers)
        assert through == pytest.approx(1 / (1 + layers * 1.5), rel=1e-12)
        assert through + back == pytest.approx(1.0, rel=1e-12)


def test_nothing_comes_back_from_a_layer_that_reflects_nothing():
    assert stacked(0.5, 0.0, 3) == (0.125, 0.0)


@pytest.mark.parametrize(("t", "r", "n"), [(0.7, 0.5, 1), (-0.1, 0.5, 1), (0.5, 0.2, 0)])
def test_impossible_layers(t, r, n):
    with pytest.raises(ValueError, match="layer"):
        stacked(t, r, n)

"""Haze: visibility 3.912 / extinction (koschmieder1924), Beer's law, the mass balance of a well-mixed room."""

import math

import pytest

from printed import Printed
from sidelong.errors import Impossible
from sidelong.light.haze import (
    concentration_of,
    decay_time,
    extinction_of,
    stops_lost,
    time_to_reach,
    visibility,
)

LOFT = 9.0 * 3.2 * 2.4
THREE_AN_HOUR = 3 / 3600


def test_visibility():
    assert visibility(1.0) == Printed("3.912")
    assert visibility(0.0) == math.inf


def test_glycol():
    assert extinction_of(0.010) == pytest.approx(0.03)
    assert concentration_of(extinction_of(0.02)) == pytest.approx(0.02)


def test_a_beam_through_haze():
    assert 2 ** -stops_lost(0.05, 6.0) == pytest.approx(math.exp(-0.3))


def test_the_room_follows_its_mass_balance():
    # step the balance dc/dt = G/V - lambda c by hand and see when it gets there
    output, wanted = 0.2 / 60, 0.010
    seconds = time_to_reach(wanted, LOFT, output, THREE_AN_HOUR)
    c, step = 0.0, 0.1
    for _ in range(round(seconds / step)):
        c += (output / LOFT - THREE_AN_HOUR * c) * step
    assert c == pytest.approx(wanted, rel=1e-3)
    assert time_to_reach(wanted, LOFT, output, 0.0) == pytest.approx(wanted * LOFT / output)
    assert time_to_reach(wanted, LOFT, output, 1e-12) == pytest.approx(wanted * LOFT / output, rel=1e-6)


def test_a_draughty_room_never_gets_there():
    with pytest.raises(Impossible, match="second machine") as caught:
        time_to_reach(0.05, LOFT, 0.05 / 60, 20 / 3600)
    assert caught.value.figures["highest_g_m3"] == pytest.approx(0.05 / 60 / (20 / 3600 * LOFT))


def test_haze_thins_out():
    assert decay_time(0.5, THREE_AN_HOUR) == pytest.approx(math.log(2) * 1200)
    assert decay_time(0.5, 0.0) == math.inf

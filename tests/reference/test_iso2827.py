"""ISO 2827 (iso2827): flash duration. An exponential tail has t0.1 / t0.5 = 3.3219."""

import math

import pytest

from printed import Printed
from sidelong.light.duration import frozen_speed, half_duration, share_caught, stops_cut


def test_ratio_of_durations():
    assert 1.0 / half_duration(1.0) == Printed("3.3219")


def test_what_a_shutter_catches():
    assert share_caught(1 / 200, 1 / 200) == pytest.approx(0.9, rel=1e-12)
    assert stops_cut(1 / 200, 1 / 200) == pytest.approx(math.log2(1 / 0.9), rel=1e-12)
    assert stops_cut(1 / 60, 1 / 600) == pytest.approx(0.0, abs=1e-9)
    # half the light has gone by when the tail is down to a half
    assert share_caught(half_duration(0.004), 0.004) == pytest.approx(0.5, rel=1e-12)


def test_a_short_flash_freezes():
    assert frozen_speed(0.001, 1 / 2000) == pytest.approx(2.0)

"""ISO 2720: exposure meters, N^2/t = L S / K = E S / C; APEX by Exif, annex C."""

import math

import pytest

from printed import Printed
from sidelong.light.exposure import (
    aperture_value,
    ev100_of_illuminance,
    ev100_of_luminance,
    exposure_value,
    exposure_value_100,
    illuminance_of_ev100,
    luminance_of_ev100,
    metered_exposure,
    metered_f_number,
    time_value,
)
from sidelong.units import true_f_number, true_iso, true_shutter


def test_luminance_and_illuminance_at_iso_100():
    for ev in (-2.0, 0.0, 7.0, 15.0):
        assert luminance_of_ev100(ev) == pytest.approx(0.125 * 2**ev, rel=1e-12)
        assert illuminance_of_ev100(ev) == pytest.approx(2.5 * 2**ev, rel=1e-12)
        assert ev100_of_luminance(luminance_of_ev100(ev)) == pytest.approx(ev, abs=1e-12)
        assert ev100_of_illuminance(illuminance_of_ev100(ev, 330.0), 330.0) == pytest.approx(ev, abs=1e-12)


def test_marked_settings_stand_for_true_ones():
    # 1/200 s, f/5, ISO 160
    n, t, s = true_f_number("5"), true_shutter("1/200"), true_iso(160)
    assert n == Printed("5.0397")
    assert 1 / t == Printed("203.19")
    # 14/3 + 23/3 is 12.3333; the figures 12.2877 and 11.6096 belong to the nominal values
    assert exposure_value(5.0, 1 / 200) == Printed("12.2877")
    assert exposure_value_100(5.0, 1 / 200, 160) == Printed("11.6096")
    assert exposure_value(n, t) == pytest.approx(37 / 3, abs=1e-12)
    assert exposure_value_100(n, t, s) == pytest.approx(37 / 3 - 2 / 3, abs=1e-12)


def test_incident_reading_for_the_middle_tone():
    # nominal values, C = 250
    lux = metered_exposure(5.0, 160) / (1 / 200)
    assert lux == Printed("7812.5")
    assert lux / 2 == Printed("3906.25")
    assert metered_exposure(5.0, 160) == Printed("39.0625")  # flash alone, lx s
    assert metered_f_number(39.0625, 160) == pytest.approx(5.0, rel=1e-12)
    assert metered_f_number(39.0625 * 330 / 250, 160, 330.0) == pytest.approx(5.0, rel=1e-12)


def test_apex():
    assert aperture_value(math.sqrt(2) ** 5) == pytest.approx(5.0, abs=1e-12)
    assert time_value(1 / 64) == pytest.approx(6.0, abs=1e-12)
    assert aperture_value(4.0) + time_value(0.25) == pytest.approx(float(exposure_value(4.0, 0.25)), abs=1e-12)

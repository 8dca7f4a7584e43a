"""ISO 1230: guide number GN = sqrt(I t S / C), C = 250, metres at ISO 100; worked heads.

Efficacy of studio flash 15 to 50 lm s per W s: makers' pages, common practice.
"""

import math

import pytest

from printed import Printed
from sidelong.light.patterns import axial_intensity, illuminance_on_axis
from sidelong.light.strobe import axial_intensity_of_guide_number, emitter, guide_number, tube_flux
from sidelong.light.values import Head, Modifier, Strobe

HEAD = Strobe("head", 400.0, efficacy=40.0)
FRONT = Modifier("front", "front", size=(0.9, 1.2), transmission=0.5)


def lit(modifier=None, strobe=HEAD):
    return emitter(Head("head", strobe, (0.0, 0.0, 1.5), (0.0, 3.0, 1.5), modifier))


def test_constants():
    assert guide_number(1000.0) == Printed("20.000")
    assert guide_number(1.0) == Printed("0.63245553")
    assert guide_number(1.0, constant=330.0) == Printed("0.55048188")
    assert guide_number(1.0) / 0.3048 == Printed("2.07498534")


def test_bare_tube():
    assert axial_intensity(lit()) == Printed("1273.24")
    assert guide_number(axial_intensity(lit())) == Printed("22.57")


def test_through_a_flat_front_that_takes_half():
    assert axial_intensity(lit(FRONT)) == Printed("2546.48")
    assert guide_number(axial_intensity(lit(FRONT))) == Printed("31.92")


@pytest.mark.parametrize(
    ("metres", "stops"), [(0.75, "-0.7194"), (1.0, "-0.4514"), (2.0, "-0.1285"), (4.0, "-0.0334")]
)
def test_front_against_a_point_of_the_same_axial_intensity(metres, stops):
    front = lit(FRONT)
    point = axial_intensity(front) / metres**2
    assert math.log2(illuminance_on_axis(front, metres) / point) == Printed(stops)


def test_calibrations_agree():
    # one head, its flux told in three ways
    gn = guide_number(axial_intensity(lit(FRONT)))
    reading = (illuminance_on_axis(lit(FRONT), 1.0) / 4, 1.0, 0.25)
    kit = {"front": FRONT}
    by_number = Strobe("a", 400.0, guide_number=gn, guide_modifier="front")
    by_reading = Strobe("b", 400.0, reading=reading, guide_modifier="front")
    for strobe in (HEAD, by_number, by_reading):
        assert tube_flux(strobe, kit) == pytest.approx(16000.0, rel=1e-12)
    assert axial_intensity_of_guide_number(20.0) == pytest.approx(1000.0, rel=1e-12)

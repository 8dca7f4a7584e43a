"""CIE 15: chromaticities of illuminants; Ohno (2014): temperature and Duv; the balance's worked cards.

5 nm sums and today's c2 move a fourth decimal's half: 2e-5 on chromaticity, as colour tables between editions do.
"""

import numpy as np
import pytest

from printed import Printed
from sidelong.colour.adapt import spectrum_xyz
from sidelong.colour.light_colour import light_colour
from sidelong.colour.temperature import chromaticity, temperature_of, uv_1976, xyz_of
from sidelong.spectra.illuminants import D55, D65, daylight_phase, illuminant_a, planck


@pytest.mark.parametrize(
    ("spectrum", "x", "y"),
    [
        (daylight_phase(D55), 0.33243, 0.34744),
        (daylight_phase(D65), 0.31272, 0.32901),
        (illuminant_a(), 0.44757, 0.40744),
        (planck(3200.0), 0.423363, 0.398953),
    ],
)
def test_chromaticities(spectrum, x, y):
    assert chromaticity(spectrum_xyz(spectrum)) == pytest.approx([x, y], abs=2.5e-5)


def test_ohno_2014():
    kelvin, duv = temperature_of(xyz_of([0.3127, 0.3290]))
    assert kelvin == Printed("6504")
    assert duv == Printed("0.0032")


def test_uv_1976_of_a_known_colour():
    # D65: u' = 0.1978, v' = 0.4683
    assert uv_1976(xyz_of([0.3127, 0.3290])) == pytest.approx([0.1978, 0.4683], abs=5e-5)


def test_daylight_under_a_tungsten_balance_goes_blue():
    found = light_colour("window", daylight_phase(D55), 3200.0)
    assert found.grey_srgb == (81, 124, 171)
    assert found.mired_from_balance == pytest.approx(-130.7, abs=0.1)
    # D55 and 5500 K differ by 0.1 mired: nominal temperature and today's scale
    assert light_colour("window", daylight_phase(5500.0), 3200.0).mired_from_balance == Printed("-130.7")


def test_a_filament_under_a_daylight_balance_goes_orange():
    found = light_colour("lamp", planck(3200.0), 5500.0)
    assert found.grey_srgb == (145, 111, 77)
    assert found.mired_from_balance == Printed("130.7")


@pytest.mark.parametrize("kelvin", [2700.0, 3200.0, 4000.0, 5500.0, 6500.0, 10000.0])
def test_the_balance_turns_its_own_light_neutral(kelvin):
    spectrum = daylight_phase(kelvin) if kelvin >= 4000 else planck(kelvin)
    found = light_colour("itself", spectrum, kelvin)
    assert found.grey_srgb == (118, 118, 118)
    assert found.delta_uv == pytest.approx(0.0, abs=1e-12)
    # the daylight formula's own temperature is 0.2 mired true
    assert found.mired_from_balance == pytest.approx(0.0, abs=0.25)


def test_delta_uv_is_a_distance_from_the_balance():
    near, far = (light_colour("x", daylight_phase(k), 5500.0).delta_uv for k in (5600.0, 7500.0))
    assert 0 < near < far < np.hypot(0.1, 0.1)

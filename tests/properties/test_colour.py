"""Round trips and limits of colour: what must hold for any spectrum and balance."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sidelong.colour.adapt import adaptation, balance_matrix, balance_white, spectrum_xyz
from sidelong.colour.difference import delta_e_2000, lab
from sidelong.colour.encode import D65_WHITE, decoded, encoded, linear_rgb, xyz_of_rgb
from sidelong.colour.light_colour import light_colour
from sidelong.colour.temperature import chromaticity, temperature_of, xyz_of
from sidelong.spectra.grids import WAVELENGTHS
from sidelong.spectra.illuminants import by_temperature, daylight_phase, mired, normalised, planck
from sidelong.spectra.observer import luminous
from sidelong.spectra.values import Spectrum

RGB = st.tuples(*[st.floats(0, 1)] * 3)
LAB = st.tuples(st.floats(0, 100), st.floats(-80, 80), st.floats(-80, 80))


@given(st.floats(1010, 900000))
def test_a_planckian_radiator_has_its_own_temperature_and_no_duv(kelvin):
    found, duv = temperature_of(spectrum_xyz(planck(kelvin)))
    assert 1e6 / found == pytest.approx(1e6 / kelvin, abs=1e-4)
    assert duv == pytest.approx(0.0, abs=1e-9)


@given(st.floats(4000, 25000))
def test_a_phase_of_daylight_has_its_own_temperature(kelvin):
    found, duv = temperature_of(spectrum_xyz(daylight_phase(kelvin)))
    assert 1e6 / found == pytest.approx(1e6 / kelvin, abs=0.35)
    assert 0.0015 < duv < 0.0065


@given(st.floats(1500, 20000), st.floats(-0.03, 0.03))
def test_duv_is_the_distance_from_the_locus(kelvin, duv):
    # step off the locus along its normal in u, v and find the foot again
    def uv(k):
        x, y = chromaticity(spectrum_xyz(planck(k)))
        return np.array([4 * x, 6 * y]) / (-2 * x + 12 * y + 3)

    along = uv(kelvin * 1.0001) - uv(kelvin * 0.9999)
    normal = np.array([along[1], -along[0]]) / np.hypot(*along)
    normal *= math.copysign(1.0, normal[1])
    u, v = uv(kelvin) + duv * normal
    xy = np.array([3 * u, 2 * v]) / (2 * u - 8 * v + 4)
    found, distance = temperature_of(xyz_of(xy))
    assert 1e6 / found == pytest.approx(1e6 / kelvin, abs=0.05)
    assert distance == pytest.approx(duv, abs=2e-6)


@given(st.floats(1, 1e6))
def test_mireds_there_and_back(kelvin):
    assert mired(mired(kelvin)) == pytest.approx(kelvin, rel=1e-12)


@given(RGB)
def test_encoding_there_and_back(rgb):
    assert decoded(encoded(rgb)) == pytest.approx(rgb, abs=1e-9)
    assert linear_rgb(xyz_of_rgb(rgb)) == pytest.approx(rgb, abs=1e-12)
    assert np.all(np.diff(encoded(np.sort(rgb))) >= 0)


@given(st.floats(2000, 12000))
def test_a_balance_takes_its_white_to_white_and_back(kelvin):
    white = balance_white(kelvin)
    assert balance_matrix(kelvin) @ white == pytest.approx(D65_WHITE, abs=1e-12)
    there, back = adaptation(white), adaptation(D65_WHITE, white)
    assert back @ there == pytest.approx(np.eye(3), abs=1e-12)


@given(st.floats(2000, 20000), st.floats(2500, 10000), st.floats(1e-3, 1e3))
def test_the_colour_of_a_light_does_not_depend_on_how_much_there_is(kelvin, balance, scale):
    spectrum = by_temperature(kelvin)
    brighter = Spectrum(WAVELENGTHS, spectrum.values * scale)
    one, two = light_colour("x", spectrum, balance), light_colour("x", brighter, balance)
    assert one.grey_srgb == two.grey_srgb
    assert one.cct == pytest.approx(two.cct, rel=1e-9)


@given(st.floats(2500, 9000), st.floats(2500, 9000))
def test_warmer_than_the_balance_comes_out_red_cooler_blue(kelvin, balance):
    found = light_colour("x", by_temperature(kelvin), balance)
    red, _, blue = found.grey_srgb
    if found.mired_from_balance > 15:
        assert red > blue
    if found.mired_from_balance < -15:
        assert red < blue


@settings(max_examples=60)
@given(st.lists(st.floats(0, 10), min_size=95, max_size=95))
def test_a_normalised_spectrum_gives_one_lumen(values):
    if sum(values[10:50]) < 1e-3:
        with pytest.raises(ValueError, match="visible light"):
            normalised(np.zeros(95))
        return
    assert luminous(normalised(values).values) == pytest.approx(1.0, rel=1e-12)


@given(LAB, LAB)
def test_a_difference_is_symmetric_positive_and_nothing_for_equals(one, two):
    there, back = float(delta_e_2000(one, two)), float(delta_e_2000(two, one))
    assert there == pytest.approx(back, rel=1e-9, abs=1e-9)
    assert there >= 0
    assert delta_e_2000(one, one) == pytest.approx(0.0, abs=1e-9)


def test_white_is_100_0_0():
    assert lab(D65_WHITE) == pytest.approx([100.0, 0.0, 0.0], abs=1e-12)

"""The same quantities in colour-science, an independent coding: temperatures, illuminants, adaptation, sRGB, Lab."""

import warnings

import numpy as np
import pytest

from sidelong.colour.adapt import adaptation
from sidelong.colour.difference import delta_e_2000, lab
from sidelong.colour.encode import D65_WHITE, RGB_TO_XYZ, decoded, encoded
from sidelong.colour.temperature import temperature_of, xyz_of
from sidelong.spectra.grids import WAVELENGTHS
from sidelong.spectra.illuminants import daylight_phase, planck
from sidelong.spectra.observer import colour_matching


@pytest.fixture(scope="module")
def colour():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return pytest.importorskip("colour")


def test_observer(colour):
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    assert colour_matching() == pytest.approx(np.stack([cmfs[w] for w in WAVELENGTHS]), abs=1e-12)


@pytest.mark.parametrize("xy", [(0.3127, 0.3290), (0.44757, 0.40744), (0.40, 0.42), (0.28, 0.29), (0.36, 0.33)])
def test_temperature_and_duv(colour, xy):
    uv = colour.UCS_to_uv(colour.XYZ_to_UCS(xyz_of(xy)))
    kelvin, duv = temperature_of(xyz_of(xy))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = colour.temperature.uv_to_CCT_Ohno2013(uv)
    # theirs sums over 1 nm, ours over 5 nm: under 0.02 %
    assert kelvin == pytest.approx(theirs[0], rel=3e-4)
    assert duv == pytest.approx(theirs[1], abs=2e-5)


@pytest.mark.parametrize("kelvin", [4200.0, 5003.0, 6504.0, 9300.0, 20000.0])
def test_daylight_phases(colour, kelvin):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = colour.sd_CIE_illuminant_D_series(colour.temperature.CCT_to_xy_CIE_D(kelvin), M1_M2_rounding=False)
    expected = np.interp(WAVELENGTHS, theirs.wavelengths, theirs.values)
    ours = daylight_phase(kelvin).values
    assert ours / ours[40] == pytest.approx(expected / expected[40], rel=1e-6)


def test_planck(colour):
    theirs = colour.sd_blackbody(3200.0, colour.SpectralShape(360, 830, 5)).values
    ours = planck(3200.0).values
    # theirs takes c2 as 0.014388, ours as the exact 0.01438777: 7e-5 at the grid's blue end
    assert ours / ours[40] == pytest.approx(theirs / theirs[40], rel=1e-4)


def test_bradford(colour):
    white = xyz_of([0.4234, 0.3990])
    theirs = colour.adaptation.matrix_chromatic_adaptation_VonKries(white, D65_WHITE, transform="Bradford")
    # theirs carries Bradford's matrix in its four printed decimals, as ours does
    assert adaptation(white) == pytest.approx(theirs, abs=1e-9)


def test_srgb(colour):
    values = np.linspace(0, 1, 101)
    assert encoded(values) == pytest.approx(colour.cctf_encoding(values), abs=1e-9)
    assert decoded(values) == pytest.approx(colour.cctf_decoding(values), abs=1e-9)
    space = colour.RGB_COLOURSPACES["sRGB"]
    # theirs is the standard's matrix, rounded to four decimals
    assert pytest.approx(space.matrix_RGB_to_XYZ, abs=1e-4) == RGB_TO_XYZ


def test_lab_and_difference(colour):
    xyz = np.random.default_rng(3).uniform(0.01, 0.95, (200, 3))
    ours = lab(xyz)
    assert ours == pytest.approx(colour.XYZ_to_Lab(xyz, np.array([0.3127, 0.3290])), abs=1e-6)
    theirs = colour.difference.delta_E_CIE2000(ours[:-1], ours[1:])
    assert delta_e_2000(ours[:-1], ours[1:]) == pytest.approx(theirs, abs=1e-9)

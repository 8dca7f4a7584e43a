"""Spectra by temperature: where each family begins and ends, and that the shipped tables are what they say."""

import numpy as np
import pytest

from sidelong.spectra.grids import STEP, WAVELENGTHS, averaged, flat, integral, on_grid
from sidelong.spectra.illuminants import by_temperature, daylight_phase, flash, mired, normalised, planck
from sidelong.spectra.observer import colour_matching, luminosity, luminous, tristimulus
from sidelong.spectra.values import Spectrum


def test_the_grid():
    assert WAVELENGTHS[0] == 360
    assert WAVELENGTHS[-1] == 830
    assert np.all(np.diff(WAVELENGTHS) == STEP)
    with pytest.raises(ValueError, match="read-only"):
        WAVELENGTHS[0] = 1.0


def test_families_meet_at_4000_kelvin():
    assert by_temperature(4000.0) is daylight_phase(4000.0)
    assert by_temperature(3999.0) is planck(3999.0)
    assert by_temperature(30000.0) is planck(30000.0)
    assert flash(5600.0) is daylight_phase(5600.0)


@pytest.mark.parametrize("kelvin", [3000.0, 26000.0])
def test_daylight_has_its_range(kelvin):
    with pytest.raises(ValueError, match="4000 to 25000"):
        daylight_phase(kelvin)


@pytest.mark.parametrize("kelvin", [0.0, -5.0])
def test_no_temperature(kelvin):
    with pytest.raises(ValueError, match="above 0 K"):
        planck(kelvin)


def test_no_light():
    for values in (np.zeros(95), np.full(95, np.nan)):
        with pytest.raises(ValueError, match="visible light"):
            normalised(values)


def test_observer_tables():
    # V(lambda) peaks at 555 nm with 1; the equal-energy light is white by the observer's making
    assert luminosity()[WAVELENGTHS == 555.0] == pytest.approx(1.0, abs=1e-4)
    x, y, z = colour_matching().sum(axis=0)
    assert x == pytest.approx(y, rel=1e-4)
    # made equal over 380 to 780 nm; the violet end beyond adds 0.0071 to z
    assert z == pytest.approx(y, rel=4e-4)


def test_equal_energy_in_lux():
    # 1 W/m2/nm everywhere: 683 times the integral of V, 106.86 nm
    assert luminous(flat(1.0).values) == pytest.approx(683.0 * 106.857, rel=1e-5)
    assert tristimulus(flat(1.0).values)[1] == pytest.approx(float(luminous(flat(1.0).values)), rel=1e-12)


def test_a_spiky_table_keeps_its_integral():
    fine = np.arange(300.0, 900.0, 0.5)
    spikes = np.where(np.round(fine * 2).astype(int) % 7 == 0, 3.0, 0.2)
    brought = averaged(fine, spikes)
    assert integral(brought.values) / 475 == pytest.approx(spikes.mean(), rel=0.02)
    assert np.ptp(brought.values[2:-2]) < 0.6
    straight = averaged(fine, fine)
    assert straight.values[1:-1] == pytest.approx(WAVELENGTHS[1:-1], rel=1e-9)


def test_on_grid_interpolates_others_and_keeps_its_own():
    own = planck(3000.0)
    assert on_grid(own) is own.values
    assert on_grid(Spectrum(np.array([300.0, 900.0]), np.array([0.0, 6.0])))[0] == pytest.approx(0.6)


def test_mired():
    assert mired(5000.0) == 200.0
    assert mired(np.array([2500.0, 10000.0])).tolist() == [400.0, 100.0]

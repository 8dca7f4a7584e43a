"""The same equations in pvlib, an independent coding of them: positions, clear sky, air mass, spectra."""

import math

import numpy as np
import pytest

from sidelong.light.clear_air import (
    SOLAR_CONSTANT,
    WATER,
    ClearAir,
    aerosol_depth,
    air_mass,
    clear_irradiance,
    clear_spectra,
)
from sidelong.light.ephemeris import Site, delta_t_of, sun_track
from sidelong.light.sun import pressure
from sidelong.spectra.grids import WAVELENGTHS

pvlib = pytest.importorskip("pvlib")


@pytest.mark.parametrize(("lat", "lon", "height"), [(51, -3, 10), (-33, 151, 100), (78, 15, 0), (0, 0, 3000)])
def test_positions(lat, lon, height):
    instants = np.linspace(0.0, 4.1e9, 500)
    theirs = pvlib.spa.solar_position_numpy(instants, lat, lon, height, 1000.0, 12.0, 67.0, 0.5667, 1)
    ours = sun_track(instants, Site(math.radians(lat), math.radians(lon), height, 1000.0, 12.0), 67.0)
    assert np.degrees(ours.elevation) == pytest.approx(theirs[2], abs=1e-8)
    assert np.degrees(ours.true_elevation) == pytest.approx(theirs[3], abs=1e-8)
    apart = (np.degrees(ours.azimuth) - theirs[4] + 180) % 360 - 180
    assert np.abs(apart).max() < 1e-8


@pytest.mark.parametrize("year", [1910.5, 1930.2, 1955.9, 1975.0, 1999.5, 2026.9, 2080.1])
def test_delta_t(year):
    month = (year % 1) * 12 + 0.5
    assert delta_t_of(year) == pytest.approx(float(pvlib.spa.calculate_deltat(int(year), month)), abs=1e-6)


@pytest.mark.parametrize("degrees", [3, 10, 30, 60, 90])
@pytest.mark.parametrize(("altitude", "turbidity"), [(0.0, 3.0), (1500.0, 2.2), (200.0, 5.5)])
def test_clear_sky(degrees, altitude, turbidity):
    air = ClearAir(altitude, pressure(altitude), turbidity, 0.2, SOLAR_CONSTANT)
    mass = pvlib.atmosphere.get_relative_airmass(90 - degrees)
    assert air_mass(math.radians(degrees)) == pytest.approx(mass, rel=1e-9)
    theirs = pvlib.clearsky.ineichen(
        90 - degrees, mass * air.pressure / 101325.0, turbidity, altitude, SOLAR_CONSTANT
    )
    ours = clear_irradiance(math.radians(degrees), air)
    assert ours.direct == pytest.approx(theirs["dni"], rel=1e-6)
    assert ours.diffuse == pytest.approx(theirs["dhi"], rel=1e-6)


def test_pressure():
    for z in (0.0, 500.0, 3000.0):
        assert pressure(z) == pytest.approx(pvlib.atmosphere.alt2pres(z), rel=2e-4)


@pytest.mark.parametrize("degrees", [5, 20, 45, 90])
def test_spectra(degrees):
    zenith = np.array([90.0 - degrees])
    theirs = pvlib.spectrum.spectrl2(
        zenith, zenith, 0.0, 0.2, 101325.0, pvlib.atmosphere.get_relative_airmass(zenith), WATER, 0.31,
        aerosol_depth(3.0), dayofyear=1,
    )  # fmt: skip
    beam, sky = clear_spectra(math.radians(degrees), 101325.0, 3.0, 0.2)
    outside = pvlib.irradiance.get_extra_radiation(1, solar_constant=1.0, method="spencer")
    for ours, name in ((beam, "dni"), (sky, "dhi")):
        expected = np.interp(WAVELENGTHS, theirs["wavelength"], theirs[name][:, 0]) / outside
        # ours interpolates the coefficients, theirs the outcome: they agree at the model's own wavelengths
        own = np.isin(WAVELENGTHS, theirs["wavelength"])
        assert ours[own] == pytest.approx(expected[own], rel=1e-9)
        assert own.sum() > 20

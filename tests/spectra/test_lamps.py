"""Spectra of steady lamps: exactly the chromaticity that is stated, and nearly the rendering (CIE 13.3)."""

import numpy as np
import pytest

from sidelong.colour.temperature import temperature_of
from sidelong.spectra.grids import WAVELENGTHS, on_grid
from sidelong.spectra.illuminants import by_temperature
from sidelong.spectra.lamps import filament, white_led
from sidelong.spectra.observer import luminous, tristimulus


@pytest.mark.parametrize("kelvin", [2700.0, 3200.0, 4000.0, 5600.0, 6500.0])
@pytest.mark.parametrize("cri", [80.0, 90.0, 95.0])
def test_an_led_has_the_colour_of_its_temperature(kelvin, cri):
    xyz = tristimulus(on_grid(white_led(kelvin, cri)))
    wanted = tristimulus(on_grid(by_temperature(kelvin)))
    assert xyz / xyz.sum() == pytest.approx(wanted / wanted.sum(), abs=1e-9)
    assert luminous(white_led(kelvin, cri).values) == pytest.approx(1.0)
    assert white_led(kelvin, cri).values.min() >= 0


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("kelvin", [2700.0, 3200.0, 4000.0, 5600.0, 6500.0])
@pytest.mark.parametrize("cri", [80.0, 95.0])
def test_an_led_renders_about_as_well_as_it_says(kelvin, cri):
    """cie13 by colour-science: two bell curves for phosphors cannot do better than 4 at every temperature."""
    import colour  # late: slow import

    light = white_led(kelvin, cri)
    spectrum = colour.SpectralDistribution(dict(zip(WAVELENGTHS, light.values, strict=True)))
    assert colour.colour_rendering_index(spectrum) == pytest.approx(cri, abs=4.5)


def test_a_filament_is_planckian():
    kelvin, duv = temperature_of(tristimulus(on_grid(filament(3200.0))))
    assert kelvin == pytest.approx(3200.0, rel=1e-3)
    assert abs(duv) < 1e-4


@pytest.mark.parametrize(("kelvin", "cri"), [(5600.0, 60.0), (1200.0, 95.0)])
def test_what_no_led_does(kelvin, cri):
    with pytest.raises(ValueError, match=r"LED|index"):
        white_led(kelvin, cri)
    assert np.isfinite(white_led(3000.0, 95.0).values).all()

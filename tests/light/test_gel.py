"""Gels: physical films where they can be, stacked in spectra, refused when no filter does it.

Amounts are common practice: full CTO +159 to +167 mired and 0.7 to 0.85 stop, full CTB -131 to -137 and about 1.5.
"""

import math

import numpy as np
import pytest

from sidelong.colour.temperature import temperature_of
from sidelong.errors import InputFault
from sidelong.light.gel import CEILING, filtered, filtered_spectrum, transmittance
from sidelong.light.values import Gel
from sidelong.spectra.grids import on_grid
from sidelong.spectra.illuminants import by_temperature, daylight_phase, planck
from sidelong.spectra.observer import luminous, tristimulus

FULL_ORANGE = Gel("full orange", 159.0, 0.0, 0.58)
HALF_ORANGE = Gel("half orange", 95.0, 0.0, 0.70)
FULL_BLUE = Gel("full blue", -131.0, 0.0, 0.36)
GREEN = Gel("plus green", 0.0, 0.012, 0.76)


def shift(spectrum, gel):
    before = 1e6 / temperature_of(tristimulus(on_grid(spectrum)))[0]
    return 1e6 / temperature_of(tristimulus(on_grid(spectrum) * transmittance(gel)))[0] - before


@pytest.mark.parametrize("gel", [FULL_ORANGE, HALF_ORANGE, FULL_BLUE, GREEN])
def test_a_gel_is_a_film(gel):
    through = transmittance(gel)
    assert through.max() <= CEILING + 1e-9
    assert through.min() > 0
    assert -math.log2(gel.transmission) == pytest.approx(
        -math.log2(filtered(daylight_phase(5500.0), [gel])[1]), abs=1e-3
    )


def test_orange_holds_its_shift_over_sources():
    for kelvin in (2900.0, 3200.0, 4500.0, 6500.0, 7500.0):
        assert shift(by_temperature(kelvin), FULL_ORANGE) == pytest.approx(159.0, abs=6.0)


def test_blue_is_itself_at_5500_and_weaker_on_a_filament():
    assert shift(daylight_phase(5500.0), FULL_BLUE) == pytest.approx(-131.0, abs=0.01)
    assert -131.0 < shift(planck(3200.0), FULL_BLUE) < -115.0


def test_a_full_orange_turns_daylight_into_a_filament_nearly():
    spectrum, _ = filtered(daylight_phase(5600.0), [Gel("o", 1e6 / 3200 - 1e6 / 5600, 0.0, 0.6)])
    assert temperature_of(tristimulus(spectrum.values))[0] == pytest.approx(3200.0, abs=15.0)


def test_two_halves_are_stacked_in_spectra_and_are_not_the_sum():
    spectrum, share = filtered(daylight_phase(5500.0), [HALF_ORANGE, HALF_ORANGE])
    both = 1e6 / temperature_of(tristimulus(spectrum.values))[0] - 1e6 / 5500.0
    # 185: where the first has already taken the blue, the second finds less to take
    assert 182.0 < both < 188.0
    assert share != pytest.approx(0.49, abs=1e-3)
    one, other = (
        filtered_spectrum(planck(3000.0), [HALF_ORANGE, GREEN]),
        filtered_spectrum(planck(3000.0), [GREEN, HALF_ORANGE]),
    )
    assert np.allclose(one.values, other.values, rtol=1e-12)


def test_plus_green_goes_green():
    source = on_grid(daylight_phase(5500.0))
    before, after = (
        temperature_of(tristimulus(source))[1],
        temperature_of(tristimulus(source * transmittance(GREEN)))[1],
    )
    assert after - before == pytest.approx(0.012, abs=1e-6)


def test_a_neutral_gel_is_flat():
    assert np.allclose(transmittance(Gel("two stops", 0.0, 0.0, 0.25)), 0.25, atol=1e-4)


def test_no_film_passes_all_and_shifts_but_the_statement_is_kept():
    through = transmittance(Gel("careless", 159.0, 0.0, 1.0))
    source = on_grid(daylight_phase(5500.0))
    assert luminous(source * through) / luminous(source) == pytest.approx(1.0, rel=1e-4)


@pytest.mark.parametrize(
    ("mired", "duv", "transmission"), [(-137.0, 0.0, 0.34), (0.0, -0.03, 0.4), (165.0, 0.004, 0.62)]
)
def test_gels_at_the_edge_of_what_a_film_can_do(mired, duv, transmission):
    gel = Gel("edge", mired, duv, transmission)
    through, source = transmittance(gel), on_grid(daylight_phase(5500.0))
    assert through.max() <= 1.0
    assert luminous(source * through) / luminous(source) == pytest.approx(transmission, rel=1e-4)
    assert shift(daylight_phase(5500.0), gel) == pytest.approx(mired, abs=0.01)


def test_a_very_strong_blue_is_rated_on_a_filament():
    gel = Gel("double blue", -200.0, 0.0, 0.1)
    assert shift(planck(3200.0), gel) == pytest.approx(-200.0, abs=0.01)


@pytest.mark.parametrize(
    ("gel", "words"),
    [
        (Gel("g", 10.0, 0.0, 0.0), "transmission above 0"),
        (Gel("g", 10.0, 0.0, 1.2), "transmission above 0"),
        (Gel("g", -330.0, 0.0, 0.3), "no smooth filter"),
        (Gel("g", 0.0, 0.2, 0.3), "no smooth filter"),
    ],
)
def test_refused(gel, words):
    with pytest.raises(InputFault, match=words):
        transmittance(gel)

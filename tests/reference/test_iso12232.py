"""ISO 12232: middle tone 10 / S, saturation 78 / S; an 18 % card three stops under saturation at 12.8 %, sRGB 118."""

import math

import pytest

from printed import Printed
from sidelong.colour.encode import eight_bit
from sidelong.light.exposure import (
    MIDDLE,
    SATURATION,
    card_stops,
    exposure_of_stops,
    film_illuminance,
    light_for_stops,
    stops_of_exposure,
)


def test_middle_grey_lies_three_stops_under_saturation():
    # "three stops" is the trade's rounding of log2 7.8; the level is printed
    assert Printed("0.128") == MIDDLE / SATURATION
    assert math.log2(SATURATION / MIDDLE) == pytest.approx(3.0, abs=0.04)


def test_an_18_percent_card_encodes_to_118():
    assert eight_bit(0.18) == 118


def test_stops_and_film_exposure():
    assert stops_of_exposure(0.1, 100.0) == pytest.approx(0.0, abs=1e-12)
    assert exposure_of_stops(1.0, 160.0) == pytest.approx(0.125, rel=1e-12)
    assert stops_of_exposure(0.0, 100.0) == -math.inf


def test_film_illuminance_of_the_ideal_lens():
    # pi / 4 against the standard's 0.65 L t / N^2: a lens that loses 17 %, by transmission and off the axis
    ideal = float(film_illuminance(1.0, 1.0))
    assert ideal == pytest.approx(math.pi / 4, rel=1e-12)
    assert 0.65 / ideal == pytest.approx(0.8276, abs=5e-5)


def test_incident_exposure_of_the_middle_tone_puts_the_card_a_sixth_over():
    # E t = 250 N^2 / S on an 18 % card, ideal lens: H S = 0.18 / 4 x 250 = 11.25, that is log2 1.125 stops over 10
    light = 250.0 * 8.0**2 / 100.0
    assert card_stops(light, 1.0, 8.0, 100.0) == pytest.approx(math.log2(1.125), abs=1e-12)
    assert light_for_stops(math.log2(1.125), 1.0, 8.0, 100.0) == pytest.approx(light, rel=1e-12)

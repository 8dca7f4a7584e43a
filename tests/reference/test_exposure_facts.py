"""Exposure in the trade: bellows, flash above the sync speed, ambient and flash together, sunny 16.

Bellows: Ray (2002) with the pupil ratio. The rest common practice, no source; the arithmetic is beside each.
"""

import math

import numpy as np
import pytest

from printed import Printed
from sidelong.light.clear_air import SOLAR_CONSTANT, ClearAir
from sidelong.light.daylight import clear_beam, clear_sky, overcast_sky
from sidelong.light.exposure import (
    added_stops,
    bellows_factor,
    bellows_stops,
    card_stops,
    ev100_of_illuminance,
    flash_loss_above_sync,
    shutter_for_stops,
)
from sidelong.light.sky import relative_luminance


@pytest.mark.parametrize(("m", "p", "stops"), [(0.1, 1.0, "0.27501"), (0.5, 1.0, "1.16993"), (0.1, 0.8, "0.33985")])
def test_bellows(m, p, stops):
    assert bellows_stops(m, p) == Printed(stops)
    assert card_stops(100.0, 1.0, 8.0, 100.0, bellows_factor(m, p)) == pytest.approx(
        float(card_stops(100.0, 1.0, 8.0, 100.0)) - float(bellows_stops(m, p)), abs=1e-12
    )


def test_ambient_and_flash_add_as_light():
    assert added_stops([-1.0, -1.0]) == pytest.approx(0.0, abs=1e-12)
    assert added_stops([-1.0, 0.0]) == Printed("0.584963")
    assert added_stops([-math.inf, 0.5]) == pytest.approx(0.5, abs=1e-12)


def test_shutter_moves_ambient_alone():
    # steady light counts its seconds, flash does not know them
    half = card_stops(1000.0, 1 / 100, 4.0, 100.0) - card_stops(1000.0, 1 / 200, 4.0, 100.0)
    assert half == pytest.approx(1.0, abs=1e-12)
    wider = card_stops([1000.0, 10.0], 1.0, 2.8, 100.0) - card_stops([1000.0, 10.0], 1.0, 5.6, 100.0)
    assert np.allclose(wider, 2.0)


def test_flash_above_the_sync_speed():
    sync = 2 ** (-23 / 3)
    assert flash_loss_above_sync(sync, sync) == 0.0
    assert flash_loss_above_sync(1 / 30, sync) == 0.0
    # a stop faster than sync: (Ts + Ts/2) / (Ts/2) = 3
    assert flash_loss_above_sync(sync / 2, sync) == pytest.approx(math.log2(3.0), abs=1e-12)


def test_shutter_for_a_wanted_ambient():
    t = shutter_for_stops(-1.0, 500.0, 4.0, 100.0, 1.2)
    assert card_stops(500.0, t, 4.0, 100.0, 1.2) == pytest.approx(-1.0, abs=1e-12)
    assert shutter_for_stops(0.0, 0.0, 4.0, 100.0) == math.inf


AIR = ClearAir(0.0, 101325.0, 3.0, 0.2, SOLAR_CONSTANT)


def sky_on(facing, to_sun, sky_type, horizontal):
    """What the sky puts on a card that faces a direction, summed over the dome. [lx]"""
    polar = (np.arange(180) + 0.5) * (math.pi / 360)
    turn = (np.arange(360) + 0.5) * (math.pi / 180)
    z, a = np.meshgrid(polar, turn, indexing="ij")
    look = np.stack([np.sin(z) * np.cos(a), np.sin(z) * np.sin(a), np.cos(z)], axis=-1)
    weights = np.sin(z) * (math.pi / 360) * (math.pi / 180)
    luminance = relative_luminance(sky_type, look, to_sun) * horizontal
    return float(np.sum(luminance * np.maximum(look @ facing, 0.0) * weights))


def test_sunny_16():
    # an 18 % card turned to a clear sun at 45 degrees, C = 250: EV100 14.64 to 15, bright sun up to 15.6
    h = math.radians(45)
    sun = np.array([0.0, math.cos(h), math.sin(h)])
    light = clear_beam(h, AIR) + sky_on(sun, sun, 12, clear_sky(h, AIR))
    assert 14.6 < ev100_of_illuminance(light) < 15.6
    # f/16 at 1/100 s and ISO 100 puts it a little over middle grey
    assert 0.0 < card_stops(light, 1 / 100, 16.0, 100.0) < 1.0


def test_open_shade_is_four_stops_down_and_overcast_two_to_three():
    # open shade f/4: half the clear sky on an upright card that turns its back to the sun; overcast f/8
    h = math.radians(45)
    sun = np.array([0.0, math.cos(h), math.sin(h)])
    shade = ev100_of_illuminance(sky_on(np.array([0.0, -1.0, 0.0]), sun, 12, clear_sky(h, AIR)))
    assert 15 - 4 - 1.0 < shade < 15 - 4 + 1.0
    assert 15 - 3.2 < ev100_of_illuminance(overcast_sky(h)) < 15 - 1.8

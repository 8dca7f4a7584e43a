"""The day at a place: noon, the last light, night, the polar circles, other zones, other skies."""

import math
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from sidelong.colour.temperature import temperature_of
from sidelong.errors import InputFault
from sidelong.light.daylight import daylight
from sidelong.light.sun import sun_position, sun_times, track_over
from sidelong.place.values import Place, Room, Sky
from sidelong.spectra.observer import luminous, tristimulus

HARBOUR = Place(math.radians(57.6), math.radians(-3.2), 4.0, "Europe/London", math.radians(30))
MORNING = datetime(2027, 3, 14, 9, 30, tzinfo=ZoneInfo("Europe/London"))


def test_a_march_morning():
    found = daylight(MORNING, HARBOUR)
    assert 15 < math.degrees(found.elevation) < 26
    assert 120 < math.degrees(found.azimuth) < 145
    assert 50e3 < found.sun_normal < 75e3
    assert 7e3 < found.sky_horizontal < 11e3
    assert found.sky_type == 12
    for spectrum in (found.sun_spectrum, found.sky_spectrum):
        assert luminous(spectrum.values) == pytest.approx(1.0, rel=1e-12)
    sun, sky = (temperature_of(tristimulus(s.values))[0] for s in (found.sun_spectrum, found.sky_spectrum))
    assert 4000 < sun < 5200
    assert 9000 < sky < 16000


def test_the_plan_turned_by_north_turns_the_sun_with_it():
    found = daylight(MORNING, HARBOUR)
    turned = found.azimuth - HARBOUR.north
    flat = math.cos(found.elevation)
    expected = (flat * math.sin(turned), flat * math.cos(turned), math.sin(found.elevation))
    assert found.to_sun == pytest.approx(expected, abs=1e-12)


def test_a_low_sun_is_red_and_the_twilight_fades():
    place = Place(math.radians(57.6), math.radians(-3.2), 4.0, "Europe/London")
    down = sun_times(date(2027, 3, 14), place).set
    minutes = [-40, -20, -5, 5, 20, 40, 60, 80]
    skies = [daylight(down + timedelta(minutes=m), place) for m in minutes]
    reds = [temperature_of(tristimulus(d.sun_spectrum.values))[0] for d in skies[:3]]
    assert reds == sorted(reds, reverse=True)
    assert reds[-1] < 2500
    assert [d.sun_normal > 0 for d in skies] == [True, True, True, False, False, False, False, False]
    levels = [d.sky_horizontal for d in skies]
    assert levels == sorted(levels, reverse=True)
    assert levels[3] > 100 > levels[5]


def test_night_and_a_dark_sky_give_nothing():
    assert daylight(datetime(2027, 1, 1, 1, tzinfo=UTC), HARBOUR) is None
    dark = Place(HARBOUR.latitude, HARBOUR.longitude, sky=Sky("dark"))
    assert daylight(MORNING, dark) is None


def test_overcast_has_no_sun_and_is_about_6500_kelvin():
    place = Place(HARBOUR.latitude, HARBOUR.longitude, sky=Sky("overcast"))
    found = daylight(MORNING, place)
    assert found.sun_normal == 0
    assert found.sky_type == 1
    assert found.sky_horizontal == pytest.approx(300 + 21000 * math.sin(found.elevation), rel=2e-3)
    assert temperature_of(tristimulus(found.sky_spectrum.values))[0] == pytest.approx(6504, abs=5)


def test_a_dull_clear_sky_has_less_sun_more_sky_and_another_type():
    clean, dull = (
        daylight(MORNING, Place(HARBOUR.latitude, HARBOUR.longitude, sky=Sky("clear", t))) for t in (2.5, 6.0)
    )
    assert dull.sun_normal < 0.6 * clean.sun_normal
    assert dull.sky_horizontal > 1.2 * clean.sky_horizontal
    assert (clean.sky_type, dull.sky_type) == (12, 13)


def test_on_a_mountain_there_is_more_sun():
    low, high = (daylight(MORNING, Place(HARBOUR.latitude, HARBOUR.longitude, z)) for z in (0.0, 3000.0))
    assert 1.05 < high.sun_normal / low.sun_normal < 1.3


def test_a_place_with_rooms_is_no_other_place():
    # rooms carry a mapping of finishes and cannot be hashed: nothing may be cached by the place
    roomy = Place(
        HARBOUR.latitude, HARBOUR.longitude, rooms=(Room("loft", (0, 0, 0), (9, 3, 2), {"all": "lime wash"}),)
    )
    assert sun_times(date(2027, 3, 14), roomy).rise is not None
    assert daylight(MORNING, roomy) is not None


def test_polar_day_and_night():
    north = Place(math.radians(78.2), math.radians(15.6), timezone="Arctic/Longyearbyen")
    summer, winter = sun_times(date(2027, 6, 21), north), sun_times(date(2027, 12, 21), north)
    assert (summer.rise, summer.set, summer.always) == (None, None, "up")
    assert (winter.rise, winter.set, winter.always) == (None, None, "down")
    assert summer.transit_elevation > 0 > winter.transit_elevation
    assert winter.dawns[0] is None  # not even civil twilight
    assert winter.dawns[2] is not None


def test_white_night_has_no_astronomical_dusk():
    times = sun_times(date(2027, 6, 21), HARBOUR)
    assert times.dusks[0] is not None
    assert times.dusks[2] is None
    assert times.always is None


def test_days_of_23_and_25_hours():
    for day in (date(2027, 3, 28), date(2027, 10, 31)):
        times = sun_times(day, HARBOUR)
        assert times.rise.date() == times.set.date() == day
        assert times.rise < times.transit < times.set


def test_naive_times_and_unknown_zones_are_refused():
    with pytest.raises(InputFault, match="offset"):
        sun_position(datetime(2027, 1, 1, 12), HARBOUR)
    with pytest.raises(InputFault, match="time zone"):
        sun_times(date(2027, 1, 1), Place(timezone="Nowhere/At All"))


def test_many_instants_at_once_are_each_alone():
    times = MORNING.timestamp() + np.arange(0, 40000, 1000.0)
    many = track_over(times, HARBOUR)
    for k in (0, 7, 39):
        one = track_over(times[k : k + 1], HARBOUR)
        assert many.azimuth[k] == pytest.approx(one.azimuth[0], abs=1e-9)
        assert many.elevation[k] == pytest.approx(one.elevation[0], abs=1e-9)

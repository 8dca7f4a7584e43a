"""US Naval Observatory, Sun Rise/Set tables for 2015 (second-hand), standard time, to the minute.

The tables round to the nearest minute; half a minute and a second for the place's rounding.
"""

import math
from datetime import date

import pytest

from sidelong.light.sun import sun_times
from sidelong.place.values import Place

GOLDEN = Place(math.radians(39.0), math.radians(-105.0), 0.0, "Etc/GMT+7")
BEIJING = Place(math.radians(39.917), math.radians(116.383), 0.0, "Etc/GMT-8")
ROWS = [
    (GOLDEN, (1, 2), "rise", "07:19"), (GOLDEN, (1, 2), "set", "16:49"), (GOLDEN, (4, 2), "rise", "05:43"),
    (GOLDEN, (4, 2), "set", "18:24"), (GOLDEN, (8, 2), "set", "19:10"), (GOLDEN, (12, 2), "rise", "07:01"),
    (GOLDEN, (12, 2), "set", "16:38"), (BEIJING, (1, 2), "rise", "07:36"), (BEIJING, (1, 2), "set", "17:00"),
    (BEIJING, (4, 2), "rise", "05:58"), (BEIJING, (8, 2), "rise", "05:13"), (BEIJING, (8, 2), "set", "19:28"),
    (BEIJING, (12, 2), "rise", "07:17"), (BEIJING, (12, 2), "set", "16:50"),
]  # fmt: skip


@pytest.mark.parametrize(("place", "day", "event", "printed"), ROWS)
def test_rise_and_set(place, day, event, printed):
    found = getattr(sun_times(date(2015, *day), place), event)
    hour, minute = map(int, printed.split(":"))
    seconds = found.hour * 3600 + found.minute * 60 + found.second - hour * 3600 - minute * 60
    assert abs(seconds) <= 31
    assert found.date() == date(2015, *day)  # never the neighbouring day's, east or west of Greenwich

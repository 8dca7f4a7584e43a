"""Explanatory Supplement to the Astronomical Almanac (1992): illuminance of level ground by the sun's elevation.

The cubic fits were written down from memory. What vouches for them: the six pieces meet (within 3 % where they
join), and they give the known light of the twilights' ends (civil 3.4 lx, nautical 0.008 lx, astronomical 6e-4 lx:
common practice) and of a clear sun at 45 degrees by the IES formulae.
"""

import math
from itertools import pairwise

import numpy as np
import pytest

from sidelong.light.daylight import _LEVEL_GROUND, level_ground


@pytest.mark.parametrize(("degrees", "lux", "within"), [(-6, 3.4, 0.02), (-12, 0.008, 0.03), (-18, 6.5e-4, 0.1)])
def test_light_at_the_ends_of_the_twilights(degrees, lux, within):
    assert level_ground(math.radians(degrees)) == pytest.approx(lux, rel=within)


def test_clear_sun_at_45_degrees_is_the_ies_sum():
    whole = 94.7e3 * math.sin(math.radians(45)) + 13.8e3
    assert level_ground(math.radians(45)) == pytest.approx(whole, rel=0.05)


def test_the_pieces_meet():
    for (joint, above), (_, below) in pairwise(_LEVEL_GROUND):
        one, other = (10 ** np.polynomial.polynomial.polyval(joint / 90, cubic) for cubic in (above, below))
        assert one == pytest.approx(other, rel=0.03), joint

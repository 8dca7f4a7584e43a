"""Drillis & Contini, Body Segment Parameters, Report 1166-03, New York University, 1966; as reprinted in Winter,
Biomechanics and Motor Control of Human Movement, figure 4.1: eye height 0.936, sitting height 0.520 and knee height
0.285 of the stature. From memory of the reprint. The tolerance is rounding alone: the fractions are exact."""

import pytest

from sidelong.people.eyes import KNEELING, SITTING, STANDING, eyes
from sidelong.people.values import Person


@pytest.mark.parametrize(
    ("pose", "height", "seat", "expected"),
    [
        ("standing", 1.72, 0.45, 0.936 * 1.72),
        ("standing", 1.55, 0.45, 0.936 * 1.55),
        ("sitting", 1.72, 0.45, 0.45 + (0.520 - 0.064) * 1.72),
        ("sitting", 1.90, 0.40, 0.40 + (0.520 - 0.064) * 1.90),
    ],
)
def test_eye_height_is_the_published_fraction_of_the_stature(pose, height, seat, expected):
    person = Person("Ada", (0.0, 0.0, 0.0), 0.0, pose=pose, height=height, seat=seat)
    assert eyes(person)[2] == pytest.approx(expected, abs=1e-12)


def test_kneeling_loses_the_shin_but_keeps_half_a_knee():
    """Knee height from the source; half a knee's depth, 0.02 to 0.04 of the stature: common practice, no source."""
    assert 0.936 - 0.285 + 0.02 <= KNEELING <= 0.936 - 0.285 + 0.04
    assert SITTING < KNEELING < STANDING

"""Corners of the film against the image circle: by hand for a straight and a shifted lens, by symmetry when swung."""

from __future__ import annotations

import pytest

from sidelong.lens.coverage import dark_corners
from sidelong.lens.values import Film, Lens, Movement, Setting

FILM = Film(0.036, 0.024)  # half diagonal 21.63 mm


def corners(circle: float | None, movement: Movement = Movement()) -> int:  # noqa: B008 (frozen)
    lens = Lens("moving", 0.045, 2.8, movement=0.15, image_circle=circle)
    return dark_corners(Setting(lens, movement, 0.0, 2.8), FILM)


@pytest.mark.parametrize(
    ("circle", "shift", "dark"),
    [
        (None, 0.011, 0),  # none stated: nothing is known to be dark
        (0.0433, 0.0, 0),  # 2 x 21.63 mm and a hair
        (0.0432, 0.0, 4),
        (0.062, 0.010, 0),  # sqrt(28^2 + 12^2) = 30.46 mm, within 31
        (0.060, 0.010, 2),  # not within 30: the two corners away from the shift
    ],
)
def test_by_hand(circle, shift, dark):
    assert corners(circle, Movement(shift=shift)) == dark


def test_a_swing_darkens_the_corners_of_one_side():
    to_the_right = corners(0.048, Movement(swing=0.14))
    assert to_the_right == corners(0.048, Movement(swing=-0.14)) == 2

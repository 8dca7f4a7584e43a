"""Many settings at once give the figures of one."""

import math

import numpy as np
import pytest

from sidelong.lens.axis import from_movement_and_rotation
from sidelong.lens.blur import blur
from sidelong.lens.coverage import in_image_circle
from sidelong.lens.geometry import geometry_of
from sidelong.lens.many import darkness, images, signed_blurs, stands
from sidelong.lens.response import signed_blur
from sidelong.lens.values import Lens, Movement, Setting


@pytest.mark.parametrize("seed", range(20))
def test_blur_images_and_circle_are_those_of_each_setting(seed):
    rng = np.random.default_rng(seed)
    lens = Lens(
        "l", float(rng.choice([0.024, 0.045, 0.09])), 2.8, movement=0.2, pivot=float(rng.choice([0.0, 0.01])),
        pupil_ratio=float(rng.choice([0.8, 1.0, 1.9])), field_curvature=float(rng.choice([0.0, 0.05])),
        image_circle=0.06,
    )  # fmt: skip
    points = np.stack([rng.uniform(-0.8, 0.8, 7), rng.uniform(-0.4, 0.4, 7), rng.uniform(2, 5, 7)], axis=1)
    corners = np.array([[0.018, 0.012], [-0.018, 0.012], [0.018, -0.012]])
    settings, states = [], []
    for k in range(4):
        angle = 0.0 if k == 0 else rng.uniform(0, 0.2)
        swing, tilt = from_movement_and_rotation(angle, rng.uniform(0, 2 * math.pi))
        movement = Movement(swing, tilt, rng.uniform(-0.01, 0.01), rng.uniform(-0.01, 0.01))
        settings.append(Setting(lens, movement, rng.uniform(0, 0.003), rng.uniform(1.0, 8.0)))
        glass = geometry_of(settings[-1])
        d = glass.film_distance
        states.append([d * glass.axis[0], d * glass.axis[1], d, movement.shift, movement.rise])
    at = stands(lens, (0.0, 0.0), np.array(states))
    signed = signed_blurs(at, np.array([s.f_number for s in settings]), points)
    for k, setting in enumerate(settings):
        glass = geometry_of(setting)
        assert signed[k] == pytest.approx(-signed_blur(glass, points), rel=1e-9, abs=1e-15)
        assert images(at, points)[k] == pytest.approx(blur(glass, points).image, abs=1e-15)
        assert np.array_equal(darkness(at, corners)[k] <= 0, in_image_circle(lens, glass, corners))

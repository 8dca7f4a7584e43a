"""Lambert's polygon formula against closed forms of Howell's catalogue (howell2010): rectangles and discs.

B-3: a rectangle seen by an element parallel to it under its corner; B-4 the same, element square to it; B-12: a
disc on its axis. Formulae from memory of the catalogue, checked by summing patches.
"""

import math

import numpy as np
import pytest

from sidelong.light.form_factor import polygon_illuminance
from sidelong.light.patterns import front_outline, illuminance_on_axis
from sidelong.light.strobe import emitter
from sidelong.light.values import Head, Modifier, Strobe

DOWN = np.array([0.0, 0.0, -1.0])


def rectangle(width, height, at=(0.0, 0.0, 2.0)):
    """Shines down from `at`, its lowest corner there; anticlockwise seen from below."""
    x, y, z = at
    return np.array([[x, y, z], [x, y + height, z], [x + width, y + height, z], [x + width, y, z]])


def summed(corners, point, normal, count=400):
    """The same by summing patches of a rectangle: dE = L cos cos dA / r^2, L = 1/pi."""
    u = (np.arange(count) + 0.5) / count
    a, b = np.meshgrid(u, u)
    spread = corners[0] + a[..., None] * (corners[3] - corners[0]) + b[..., None] * (corners[1] - corners[0])
    away = spread - np.asarray(point)
    r2 = np.sum(away**2, axis=-1)
    facing = np.maximum(-(away @ DOWN), 0.0) * np.maximum(away @ np.asarray(normal), 0.0)
    area = np.linalg.norm(corners[3] - corners[0]) * np.linalg.norm(corners[1] - corners[0])
    return float(np.sum(facing / r2**2) / math.pi * area / count**2)


@pytest.mark.parametrize(("a", "b", "c"), [(1.0, 1.5, 0.5), (0.9, 1.2, 2.0), (3.0, 0.2, 1.0)])
def test_parallel_element_under_a_corner(a, b, c):
    x, y = a / c, b / c
    along, across = math.hypot(1, x), math.hypot(1, y)
    closed = (x / along * math.atan(y / along) + y / across * math.atan(x / across)) / (2 * math.pi)
    found = polygon_illuminance(rectangle(a, b, (0, 0, c)), [0.0, 0.0, 0.0], [0.0, 0.0, 1.0], 1 / math.pi)
    assert found == pytest.approx(closed, rel=1e-12)


@pytest.mark.parametrize(("a", "b", "c"), [(1.0, 1.5, 0.5), (0.9, 1.2, 2.0)])
def test_element_square_to_the_rectangle(a, b, c):
    # element at the corner's foot, looking along x; b runs along y, c is the height
    x, y = a / b, c / b
    closed = (math.atan(1 / y) - y / math.hypot(x, y) * math.atan(1 / math.hypot(x, y))) / (2 * math.pi)
    found = polygon_illuminance(rectangle(a, b, (0, 0, c)), [0.0, 0.0, 0.0], [1.0, 0.0, 0.0], 1 / math.pi)
    assert found == pytest.approx(closed, rel=1e-12)


@pytest.mark.parametrize("seed", range(6))
def test_any_receptor_even_one_that_sees_only_part(seed):
    chance = np.random.default_rng(seed)
    corners = rectangle(*chance.uniform(0.3, 2.0, 2), chance.uniform([-0.5, -0.5, 1.0], [0.5, 0.5, 2.0]))
    point = chance.uniform(-1.0, 1.0, 3) - [0, 0, 0.5]
    normal = chance.normal(size=3)
    normal /= np.linalg.norm(normal)
    found = float(polygon_illuminance(corners, point, normal, 1 / math.pi))
    # the sum of 160 000 patches: a part in a thousand where the receptor's horizon cuts the rectangle
    assert found == pytest.approx(summed(corners, point, normal), rel=1e-3, abs=1e-5)


def test_nothing_behind_and_many_points_at_once():
    corners = rectangle(1.0, 1.0)
    points = np.array([[0.5, 0.5, 0.0], [0.5, 0.5, 4.0], [9.0, 0.5, 2.0]])
    found = polygon_illuminance(corners, points, -np.sign(points[:, 2:] - 1) * [[0.0, 0.0, 1.0]], 1.0)
    assert found.shape == (3,)
    assert found[0] > 0
    assert np.all(found[1:] == 0)


@pytest.mark.parametrize("metres", [0.1, 0.5, 2.0, 10.0])
def test_disc_on_its_axis(metres):
    disc = Modifier("disc", "front", shape="disc", size=(0.7, 0.7))
    light = emitter(Head("h", Strobe("s", 100.0, efficacy=30.0), (0, 0, 0), (0, 0, 5), disc))
    luminance = light.flux / math.pi / (math.pi * 0.35**2)
    closed = math.pi * luminance * 0.35**2 / (0.35**2 + metres**2)
    assert illuminance_on_axis(light, metres) == pytest.approx(closed, rel=1e-12)
    # the outline of 96 corners stands in for the disc within 0.05 % from half a radius on
    by_outline = polygon_illuminance(front_outline(light), [0.0, 0.0, metres], DOWN, luminance)
    assert by_outline == pytest.approx(closed, rel=1e-3 if metres < 0.2 else 5e-4)

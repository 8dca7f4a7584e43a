"""Howell, A Catalog of Radiation Heat Transfer Configuration Factors, 3rd ed., 2010: metered, not computed.

Numbers of the catalogue's configurations and their closed forms from memory; each closed form is checked beside it,
by quadrature of cos cos / (pi r^2) or against a figure second-hand. A factor F from an element to a source of
luminance L makes the illuminance pi L F; between areas it is the mean over the receiving one.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate

from metered import DOWN, LIMIT, SINGLE, UP, assert_reads, flat, mean, read
from sidelong.trace.plain import Box, Disc, PlainScene, Rectangle, Sphere

L = 1000.0


def ceiling(width, depth, height, at=(0.0, 0.0)):
    """A rectangle that shines down."""
    x, y = at
    return Rectangle((x, y, height), (0, depth, 0), (width, 0, 0), luminance=L, shines="front")


def b3(a, b, c):
    """Element to a rectangle a x b parallel to it at c, under its corner."""
    x, y = a / c, b / c
    u, v = math.hypot(1, x), math.hypot(1, y)
    return (x / u * math.atan(y / u) + y / v * math.atan(x / v)) / (2 * math.pi)


def b4(width, high, away):
    """Element to a rectangle that stands square to it, `high`, at `away`, from its foot's corner `width` along."""
    x, y = width / away, high / away
    return (math.atan(x) - math.atan(x / math.hypot(1, y)) / math.hypot(1, y)) / (2 * math.pi)


@pytest.mark.parametrize(("a", "b", "c"), [(1.0, 1.5, 0.5), (0.9, 1.2, 2.0), (3.0, 0.2, 1.0), (4.0, 4.0, 0.05)])
def test_b3_parallel_rectangle_over_its_corner_and_its_middle(a, b, c):
    spots = [flat(0, 0, 0), flat(a / 2, b / 2, 0)]
    exact = [math.pi * L * b3(a, b, c), math.pi * L * 4 * b3(a / 2, b / 2, c)]
    assert_reads(PlainScene([ceiling(a, b, c)]), spots, exact)


@pytest.mark.parametrize(("width", "high", "away"), [(1.0, 1.5, 0.5), (2.0, 1.0, 1.0), (3.0, 3.0, 0.1)])
def test_b4_rectangle_square_to_the_element(width, high, away):
    wall = Rectangle((0, away, 0), (width, 0, 0), (0, 0, high), luminance=L, shines="front")
    by_sum = integrate.dblquad(lambda z, x: z * away / math.pi / (x * x + z * z + away**2) ** 2, 0, width, 0, high)[0]
    assert b4(width, high, away) == pytest.approx(by_sum, rel=1e-7)
    assert_reads(PlainScene([wall]), [flat(0, 0, 0), flat(width / 2, 0, 0)], [
        math.pi * L * b4(width, high, away), math.pi * L * 2 * b4(width / 2, high, away)
    ])  # fmt: skip


def b13(r, h, a):
    """Element to a disc parallel to it at h, its centre a aside."""
    z = h * h + a * a + r * r
    return 0.5 * (1 - (z - 2 * r * r) / math.sqrt(z * z - 4 * a * a * r * r))


def b15(r, h, a):
    """Element that looks level towards the axis of a disc above it, h up and a aside."""
    z = 1 + (h / a) ** 2 + (r / a) ** 2
    return h / a / 2 * (z / math.sqrt(z * z - 4 * (r / a) ** 2) - 1)


@pytest.mark.parametrize(("r", "h", "a"), [(0.5, 1.0, 0.0), (0.5, 0.02, 0.0), (1.0, 0.7, 0.6), (1.0, 0.5, 3.0)])
def test_b12_and_b13_disc_parallel_to_the_element(r, h, a):
    disc = Disc((0, 0, h), DOWN, r, luminance=L, shines="front")
    assert_reads(PlainScene([disc]), [flat(a, 0, 0)], [math.pi * L * b13(r, h, a)])


@pytest.mark.parametrize(("r", "h", "a"), [(0.5, 1.0, 1.5), (1.0, 0.3, 1.2)])
def test_b15_disc_square_to_the_element(r, h, a):
    def patch(turn, s):
        x, y = a - s * math.cos(turn), s * math.sin(turn)
        return s * h * x / math.pi / (x * x + y * y + h * h) ** 2

    assert b15(r, h, a) == pytest.approx(integrate.dblquad(patch, 0, r, 0, 2 * math.pi)[0], rel=1e-6)
    disc = Disc((0, 0, h), DOWN, r, luminance=L, shines="front")
    assert_reads(PlainScene([disc]), [flat(a, 0, 0, (-1.0, 0.0, 0.0))], [math.pi * L * b15(r, h, a)])


def b44(ratio, angle):
    """Element to a sphere `ratio` radii away, its axis `angle` from the centre; it may see only part."""
    if angle <= math.pi / 2 - math.asin(1 / ratio):
        return math.cos(angle) / ratio**2
    root, sine, cosine = math.sqrt(ratio**2 - 1), math.sin(angle), math.cos(angle)
    return (
        0.5
        - math.asin(root / (ratio * sine)) / math.pi
        + (cosine * math.acos(-root * cosine / sine) - root * math.sqrt(1 - ratio**2 * cosine**2))
        / (math.pi * ratio**2)
    )


@pytest.mark.parametrize("degrees", [0.0, 40.0, 60.0, 75.0, 90.0, 105.0])
@pytest.mark.parametrize("ratio", [1.2, 2.0])
def test_b44_sphere_whole_and_cut_by_the_horizon(ratio, degrees):
    angle = math.radians(degrees)
    if angle >= math.pi / 2 + math.asin(1 / ratio):
        pytest.skip("out of sight")
    widest = math.asin(1 / ratio)

    def ring(less):
        # the mean over a turn of the cosine above the horizon, in closed form
        c, s = math.cos(less) * math.cos(angle), math.sin(less) * math.sin(angle)
        if s <= abs(c):
            return 2 * math.pi * max(c, 0.0) * math.sin(less)
        edge = math.acos(-c / s)
        return 2 * (c * edge + s * math.sin(edge)) * math.sin(less)

    by_sum = integrate.quad(ring, 0, widest, limit=400)[0] / math.pi
    assert b44(ratio, angle) == pytest.approx(by_sum, rel=1e-5, abs=1e-9)
    scene = PlainScene([Sphere((0, 0, 2 * ratio), 2.0, luminance=L, shines="out")])
    assert_reads(scene, [flat(0, 0, 0, (math.sin(angle), 0.0, math.cos(angle)))], [math.pi * L * by_sum])


def gauss(low, high, count=6):
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return low + (nodes + 1) / 2 * (high - low), weights * (high - low) / 2


def over_rectangle(x_range, y_range, place):
    """Gauss points over a rectangle as receptors, and their weights."""
    (x, wx), (y, wy) = gauss(*x_range), gauss(*y_range)
    return [place(a, b) for a in x for b in y], [float(u * v) for u in wx for v in wy]


def assert_mean(scene, spots, weights, exact):
    reading = mean(read(scene, *spots, relative_error=0.004), weights)
    # the 36 points' own error is under a thousandth where faces do not meet
    assert abs(reading.value - exact) <= LIMIT * reading.error + (1e-3 + SINGLE) * exact


def c11(a, b, c):
    """Between equal parallel rectangles a x b at c."""
    x, y = a / c, b / c
    u, v = math.hypot(1, x), math.hypot(1, y)
    return (2 / (math.pi * x * y)) * (
        math.log(u * v / math.sqrt(1 + x * x + y * y))
        + x * v * math.atan(x / v)
        + y * u * math.atan(y / u)
        - x * math.atan(x)
        - y * math.atan(y)
    )


def test_c11_between_parallel_rectangles():
    # second-hand: 1 x 1.5 at 0.5 apart
    assert c11(1.0, 1.5, 0.5) == pytest.approx(0.4756, abs=5e-5)
    spots, weights = over_rectangle((0, 1.0), (0, 1.5), lambda x, y: flat(x, y, 0))
    assert_mean(PlainScene([ceiling(1.0, 1.5, 0.5)]), spots, weights, math.pi * L * 0.4756)


def c14(h, w):
    """Between rectangles square to one another: h the other's height, w its own width, over their common edge."""
    a, b = 1 + h * h, 1 + w * w
    s = h * h + w * w
    logs = math.log(a * b / (1 + s) * (w * w * (1 + s) / (b * s)) ** (w * w) * (h * h * (1 + s) / (a * s)) ** (h * h))
    arcs = w * math.atan(1 / w) + h * math.atan(1 / h) - math.sqrt(s) * math.atan(1 / math.sqrt(s))
    return (arcs + logs / 4) / (math.pi * w)


def test_c14_between_rectangles_with_a_common_edge():
    # of a cube, each face sees each other with 0.2000 (catalogues print 0.20004)
    assert c14(1.0, 1.0) == pytest.approx(0.20004, abs=5e-6)
    floor = integrate.dblquad(lambda y, x: b4(x, 0.5, y) + b4(1 - x, 0.5, y), 0, 1, 1e-9, 2.0, epsrel=1e-6)[0] / 2.0
    assert c14(0.5, 2.0) == pytest.approx(floor, rel=1e-4)
    wall = Rectangle((0, 0, 0), (0, 0, 0.5), (1, 0, 0), luminance=L, shines="front")
    # the light varies most near the edge: the points are even in the square root of the distance
    (x, wx), (s, ws) = gauss(0, 1), gauss(0, math.sqrt(2.0), 8)
    spots = [flat(a, b * b, 0) for a in x for b in s]
    weights = [float(u * v * 2 * b) for u in wx for b, v in zip(s, ws, strict=True)]
    assert_mean(PlainScene([wall]), spots, weights, math.pi * L * c14(0.5, 2.0))


def c41(r1, r2, h):
    """From a disc of radius r1 to a coaxial parallel one of radius r2 at h."""
    a, b = r1 / h, r2 / h
    x = 1 + (1 + b * b) / (a * a)
    return 0.5 * (x - math.sqrt(x * x - 4 * (b / a) ** 2))


@pytest.mark.parametrize(("r1", "r2", "h"), [(1.0, 1.0, 1.0), (0.5, 2.0, 0.7)])
def test_c41_between_coaxial_discs(r1, r2, h):
    by_sum = integrate.quad(lambda s: 2 * s / r1**2 * b13(r2, h, s), 0, r1)[0]
    assert c41(r1, r2, h) == pytest.approx(by_sum, rel=1e-7)
    square, weights = gauss(0, r1**2, 12)
    spots = [flat(math.sqrt(s), 0, 0) for s in square]
    scene = PlainScene([Disc((0, 0, h), DOWN, r2, luminance=L, shines="front")])
    assert_mean(scene, spots, list(weights), math.pi * L * c41(r1, r2, h))


def test_c51_from_a_sphere_to_a_coaxial_disc():
    """(1 - 1 / sqrt(1 + (disc's radius / distance)^2)) / 2; the disc gets that much of what the sphere gives out."""
    radius, disc, away = 0.5, 2.0, 1.0
    square, weights = gauss(0, disc**2, 16)
    spots = [flat(math.sqrt(s), 0, 0) for s in square]
    factor = (1 - 1 / math.sqrt(1 + (disc / away) ** 2)) / 2
    exact = factor * math.pi * L * 4 * math.pi * radius**2 / (math.pi * disc**2)
    assert_mean(PlainScene([Sphere((0, 0, away), radius, luminance=L, shines="out")]), spots, list(weights), exact)


def test_what_shines_all_round_adds_up_to_one():
    """A receptor inside a closed box of luminance L reads pi L however it is turned; each face by itself adds up."""
    turned = (0.36, 0.48, 0.8)
    spot = [flat(1.1, 0.7, 0.4, turned)]
    faces = ("left", "right", "near", "far", "floor", "ceiling")
    apart = [
        read(PlainScene([Box((0, 0, 0), (3, 2, 1), luminance={face: L}, shines="in")]), *spot, relative_error=1e-3)[0]
        for face in faces
    ]
    total, error = sum(r.value for r in apart), math.sqrt(sum(r.error**2 for r in apart))
    assert abs(total - math.pi * L) <= LIMIT * error + SINGLE * total
    assert_reads(PlainScene([Box((0, 0, 0), (3, 2, 1), luminance=L, shines="in")]), spot, [math.pi * L])


def test_a_box_seen_from_outside():
    """Above the middle of a unit cube that shines outwards its lid is all that is seen: B-3, four corners."""
    scene = PlainScene([Box((0, 0, 0), (1, 1, 1), exitance=math.pi * L, shines="out")])
    assert_reads(scene, [flat(0.5, 0.5, 1.5, DOWN)], [math.pi * L * 4 * b3(0.5, 0.5, 0.5)])
    # from aside, level with the floor: two sides of it, at 45 degrees
    corner = flat(-1.0, -1.0, 0.5, (math.sqrt(0.5), math.sqrt(0.5), 0.0))

    def side(z, x):
        # the face y = 0: the receptor's distance along y is 1
        r2 = (x + 1) ** 2 + 1 + (z - 0.5) ** 2
        return (1 / r2) * ((x + 1 + 1) * math.sqrt(0.5) / r2)

    exact = 2 * L * integrate.dblquad(side, 0, 1, 0, 1)[0]
    assert_reads(scene, [corner], [exact])


@pytest.mark.parametrize("sides", ["front", "back", "both"])
def test_one_and_two_sided_sources(sides):
    sheet = Rectangle((-0.5, -0.5, 1), (1, 0, 0), (0, 1, 0), luminance=L, shines=sides)
    full = math.pi * L * 4 * b3(0.5, 0.5, 1.0)
    above, below = read(PlainScene([sheet]), flat(0, 0, 2, DOWN), flat(0, 0, 0, UP))
    for reading, lit in ((above, sides != "back"), (below, sides != "front")):
        assert abs(reading.value - (full if lit else 0.0)) <= LIMIT * reading.error + SINGLE * full

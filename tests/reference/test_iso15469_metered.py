"""ISO 15469:2004 / CIE S 011: skies as meters see them, in the open and through openings.

The exact figures are integrals of the standard's formula, coded here apart from the program's, over the whole
hemisphere or over an opening (scipy's quadrature). Parameters of the types from memory of the standard's table 1, as
in the program; what vouches for them is in test_iso15469.py.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import integrate

from metered import UP, assert_reads, flat
from sidelong.trace.glass import pane
from sidelong.trace.plain import Box, Gap, Opening, PlainScene, Receptor, Rectangle, Sky

# a, b; c, d, e
TABLE = {
    1: (4.0, -0.70, 0.0, -1.0, 0.0),
    4: (1.1, -0.80, 2.0, -1.5, 0.15),
    5: (0.0, -1.0, 0.0, -1.0, 0.0),
    8: (0.0, -1.0, 10.0, -3.0, 0.45),
    11: (-1.0, -0.55, 10.0, -3.0, 0.45),
    12: (-1.0, -0.32, 10.0, -3.0, 0.45),
    13: (-1.0, -0.32, 16.0, -3.0, 0.30),
    15: (-1.0, -0.15, 24.0, -2.8, 0.15),
}
SUN = np.array([math.cos(math.radians(40)), 0.0, math.sin(math.radians(40))])


def shape(kind, x, y, z, sun=SUN):
    """The standard's formula, not scaled; unit direction."""
    if kind == 16:
        return np.where(z > 0, (1 + 2 * z) / 3, 0.0)
    a, b, c, d, e = TABLE[kind]
    chi = np.arccos(np.clip(x * sun[0] + y * sun[1] + z * sun[2], -1, 1))
    phi = 1 + a * np.exp(b / np.maximum(z, 1e-9))
    return np.where(z > 0, phi * (1 + c * (np.exp(d * chi) - math.exp(d * math.pi / 2)) + e * np.cos(chi) ** 2), 0.0)


def relative(kind, x, y, z, sun=SUN):
    """Over the luminance of the zenith."""
    return shape(kind, x, y, z, sun) / shape(kind, 0.0, 0.0, 1.0, sun)


def hemisphere(kind, response):
    """Integral of the sky of unit zenith times a response: Gauss over the height of 300 bands, even around them."""
    nodes, weights = np.polynomial.legendre.leggauss(300)
    z = (nodes[:, None] + 1) / 2
    turn = (np.arange(1800) + 0.5) * (2 * math.pi / 1800)
    s = np.sqrt(1 - z * z)
    x, y = s * np.cos(turn), s * np.sin(turn)
    return float(weights / 2 @ (relative(kind, x, y, z) * response(x, y, z)).mean(1) * 2 * math.pi)


def cosine(normal):
    n = np.array(normal, float) / np.linalg.norm(normal)
    return lambda x, y, z: np.maximum(x * n[0] + y * n[1] + z * n[2], 0.0)


SLOPE, TO_SUN, AWAY = (0.0, 1.0, 1.0), tuple(SUN), (-1.0, 0.0, 0.0)


@pytest.mark.parametrize("kind", [1, 4, 5, 8, 11, 12, 13, 15, 16])
def test_open_sky_on_level_sloping_and_upright_receptors(kind):
    scene = PlainScene(sky=Sky(kind, zenith=5000.0, to_sun=TO_SUN))
    exact = [5000 * hemisphere(kind, cosine(n)) for n in (UP, SLOPE, TO_SUN, AWAY)]
    # the program looks the sky up in a table of 0.7 by 1.4 degrees: a thousandth about the sun of the clear types
    assert_reads(scene, [flat(0, 0, 0, n) for n in (UP, SLOPE, TO_SUN, AWAY)], exact, single=1.5e-3)


def test_domes_and_cylinders_under_a_sky():
    def cylinder(x, y, z):
        return np.sqrt(1 - x * x) / math.pi

    scene = PlainScene(sky=Sky(12, zenith=5000.0, to_sun=TO_SUN))
    exact = [5000 * hemisphere(12, lambda x, y, z: (1 + x) / 2), 5000 * hemisphere(12, cylinder)]
    meters = [Receptor((0, 0, 0), (1, 0, 0), dome=True), Receptor((0, 0, 0), (1, 0, 0), cylinder=True)]
    assert_reads(scene, meters, exact, single=1.5e-3)


def test_traditional_overcast_in_closed_form():
    """Level ground 7 pi / 9 of the zenith's luminance, a facade (2/3)(pi/4 + 2/3): 39.6 % of it."""
    level, facade = 7 * math.pi / 9, 2 / 3 * (math.pi / 4 + 2 / 3)
    assert facade / level == pytest.approx(0.396, abs=5e-4)
    scene = PlainScene(sky=Sky(16, zenith=1000.0))
    assert_reads(scene, [flat(0, 0, 0), flat(0, 0, 0, AWAY)], [1000 * level, 1000 * facade])
    by_ground = PlainScene(sky=Sky(16, horizontal=1000 * level))
    assert_reads(by_ground, [flat(0, 0, 0, AWAY)], [1000 * facade])


def test_a_uniform_sky_and_reflecting_ground_on_a_slope():
    """pi L ((1 + cos b) / 2 + rho (1 - cos b) / 2); ground of 2 km is within 1 in 10 000 of endless from 1 cm up."""
    ground = Rectangle((-1000, -1000, 0), (2000, 0, 0), (0, 2000, 0), reflectance=0.4)
    scene = PlainScene([ground], sky=Sky(5, zenith=1000.0))
    for degrees in (30, 90, 180):
        c = math.cos(math.radians(degrees))
        normal = (math.sin(math.radians(degrees)), 0.0, c)
        exact = math.pi * 1000 * ((1 + c) / 2 + 0.4 * (1 - c) / 2)
        assert_reads(scene, [flat(0, 0, 0.01, normal)], [exact], single=1e-3)


def through(kind, corner, u, v, at, normal, passed=lambda c: 1.0, sun=SUN):
    """Illuminance over the zenith's luminance by way of a rectangle: quadrature of L cos cos / r^2 over it."""
    corner, u, v, at, n = (np.array(p, float) for p in (corner, u, v, at, normal))
    square = np.cross(u, v)
    out = square / np.linalg.norm(square)

    def part(t, s):
        way = corner + s * u + t * v - at
        r = np.linalg.norm(way)
        d = way / r
        slant = abs(d @ out)
        return float(relative(kind, *d, sun)) * max(d @ n, 0.0) * slant / r**2 * passed(slant)

    return integrate.dblquad(part, 0, 1, 0, 1, epsrel=1e-6)[0] * np.linalg.norm(square)


ROOM = ((0.0, 0.0, 0.0), (4.0, 4.0, 3.0))
ROOF = Opening("ceiling", (1.5, 1.5), (1.0, 1.0))
FACADE = Opening("near", (1.0, 1.0), (2.0, 1.0))
SPOTS = [(2.0, 2.0, 0.0), (0.5, 1.0, 0.0), (3.5, 0.4, 0.8)]


@pytest.mark.parametrize("kind", [1, 5, 12, 16])
@pytest.mark.parametrize("glass", [None, 1.52])
def test_sky_component_through_a_roof_opening(kind, glass):
    """As CIE 171's cases 5.9 and 5.10: a room of 4 x 4 x 3 m, black, a square metre of its roof open or glazed."""
    hole = Opening("ceiling", ROOF.at, ROOF.size, index=glass)
    scene = PlainScene([Box(*ROOM, openings=(hole,))], sky=Sky(kind, zenith=10000.0, to_sun=TO_SUN))
    passed = (lambda c: 1.0) if glass is None else (lambda c: float(pane(glass, 1.0, c)[0]))
    exact = [10000 * through(kind, (1.5, 1.5, 3), (1, 0, 0), (0, 1, 0), at, UP, passed) for at in SPOTS]
    assert_reads(scene, [flat(*at) for at in SPOTS], exact, single=1.5e-3)


@pytest.mark.parametrize("kind", [1, 12])
@pytest.mark.parametrize("glass", [None, 1.52])
def test_sky_component_through_a_facade_opening(kind, glass):
    """As CIE 171's cases 5.11 and 5.12: 2 x 1 m of a wall; on the floor, and on the wall opposite."""
    hole = Opening("near", FACADE.at, FACADE.size, index=glass)
    scene = PlainScene([Box(*ROOM, openings=(hole,))], sky=Sky(kind, zenith=10000.0, to_sun=(0.3, -1.0, 1.0)))
    toward = np.array([0.3, -1.0, 1.0]) / np.linalg.norm([0.3, -1.0, 1.0])
    passed = (lambda c: 1.0) if glass is None else (lambda c: float(pane(glass, 1.0, c)[0]))
    places = [((2.0, 2.0, 0.0), UP), ((0.7, 0.3, 0.0), UP), ((2.0, 4.0, 0.7), (0.0, -1.0, 0.0))]
    exact = [10000 * through(kind, (1, 0, 1), (2, 0, 0), (0, 0, 1), at, n, passed, toward) for at, n in places]
    assert_reads(scene, [flat(*at, normal=n) for at, n in places], exact, single=1.5e-3)


def test_facade_opening_with_a_mask_and_what_it_reflects():
    """As CIE 171's cases 5.13 and 5.14: a building opposite hides the sky under it and is a luminous wall itself."""
    hole = Opening("near", FACADE.at, FACADE.size)
    wall = Rectangle((-20, -6, 0), (40, 0, 0), (0, 0, 2.5), luminance=800.0, shines="back")
    scene = PlainScene([Box(*ROOM, openings=(hole,)), wall], sky=Sky(1, zenith=10000.0))

    def exact(at, n):
        at, n = np.array(at, float), np.array(n)

        def part(t, s):
            way = np.array([1 + 2 * s, 0.0, 1 + t]) - at
            r = np.linalg.norm(way)
            d = way / r
            on_wall = at + d * (-6 - at[1]) / d[1]
            seen = 800.0 if on_wall[2] < 2.5 else 10000 * float(relative(1, *d))
            return seen * max(d @ n, 0.0) * abs(d[1]) / r**2

        # the wall's edge cuts the opening level: split there, where way's height over depth says so
        edge = at[2] + (2.5 - at[2]) * at[1] / (at[1] + 6) - 1
        cuts = sorted({0.0, min(max(edge, 0.0), 1.0), 1.0})
        return 2 * sum(integrate.dblquad(part, 0, 1, a, b, epsrel=1e-6)[0] for a, b in itertools.pairwise(cuts))

    places = [((2.0, 2.0, 0.0), UP), ((2.0, 3.9, 0.0), UP), ((2.0, 4.0, 0.7), (0.0, -1.0, 0.0))]
    assert_reads(scene, [flat(*at, normal=n) for at, n in places], [exact(at, n) for at, n in places], single=1.5e-3)


def test_a_gap_changes_no_reading():
    """A roof of four sheets about a square metre: the same with and without being told where the sky comes in."""
    roof = [
        Rectangle((0, 0, 3), (1.5, 0, 0), (0, 4, 0)),
        Rectangle((2.5, 0, 3), (1.5, 0, 0), (0, 4, 0)),
        Rectangle((1.5, 0, 3), (1, 0, 0), (0, 1.5, 0)),
        Rectangle((1.5, 2.5, 3), (1, 0, 0), (0, 1.5, 0)),
        Rectangle((0, 0, 0), (0, 4, 0), (0, 0, 3)),
        Rectangle((4, 0, 0), (0, 4, 0), (0, 0, 3)),
        Rectangle((0, 0, 0), (4, 0, 0), (0, 0, 3)),
        Rectangle((0, 4, 0), (4, 0, 0), (0, 0, 3)),
    ]
    exact = [10000 * through(5, (1.5, 1.5, 3), (1, 0, 0), (0, 1, 0), at, UP) for at in SPOTS[:2]]
    for things in (roof, [*roof, Gap((1.5, 1.5, 3), (1, 0, 0), (0, 1, 0))]):
        assert_reads(PlainScene(things, sky=Sky(5, zenith=10000.0)), [flat(*at) for at in SPOTS[:2]], exact)


def test_the_sun_square_to_it_and_aslant():
    scene = PlainScene(sky=Sky(5, zenith=0.0, to_sun=TO_SUN, sun=80000.0))
    exact = [80000.0, 80000.0 * SUN[2], 80000.0 * (1 + SUN[2]) / 2]
    meters = [flat(0, 0, 0, TO_SUN), flat(0, 0, 0), Receptor((0, 0, 0), UP, dome=True)]
    assert_reads(scene, meters, exact)
    assert_reads(scene, [flat(0, 0, 0, (0.0, 0.6, 0.8))], [80000.0 * 0.8 * SUN[2]])
    below = PlainScene([Rectangle((-5, -5, 1), (10, 0, 0), (0, 10, 0))], sky=Sky(5, 0.0, to_sun=TO_SUN, sun=8e4))
    assert_reads(below, [flat(0, 0, 2)], [80000.0 * SUN[2]])

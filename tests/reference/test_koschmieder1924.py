"""Koschmieder, Theorie der horizontalen Sichtweite, Beitr. Phys. freien Atmos. 12, 1924: light in uniform air.

A black target at a distance d in air that glows evenly all round shows 1 - exp(-extinction d) of the air's luminance
and one of luminance L adds L exp(-extinction d): contrast falls by exp(-extinction d), to 2 % at 3.912 / extinction.
Beside it Bouguer's law for what arrives straight, and light scattered once, by quadrature along the line of sight
(thin dark air, where a second scattering adds under the albedo times the optical depth).
"""

from __future__ import annotations

import math

import pytest
from scipy import integrate

from metered import DOWN, UP, assert_reads, flat, read
from sidelong.light.haze import visibility
from sidelong.trace.plain import Box, Disc, Medium, PlainScene, Point, Receptor, Rectangle, Sky

SPOT = Receptor((0, 0, 0), UP, spot=0.002)


@pytest.mark.parametrize("distance", [1.0, 2.5])
@pytest.mark.parametrize("own", [None, 40.0])
def test_a_target_in_glowing_air(distance, own):
    """Air lit evenly: a room whose walls glow, full of air that only scatters; the target is 4 mm wide."""
    room = Box((-4, -4, -4), (4, 4, 4), luminance=100.0, shines="in")
    target = Disc((0, 0, distance), DOWN, 0.004, luminance=own, shines=None if own is None else "front")
    clear = math.exp(-0.4 * distance)
    exact = 100 * (1 - clear) + (own or 0.0) * clear
    # the target shades the air close by: under a part in a thousand
    scene = PlainScene([room, target], medium=Medium(0.4, albedo=1.0, g=0.0))
    assert_reads(scene, [SPOT], [exact], relative_error=0.005, single=1.5e-3)


def test_contrast_at_the_visibility():
    extinction = 1.3
    away = visibility(extinction)
    assert away == pytest.approx(3.912 / extinction, rel=1e-4)
    room = Box((-4, -4, -4), (4, 4, 4), luminance=100.0, shines="in")
    target = Disc((0, 0, away), DOWN, 0.006)
    exact = 98.0
    scene = PlainScene([room, target], medium=Medium(extinction, albedo=1.0, g=0.0))
    assert_reads(scene, [Receptor((0, 0, 0), UP, spot=0.002)], [exact], relative_error=0.004, single=1.5e-3)


@pytest.mark.parametrize("albedo", [0.0, 0.3])
def test_bouguer_straight_light(albedo):
    medium = Medium(0.25, albedo=albedo, g=0.3)
    for thing, clear in (
        (Point((0, 0, 3), 900.0), 100.0),
        (Disc((0, 0, 8), DOWN, 0.1, luminance=1e6, shines="front"), math.pi * 1e6 * 0.01 / (0.01 + 64)),
    ):
        distance = 3.0 if isinstance(thing, Point) else 8.0
        [reading] = read(PlainScene([thing], medium=medium), flat(0, 0, 0), relative_error=0.02)
        assert reading.direct == pytest.approx(clear * math.exp(-0.25 * distance), rel=1e-3)
        assert reading.value >= reading.direct


def test_the_sun_through_a_slab_of_air():
    """A layer of 2 m that absorbs: exp(-extinction 2 m / sin h)."""
    h = math.radians(30)
    slab = Medium(0.2, albedo=0.0, low=(-50, -50, 1), high=(50, 50, 3))
    scene = PlainScene(sky=Sky(5, zenith=0.0, to_sun=(math.cos(h), 0, math.sin(h)), sun=1e5), medium=slab)
    assert_reads(scene, [flat(0, 0, 0)], [1e5 * 0.5 * math.exp(-0.2 * 2 / 0.5)], single=1e-3)


@pytest.mark.parametrize("g", [0.0, 0.7, -0.4])
def test_light_scattered_once_into_a_line_of_sight(g):
    """A point light 1 m beside the line; a black screen ends it 4 m on."""
    extinction, albedo, intensity, aside = 0.1, 0.01, 1e5, 1.0

    def phase(cosine):
        return (1 - g * g) / (4 * math.pi * (1 + g * g - 2 * g * cosine) ** 1.5)

    def part(s):
        # at s on the line; the light stands at height 2, `aside` away; it turns by the angle between its way and ours
        way = math.hypot(aside, s - 2)
        turned = -(s - 2) / way
        return extinction * albedo * phase(turned) * intensity / way**2 * math.exp(-extinction * (s + way))

    exact = integrate.quad(part, 0, 4, points=[2])[0]
    screen = Rectangle((-1, -1, 4), (2, 0, 0), (0, 2, 0))
    scene = PlainScene([screen, Point((aside, 0, 2), intensity)], medium=Medium(extinction, albedo=albedo, g=g))
    # twice scattered: the albedo times about a fifth
    assert_reads(scene, [SPOT], [exact], relative_error=0.008, single=3e-3)

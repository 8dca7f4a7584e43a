"""Jacquez & Kuppenheim, Theory of the integrating sphere, J. Opt. Soc. Am. 45, 1955, 460-470 (from memory).

In a sphere of area A and reflectance rho the light that has been reflected is the same everywhere, whatever lit the
wall first: E = (flux / A) rho / (1 - rho), with a black port of a part f of the wall rho (1 - f) in the denominator.
And what holds in every closed cavity whose wall has one luminance of its own and one reflectance:
E = pi L / (1 - rho) wherever a meter is and however it is turned.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from metered import LIMIT, SINGLE, UP, assert_reads, flat, read
from sidelong.trace.plain import Beam, Box, Disc, Medium, PlainScene, Point, Receptor, Rectangle, Sphere

FLUX = 1000.0
RADIUS = 0.5
AREA = 4 * math.pi * RADIUS**2


def wall(direction, radius=RADIUS):
    """A receptor on the inside of the wall."""
    unit = np.array(direction, float) / np.linalg.norm(direction)
    return Receptor(tuple(unit * radius * 0.9995), tuple(-unit))


@pytest.mark.parametrize("reflectance", [0.3, 0.8, 0.95, 0.98])
def test_light_in_the_middle(reflectance):
    scene = PlainScene([Sphere((0, 0, 0), RADIUS, reflectance=reflectance), Point((0, 0, 0), FLUX / (4 * math.pi))])
    # direct and reflected together: flux / A / (1 - rho); the receptor is 0.05 % of the radius off the wall
    spots = [wall((0, 0, -1)), wall((0.6, 0.5, 0.2))]
    assert_reads(scene, spots, [FLUX / AREA / (1 - reflectance)] * 2, single=1e-3)


def test_light_that_falls_on_one_side():
    """A beam on the left: what is reflected is still the same on the right and beside the beam."""
    flux = 2 * math.pi * 100.0 / (math.log(0.5) / math.log(math.cos(0.5)) + 1)
    scene = PlainScene([Sphere((0, 0, 0), RADIUS, reflectance=0.9), Beam((0.2, 0, 0), (-1, 0, 0), 100.0, 1.0)])
    exact = flux / AREA * 0.9 / 0.1
    for reading in read(scene, wall((1, 0, 0)), wall((0, 0.3, 1)), wall((-1, 0.1, 0)), relative_error=0.005):
        reflected = reading.value - reading.direct
        assert abs(reflected - exact) <= LIMIT * reading.error + 1e-3 * exact


def test_a_black_port():
    """A black disc inside, against the wall: of its own area a disc closes a cap of pi r^2, by what it can see."""
    # a flat black lid over a cap of half angle a: the cap behind is cut off, the rest sees the lid as it saw the cap
    half = 0.4
    lid_radius, lid_at = RADIUS * math.sin(half), RADIUS * math.cos(half)
    cap = (1 - math.cos(half)) / 2
    lid = Disc((lid_at, 0, 0), (-1, 0, 0), lid_radius)
    scene = PlainScene([Sphere((0, 0, 0), RADIUS, reflectance=0.9), lid, Point((-0.1, 0, 0), FLUX / (4 * math.pi))])
    # the flux that goes to the lid is lost at once
    lost = (1 - (lid_at + 0.1) / math.hypot(lid_at + 0.1, lid_radius)) / 2
    exact = FLUX * (1 - lost) / AREA * 0.9 / (1 - 0.9 * (1 - cap))
    for reading in read(scene, wall((-1, 0, 0)), wall((0, 1, -0.3))):
        assert abs(reading.value - reading.direct - exact) <= LIMIT * reading.error + 1e-3 * exact


TURNED = [
    Receptor((1.1, 0.7, 0.4), UP),
    Receptor((1.1, 0.7, 0.4), (0.6, -0.8, 0.0)),
    Receptor((0.01, 0.01, 0.0), UP),
]


@pytest.mark.parametrize("reflectance", [0.0, 0.5, 0.9])
def test_a_cavity_of_one_luminance_box(reflectance):
    scene = PlainScene([Box((0, 0, 0), (3, 2, 1), reflectance=reflectance, luminance=100.0, shines="in")])
    assert_reads(scene, TURNED, [math.pi * 100.0 / (1 - reflectance)] * 3)


def test_a_cavity_of_one_luminance_by_every_kind_of_meter():
    scene = PlainScene([Sphere((0, 0, 0), 1.0, reflectance=0.5, luminance=100.0, shines="in")])
    at, to = (0.3, 0.2, -0.4), (1.0, 2.0, 2.0)
    meters = [
        Receptor(at, to),
        Receptor(at, to, dome=True),
        Receptor(at, to, cylinder=True),
        Receptor(at, to, spot=math.radians(1)),
        Receptor(at, to, spot=math.radians(60)),
    ]
    # a dome and a cylinder see the whole sphere: (1 + cos) / 2 and sin / pi over 4 pi
    exact = [math.pi * 200.0, 2 * math.pi * 200.0, math.pi * 200.0, 200.0, 200.0]
    assert_reads(scene, meters, exact)


def test_a_cavity_with_things_in_it_that_neither_lose_nor_give():
    """White panels, a mirror, and air that scatters everything: still pi L."""
    things = [
        Box((0, 0, 0), (3, 2, 1), luminance=100.0, shines="in"),
        Rectangle((0.5, 0.3, 0.2), (0.8, 0, 0), (0, 0.8, 0.2), reflectance=0.7, transmittance=0.3),
        Rectangle((1.5, 0.3, 0.2), (0, 1, 0), (0.2, 0, 0.5), mirror=1.0),
    ]
    scene = PlainScene(things, medium=Medium(0.5, albedo=1.0, g=0.6))
    assert_reads(scene, TURNED[:2], [math.pi * 100.0] * 2)


def test_two_endless_planes():
    """A floor that shines and a ceiling between mirrors: E = M rho2 / (1 - rho1 rho2) on the floor, without rho2 on
    the ceiling."""
    own, rho1, rho2 = 500.0, 0.6, 0.4
    mirrors = [
        Rectangle((0, 0, 0), (1, 0, 0), (0, 0, 1), mirror=1.0),
        Rectangle((0, 1, 0), (1, 0, 0), (0, 0, 1), mirror=1.0),
        Rectangle((0, 0, 0), (0, 1, 0), (0, 0, 1), mirror=1.0),
        Rectangle((1, 0, 0), (0, 1, 0), (0, 0, 1), mirror=1.0),
    ]
    floor = Rectangle((0, 0, 0), (1, 0, 0), (0, 1, 0), reflectance=rho1, exitance=own, shines="front")
    ceiling = Rectangle((0, 0, 1), (1, 0, 0), (0, 1, 0), reflectance=rho2)
    spots = [flat(0.4, 0.3, 0), flat(0.4, 0.3, 1, (0, 0, -1))]
    exact = [own * rho2 / (1 - rho1 * rho2), own / (1 - rho1 * rho2)]
    assert_reads(PlainScene([floor, ceiling, *mirrors]), spots, exact, single=SINGLE)

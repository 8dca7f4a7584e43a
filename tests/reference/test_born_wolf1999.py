"""Born & Wolf, Principles of Optics, 7th ed., section 1.5: Fresnel's equations, and a pane with every reflection.

Closed forms: square to a face r = ((n - 1) / (n + 1))^2, 4 % for n = 1.5; at Brewster's angle, atan n, light that
swings in the plane of incidence is not reflected; a pane passes (1 - r) / (1 + r) of each polarisation (Stokes 1862).
"""

from __future__ import annotations

import math

import pytest
from scipy import integrate

from metered import UP, assert_reads, flat
from sidelong.trace.glass import clearest, inner_transmittance, pane
from sidelong.trace.plain import Pane, PlainScene, Point, Receptor, Rectangle

GLASS = 1.52
WIDE = ((-30, -30, 1), (60, 0, 0), (0, 60, 0))


def faces(n, degrees):
    """Reflectance of one face, across and along the plane of incidence, by the angles (sine and tangent form)."""
    a = math.radians(degrees)
    b = math.asin(math.sin(a) / n)
    return (math.sin(a - b) / math.sin(a + b)) ** 2, (math.tan(a - b) / math.tan(a + b)) ** 2


def test_square_to_the_pane():
    assert pane(1.5, 1.0, 1.0)[1] == pytest.approx(2 * 0.04 / 1.04, rel=1e-12)
    assert clearest(1.5) == pytest.approx(0.96 / 1.04, rel=1e-12)


@pytest.mark.parametrize("degrees", [10, 30, 45, 60, 75, 85])
def test_aslant(degrees):
    exact = sum((1 - r) / (1 + r) for r in faces(GLASS, degrees)) / 2
    through, back = pane(GLASS, 1.0, math.cos(math.radians(degrees)))
    assert through == pytest.approx(exact, rel=1e-9)
    assert through + back == pytest.approx(1.0, rel=1e-12)


def test_brewsters_angle():
    degrees = math.degrees(math.atan(GLASS))
    across, along = faces(GLASS, degrees)
    assert along == pytest.approx(0.0, abs=1e-20)
    assert pane(GLASS, 1.0, math.cos(math.radians(degrees)))[0] == pytest.approx(
        (1 + (1 - across) / (1 + across)) / 2
    )


@pytest.mark.parametrize("straight", [0.3, 0.8, 0.9])
def test_glass_that_absorbs_passes_what_was_said_square_to_it(straight):
    inner = inner_transmittance(GLASS, straight)
    through, back = pane(GLASS, inner, 1.0)
    assert through == pytest.approx(straight, rel=1e-9)
    assert 0 < through + back < 1


@pytest.mark.parametrize("straight", [None, 0.8])
def test_a_point_light_behind_a_pane(straight):
    """CIE 171's case 5.5, directional transmittance of clear glass: here by Fresnel, not by its table."""
    scene = PlainScene([Pane(*WIDE, transmittance=straight, index=GLASS), Point((0, 0, 3), 900.0)])
    angles = [math.radians(d) for d in (0, 30, 60, 75)]
    inner = 1.0 if straight is None else inner_transmittance(GLASS, straight)
    exact = [900 * math.cos(a) ** 3 / 9 * float(pane(GLASS, inner, math.cos(a))[0]) for a in angles]
    assert_reads(scene, [flat(3 * math.tan(a), 0, 0) for a in angles], exact, single=5e-4)


def test_a_pane_without_an_index_passes_the_same_at_every_angle():
    scene = PlainScene([Pane(*WIDE, transmittance=0.7), Point((0, 0, 3), 900.0)])
    assert_reads(scene, [flat(3, 0, 0)], [0.7 * 900 * math.cos(math.pi / 4) ** 3 / 9])


def test_what_a_pane_mirrors():
    """A luminous square beside a flat receptor, both under a pane: the square's image, by the pane's reflectance."""
    square = Rectangle((0, 0, 0), (1, 0, 0), (0, 1, 0), luminance=1000.0, shines="front")

    def part(y, x):
        d2 = (x - 1.5) ** 2 + (y - 0.5) ** 2 + 4
        return 4 / d2**2 * float(pane(GLASS, 1.0, 2 / math.sqrt(d2))[1])

    exact = 1000 * integrate.dblquad(part, 0, 1, 0, 1)[0]
    assert_reads(PlainScene([square, Pane(*WIDE, index=GLASS)]), [flat(1.5, 0.5, 0)], [exact], relative_error=0.008)


def test_a_mirror_shows_what_stands_before_it():
    """A spot meter sees the luminance of the image, by the mirror's part."""
    lit = Rectangle((-3, -1, 0), (0, 2, 0), (0, 0, 2), luminance=500.0, shines="front")
    mirror = Rectangle((0, -1, 0), (0, 2, 0), (0, 0, 2), mirror=0.8)
    meter = Receptor((-1, 0, 1), (1, 0, 0.05), spot=math.radians(2))
    assert_reads(PlainScene([lit, mirror]), [meter], [0.8 * 500.0])


def test_two_panes_one_behind_the_other():
    """Straight through both. What goes to and fro between them arrives as from a point further off, by 4 % of 4 %."""
    second = Pane((-30, -30, 2), *WIDE[1:], index=GLASS)
    square = Rectangle((-5, -5, 3), (0, 10, 0), (10, 0, 0), luminance=100.0, shines="front")
    spot = Receptor((0, 0, 0), UP, spot=0.05)
    through, back = (float(x) for x in pane(GLASS, 1.0, 1.0))
    # a spot sees the square by every number of reflections between the panes
    exact = 100 * through**2 / (1 - back**2)
    assert_reads(PlainScene([Pane(*WIDE, index=GLASS), second, square]), [spot], [exact])

"""H. M. Merklinger, "View Camera Focus and Depth of Field", View Camera, 1996, parts I and II (seen in excerpt), and
E. Berger's worked example to the same method, 2002 (seen), f 90, hinge distance 175 cm, plane at 60 degrees."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.lens.axis import lens_axis
from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of, pupil_axes
from sidelong.lens.plane import hinge_distance, plane_of_focus
from sidelong.lens.values import Lens, Movement, Setting
from sidelong.lens.zone import sharp_zone

FOOT = 0.3048


@pytest.mark.parametrize(("tilt", "feet", "slack"), [(4, 7.0, 0.06), (14, 2.0, 0.05)])
def test_hinge_distance_of_a_150_mm_lens(tilt, feet, slack):
    # "7 ft", "just over 2 ft"
    glass = geometry_of(Setting(Lens("l", 0.150, 5.6), Movement(tilt=math.radians(tilt)), 0.0, 5.6))
    assert hinge_distance(glass) / FOOT == pytest.approx(feet, abs=slack)


def _wedge_glass(f_number=64.0):
    """f 90, tilt down by asin(90/1750), film where the plane of focus lies 60 degrees to the film's normal."""
    tilt = math.asin(90 / 1750)
    glass = geometry_of(Setting(Lens("l", 0.090, 5.6), Movement(tilt=-tilt), 0.0, f_number))
    axis = lens_axis(0.0, -tilt)
    across, along = pupil_axes(axis)
    # tan(psi) = sin a / (cos a - f / A), psi from the lens's own plane towards the scene
    film = 0.090 / (math.cos(tilt) - math.sin(tilt) / math.tan(math.radians(60)))
    return tilt, replace(glass, principal=np.zeros(3), axis=axis, across=across, along=along, film_distance=film)


def test_worked_wedge_tilt_and_film_distance():
    tilt, glass = _wedge_glass()
    assert math.degrees(tilt) == pytest.approx(2.9, abs=0.05)
    # published 93 mm; the exact value by the same formula is 92.96
    assert glass.film_distance * 1e3 == pytest.approx(93, abs=0.5)
    normal, _ = plane_of_focus(glass)
    assert math.degrees(math.atan2(abs(normal[1]), abs(normal[2]))) == pytest.approx(60, abs=1e-9)


@pytest.mark.parametrize(("film", "degrees"), [(93e-3 + 4e-3, 36), (93e-3 - 4e-3, 104)])
def test_worked_wedge_limits_at_f64(film, degrees):
    # "from 36 to 104 degrees" for c = 0.06 mm, worked from the rounded 93 mm and 4 mm, printed to a degree
    tilt, glass = _wedge_glass()
    angle = math.degrees(math.atan2(math.sin(tilt), math.cos(tilt) - 0.090 / film)) % 180
    assert angle == pytest.approx(degrees, abs=0.5)
    # a point on that limit, with the film at 93 mm, has the cone of a 4 mm shift at f/64 across the film; the cone's
    # base is f / N seen from the image distance, hence up to 8 % more or less
    on_limit = np.array([0.0, -1.75 + _height(angle), 3.0])
    assert blur(replace(glass, film_distance=93e-3), on_limit).major * 1e3 == pytest.approx(4 / 64, rel=0.08)


def _height(degrees):
    """Height over the hinge line, at 3 m, of a plane through it at an angle from the film-parallel plane."""
    return 3.0 / math.tan(math.radians(degrees))


def test_hyperfocal_of_150_mm_at_f11_with_a_tenth():
    # part II: "67 ft"
    glass = geometry_of(Setting(Lens("l", 0.150, 5.6), Movement(), 0.0, 11.0))
    near, _, behind = sharp_zone(glass, np.zeros(3), np.array([[0.0, 0.0, 1.0]]), 0.1e-3)
    assert near[0] / FOOT == pytest.approx(67, abs=0.2)
    assert behind[0] == math.inf


def test_the_tilt_for_a_hinge_distance_of_4_2_feet():
    # "7 degrees, near enough": the tilt is sought on the lens itself, not taken from the formula
    def hinge(tilt):
        return hinge_distance(geometry_of(Setting(Lens("l", 0.150, 5.6), Movement(tilt=tilt), 0.0, 5.6)))

    low, high = math.radians(2), math.radians(15)
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if hinge(middle) > 4.2 * FOOT else (low, middle)
    assert math.degrees(low) == pytest.approx(7, abs=0.3)


def test_at_the_hyperfocal_distance_the_zone_reaches_the_hinge_distance_either_side():
    # part II, parallel to the film: at 67 ft, 7 ft above and below the plane of focus of a 150 mm lens tilted by 4
    # degrees, at f/11 and a tenth of a millimetre; the film not quite a focal length away makes a per cent of it
    glass = geometry_of(Setting(Lens("l", 0.150, 5.6), Movement(tilt=math.radians(4)), 0.001, 11.0))
    normal, offset = plane_of_focus(glass)
    depth = 67 * FOOT
    middle = (offset - normal[2] * depth) / normal[1]
    for way in (-1, 1):
        heights = middle + way * np.linspace(0.0, 4.0, 4001)
        majors = blur(glass, np.column_stack([np.zeros(4001), heights, np.full(4001, depth)])).major
        reach = abs(heights[np.argmax(majors > 0.1e-3)] - middle)
        assert reach / FOOT == pytest.approx(hinge_distance(glass) / FOOT, rel=0.02)
        assert reach / FOOT == pytest.approx(7.0, abs=0.15)


def test_the_film_shift_of_the_worked_wedge():
    # published g = 3.84 mm for f/64 and c = 0.06 mm: the shift of the film at which a far point's disc is c
    glass = geometry_of(Setting(Lens("l", 0.090, 5.6), Movement(), 0.0, 64.0))
    shifted = replace(glass, film_distance=0.090 + 3.84e-3)
    assert blur(shifted, np.array([0.0, 0.0, 1e7])).major * 1e3 == pytest.approx(0.06, abs=0.5e-4)

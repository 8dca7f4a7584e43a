"""Q.-T. Luong, "How to select the f-stop" and "Bellows extension exposure compensation" (the latter compiled from
R. Harrington), seen in full; P. Hansma's method behind the first. And the traditional hyperfocal examples."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.lens.blur import blur
from sidelong.lens.diffraction import airy_diameter
from sidelong.lens.falloff import bellows_stops
from sidelong.lens.geometry import geometry_of
from sidelong.lens.ring import extension_for
from sidelong.lens.values import Film, Lens, Movement, Setting
from sidelong.lens.zone import sharp_zone


@pytest.mark.parametrize(
    ("f_number", "printed"), [(11, 0.014), (16, 0.021), (22, 0.029), (32, 0.042), (45, 0.059), (64, 0.085)]
)
def test_airy_disc(f_number, printed):
    # the table rounds lambda to N/750 mm for the diameter: up to 1.5 micrometres from 2.44 lambda N at 550 nm
    assert airy_diameter(f_number) * 1e3 == pytest.approx(printed, abs=1.5e-3)


@pytest.mark.parametrize(
    ("spread", "best"),
    [(1, 19.4), (2, 27.4), (3, 33.5), (4, 38.7), (5, 43.3), (6, 47.4), (7, 51.2), (8, 54.8), (9, 58.1), (10, 61.2)],
)
def test_best_stop_for_a_focus_spread(spread, best):
    # Hansma's sum of squares of our geometric blur (spread mm of film shift either side of the middle, f/N cone) and
    # of his rounded diffraction N/750: least at sqrt(375 spread). Searched, not put in the formula
    lens = Lens("l", 0.150, 5.6)
    stops = np.arange(10.0, 70.0, 0.01)

    def total(f_number):
        glass = geometry_of(Setting(lens, Movement(), 0.0, f_number))
        # a far point with the film half the spread from its image: a disc of (spread / 2) / N
        glass = replace(glass, film_distance=0.150 + spread * 0.5e-3)
        geometric = blur(glass, np.array([0.0, 0.0, 1e7])).major * 1e3
        return geometric**2 + (f_number / 750) ** 2

    found = stops[np.argmin([total(n) for n in stops[::10]]) * 10]
    assert found == pytest.approx(best, abs=0.1)


@pytest.mark.parametrize(("spread", "stop"), [(1.4, 11), (2.1, 16), (3.0, 22), (4.2, 32), (6.0, 45), (8.5, 64)])
def test_admissible_stop_for_a_focus_spread_at_c_0066(spread, stop):
    glass = replace(geometry_of(Setting(Lens("l", 0.150, 5.6), Movement(), 0.0, stop)))
    off = replace(glass, film_distance=0.150 + spread * 0.5e-3)
    # N = spread / (2 c): the table rounds to marked stops, three quarters of a stop number
    needed = stop * blur(off, np.array([0.0, 0.0, 1e7])).major / 0.066e-3
    assert needed == pytest.approx(stop, abs=0.75)


@pytest.mark.parametrize(
    ("focal", "extension", "stops", "slack"),
    [(8, 12.5, 4 / 3, 0.05), (180, 220, 2 / 3, 0.1), (125, 200, 4 / 3, 0.05)],
)
def test_bellows(focal, extension, stops, slack):
    # printed to a third of a stop
    glass = geometry_of(Setting(Lens("l", focal * 1e-3, 5.6), Movement(), (extension - focal) * 1e-3, 8.0))
    assert bellows_stops(glass) == pytest.approx(stops, abs=slack)


def test_hyperfocal_50_mm_f8():
    # encyclopedia example: H = f^2/(N c) + f = 10 467 mm with c 0.03; focused there the near limit is 5 233 mm
    lens = Lens("l", 0.050, 1.4)
    setting = Setting(lens, Movement(), 0.0, 8.0)
    near, _, _ = sharp_zone(geometry_of(setting), np.zeros(3), np.array([[0.0, 0.0, 1.0]]), 0.03e-3)
    # at infinity focus the near limit is f^2/(N c) from the principal point
    assert near[0] * 1e3 == pytest.approx(10417, abs=0.6)
    at = np.array([0.0, 0.0, 10.467])
    focused = geometry_of(replace(setting, extension=extension_for(lens, Movement(), at)))
    near, _, behind = sharp_zone(
        focused, focused.principal, np.array([[0.0, 0.0, 1.0]]), 0.03e-3 * (1 + 1e-6), far=1e6
    )
    assert near[0] * 1e3 == pytest.approx(5233, abs=0.6)
    assert behind[0] > 1e5


def test_an_eighth_of_the_hyperfocal():
    # D. Jacobson, Lenses FAQ, item 11: focused at an eighth of the hyperfocal, sharp from 8/9 to 8/7 of it. His
    # formula leaves out the focal length beside the distances, so a tiny lens is used
    lens = Lens("l", 0.001, 1.0)
    hyperfocal = 0.001**2 / (8.0 * 1e-9)
    at = np.array([0.0, 0.0, hyperfocal / 8])
    glass = geometry_of(Setting(lens, Movement(), extension_for(lens, Movement(), at), 8.0))
    near, _, behind = sharp_zone(glass, np.zeros(3), np.array([[0.0, 0.0, 1.0]]), 1e-9)
    assert near[0] / at[2] == pytest.approx(8 / 9, rel=1e-3)
    assert behind[0] / at[2] == pytest.approx(8 / 7, rel=1e-3)


def test_diagonal_of_the_small_format():
    # published 43.25 mm; 43.27 by Pythagoras
    assert Film(0.036, 0.024).diagonal * 1e3 == pytest.approx(43.25, abs=0.02)


@pytest.mark.parametrize(
    ("hinge", "tilt"),
    [(0.25, 5.6), (0.32, 4.4), (0.5, 2.8), (0.66, 2.1), (0.76, 1.8), (1, 1.4), (1.31, 1.0), (1.53, 0.9), (2, 0.7),
     (2.74, 0.5)],
)  # fmt: skip
def test_green_table_for_24_mm(hinge, tilt):
    # M. Green, tilt and focal plane table, 24 mm, seen in full; printed to 0.1 degree, some rows cut, not rounded
    from sidelong.lens.plane import hinge_distance

    glass = geometry_of(Setting(Lens("l", 0.024, 3.5), Movement(tilt=math.asin(0.024 / hinge)), 0.0, 3.5))
    assert hinge_distance(glass) == pytest.approx(hinge)
    assert math.degrees(math.asin(glass.axis[1])) == pytest.approx(tilt, abs=0.11)


def _limits(lens, f_number, focus, blur_limit):
    """Near and far limit on the axis, from the principal point, focused so far from it. [m]"""
    straight = Movement()
    extension = 0.0 if focus is None else lens.focal_length**2 / (focus - lens.focal_length)
    glass = geometry_of(Setting(lens, straight, extension, f_number))
    near, _, far = sharp_zone(glass, glass.principal, np.array([[0.0, 0.0, 1.0]]), blur_limit, far=1e6)
    return near[0], far[0]


def test_the_hyperfocal_distance_itself():
    # the same example: 10 467 mm is the nearest focus at which infinity is within c, sought by halving
    lens = Lens("l", 0.050, 1.4)
    low, high = 8.0, 14.0
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (low, middle) if _limits(lens, 8.0, middle, 0.03e-3)[1] > 1e4 else (middle, high)
    # beyond 10 km counts as infinity here, which is a thousandth of this distance
    assert high * 1e3 == pytest.approx(10467, rel=1.1e-3)


def test_a_third_of_the_hyperfocal():
    # focused at 3 489 mm, a third of it, sharp from a quarter to a half of it; the rule leaves out the focal length
    # beside the distances, half a per cent
    near, far = _limits(Lens("l", 0.050, 1.4), 8.0, 3.489, 0.03e-3)
    assert near * 1e3 == pytest.approx(10467 / 4, rel=6e-3)
    assert far * 1e3 == pytest.approx(10467 / 2, rel=6e-3)


def test_hyperfocal_of_six_inches_at_f8():
    # The Barnet Book of Photography, chapter on depth: 450 inches, 37.5 feet, for a hundredth of an inch
    inch = 0.0254
    near, _ = _limits(Lens("l", 6 * inch, 4.5), 8.0, None, 0.01 * inch)
    assert near / inch == pytest.approx(450, rel=1e-9)
    assert near / 0.3048 == pytest.approx(37.5, rel=1e-9)


def test_a_circle_of_confusion_of_a_1730th_of_the_diagonal():
    # published 0.025 mm; printed to a micrometre. Our own default is the modern 1500th
    assert Film(0.036, 0.024).diagonal / 1730 * 1e3 == pytest.approx(0.025, abs=0.5e-3)

"""Curved fields: the ellipse against rays, the ring, the plane that touches, the solver, the bounds, the zone."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import differential_evolution

from sidelong.errors import Impossible, OutOfReach
from sidelong.lens.axis import engraved, from_movement_and_rotation
from sidelong.lens.blur import blur
from sidelong.lens.coverage import rays_out
from sidelong.lens.curvature import defocus, defocus_slope
from sidelong.lens.geometry import geometry_of
from sidelong.lens.plane import hinge_distance, hinge_line, plane_of_focus
from sidelong.lens.proof import widest_bound
from sidelong.lens.response import signed_blur
from sidelong.lens.ring import check_ring, engraved_ring, extension_for, ring_distance, ring_range
from sidelong.lens.solve import solve_movement
from sidelong.lens.stop import stop_needed
from sidelong.lens.values import Lens, Movement, Setting
from sidelong.lens.walk import walk
from sidelong.lens.wish import Wish
from sidelong.lens.zone import sharp_zone
from sidelong.units import f_marks, true_f_number

ON = np.array([0.3, -0.2, 3.0])


def lens_of(kappa, **more):
    return Lens("l", 0.09, true_f_number(2.8), movement=math.radians(8.5), field_curvature=kappa, **more)


def set_lens(kappa, swing=0.08, tilt=-0.05, **more):
    lens = lens_of(kappa, **more)
    movement = Movement(swing, tilt, 0.003, -0.002)
    return Setting(lens, movement, extension_for(lens, movement, ON), 2.8)


def counted_rays(setting, point, rim=720):
    """Where rays through the rim of the entrance pupil cut the film, each aimed at the point's displaced image: the
    image of a lens of the power (1 + kappa tan^2) / f, on the ray through the pupil's centre."""
    glass, lens = geometry_of(setting), setting.lens
    p, a, f, h = point - glass.principal, glass.axis, lens.focal_length, lens.entrance_pupil
    u = p @ a
    centre = h * a
    crossing = p + (centre - p) * u / (u - h)
    sharp = p * f / (f - u)
    square = (np.linalg.norm(p) / u) ** 2 - 1
    behind = 1 / ((1 + lens.field_curvature * square) / f - 1 / u)
    aimed = crossing + (sharp - crossing) * behind / -(a @ sharp)
    assert a @ aimed == pytest.approx(-behind)
    turn = 2 * np.pi * np.arange(rim) / rim
    ring = np.cos(turn)[:, None] * glass.across + np.sin(turn)[:, None] * glass.along
    edge = centre + glass.pupil_radius * ring
    bent = p + (edge - p) * (u / ((p - edge) @ a))[:, None]
    cut = bent + (aimed - bent) * ((-glass.film_distance - bent[:, 2]) / (aimed[2] - bent[:, 2]))[:, None]
    return cut[:, :2]


@pytest.mark.parametrize("kappa", [0.0, 0.02, 0.09, -0.2])
@pytest.mark.parametrize("ratio", [0.7, 1.0, 1.6])
def test_the_ellipse_is_what_rays_make(kappa, ratio):
    setting = set_lens(kappa, pupil_ratio=ratio, pivot=0.012)
    points = np.array([[0.5, 0.3, 2.1], [-0.8, 0.1, 4.0], [0.9, -0.6, 6.0], [0.0, 0.0, 3.2]])
    patch = blur(geometry_of(setting), points)
    for i, point in enumerate(points):
        cut = counted_rays(setting, point)
        spread = np.linalg.norm(cut - np.roll(cut, len(cut) // 2, axis=0), axis=1)
        widest = max(np.linalg.norm(cut - c, axis=1).max() for c in cut)
        # 720 rays miss the ends of the axes by at most (pi / 720)^2 of them
        assert patch.major[i] == pytest.approx(widest, rel=2e-5)
        assert patch.minor[i] == pytest.approx(spread.min(), rel=2e-3)


def test_a_sag_of_kappa_times_the_square_over_f():
    glass = geometry_of(Setting(lens_of(0.05), Movement(), 0.0, 2.8))
    far = np.array([0.1, 0.0, 1.0]) * 1e6
    # the straight lens at infinity: the blur of a far point aside is the sag over N, to third order
    assert blur(glass, far).major == pytest.approx(0.05 * (0.09 * 0.1) ** 2 / 0.09 / 2.8, rel=2e-3)
    assert signed_blur(glass, far[None])[0] < 0  # its image lies before the film: it is too far away


def test_the_picture_does_not_move():
    points = np.array([[0.5, 0.3, 2.1], [-0.8, 0.1, 4.0]])
    flat = geometry_of(set_lens(0.0, pupil_ratio=1.3))
    curved = replace(flat, field_curvature=0.1)
    assert np.array_equal(blur(flat, points).image, blur(curved, points).image)
    assert not np.allclose(blur(flat, points).major, blur(curved, points).major, rtol=1e-3)


def test_the_slope_is_the_slope():
    glass = geometry_of(set_lens(0.07, pupil_ratio=1.4))
    points = np.array([[0.5, 0.3, 2.1], [-0.8, 0.1, 4.0]])
    for k in range(3):
        step = 1e-5 * np.eye(3)[k]
        by_hand = (defocus(glass, points + step) - defocus(glass, points - step)) / 2e-5
        assert defocus_slope(glass, points)[:, k] == pytest.approx(by_hand, rel=1e-7, abs=1e-12)


def test_a_ring_that_cannot_reach_says_so():
    lens = lens_of(5.0)
    with pytest.raises(OutOfReach, match=r"curvature|nearer|infinity"):
        extension_for(lens, Movement(0.1), np.array([2.0, 0.0, 0.5]))


@pytest.mark.parametrize("kappa", [0.01, 0.05, -0.05])
def test_the_touching_plane_and_its_hinge(kappa):
    setting = set_lens(kappa, tilt=0.0)
    glass = geometry_of(setting)
    normal, offset = plane_of_focus(glass, ON)
    assert normal @ ON == pytest.approx(offset, abs=1e-9)
    aside = np.array([normal[2], 0.0, -normal[0]])
    blurs = blur(glass, ON + np.array([[0.02], [0.04]]) * aside).major
    assert blurs[1] / blurs[0] == pytest.approx(4.0, rel=0.05)  # it leaves the plane with the square
    line = hinge_line(glass, ON)
    assert line is not None
    assert normal @ line[0] == pytest.approx(offset, abs=1e-9)
    assert normal @ line[1] == pytest.approx(0.0, abs=1e-12)
    assert line[0][2] == pytest.approx(glass.principal[2], abs=1e-12)
    assert np.linalg.norm(line[0] - glass.principal) == pytest.approx(hinge_distance(glass, ON), rel=1e-9)


def test_the_zone_follows_the_surface():
    glass = geometry_of(set_lens(0.06, pupil_ratio=1.2))
    x, y = np.meshgrid(np.linspace(-0.017, 0.017, 5), np.linspace(-0.011, 0.011, 3))
    start, ways = rays_out(glass, np.column_stack([x.ravel(), y.ravel()]))
    near, focus, behind = sharp_zone(glass, start, ways, 30e-6)
    met = np.isfinite(focus)
    assert met.sum() >= 10
    assert np.max(blur(glass, start + ways[met] * focus[met][:, None]).major) < 1e-12
    assert np.all(near[met] < focus[met])
    assert np.all(focus[met] < behind[met])
    assert blur(glass, start + ways[met] * near[met][:, None]).major == pytest.approx(30e-6, rel=1e-6)


def test_the_half_width_of_the_row_is_met():
    setting = set_lens(0.08, tilt=0.0)
    step = walk(setting, ON[None], 30e-6)[0]
    assert step.setting is not None
    assert step.half_width is not None
    across = np.array([1.0, 0.0, 0.0])
    ends = blur(geometry_of(step.setting), ON + np.array([[0.5], [-0.5]]) * step.half_width * across).major
    assert ends == pytest.approx(15e-6, rel=0.05)


def wish_of(seed, kappa):
    rng = np.random.default_rng(seed)
    lens = lens_of(kappa, closest=0.5, pupil_ratio=1.2)

    def people(n):
        return np.stack([rng.uniform(-0.6, 0.6, n), rng.uniform(-0.3, 0.3, n), rng.uniform(2.5, 4.0, n)], axis=1)

    return Wish(lens, people(5), people(1), 40e-6, f_marks(lens.widest, lens.smallest))


def found(wish):
    try:
        return solve_movement(wish).widest_f
    except Impossible as error:
        return error.figures["widest_f"]


@pytest.mark.slow
@pytest.mark.parametrize("kappa", [0.03, -0.08])
def test_the_solver_is_as_good_as_a_general_optimiser(kappa):
    wish = wish_of(3, kappa)
    lens = wish.lens

    def stop(x):
        swing, tilt = from_movement_and_rotation(min(math.hypot(x[0], x[1]), lens.movement), math.atan2(x[1], x[0]))
        setting = Setting(lens, Movement(swing, tilt), x[2], 2.8)
        needed = stop_needed(setting, wish.sharp, wish.blur_limit)
        return needed if math.isfinite(needed) else 1e3

    bounds = [(-lens.movement, lens.movement)] * 2 + [(0.0, 0.006)]
    best = differential_evolution(stop, bounds, seed=1, popsize=10, maxiter=60, tol=1e-10, polish=True).fun
    assert found(wish) <= best * 1.001


@pytest.mark.parametrize("kappa", [0.09, -0.1])
def test_no_sampled_setting_beats_the_bounds(kappa):
    wish = wish_of(5, kappa)
    best = found(wish)
    proved = widest_bound(wish, best)
    assert 0.9 * best <= proved <= best
    two = replace(wish, sharp=wish.sharp[:2])
    answer = solve_movement(two)
    f_number = answer.setting.f_number
    softest = answer.soft_least_proved
    assert answer.soft_least <= softest <= answer.soft_least * 1.2
    rng = np.random.default_rng(8)
    for _ in range(400):
        swing, tilt = from_movement_and_rotation(rng.uniform(0, wish.lens.movement), rng.uniform(0, 2 * math.pi))
        movement = Movement(swing, tilt)
        setting = Setting(wish.lens, movement, rng.uniform(0, 0.09**2 / 2.2), f_number)
        needed = stop_needed(setting, wish.sharp, wish.blur_limit)
        assert not needed < proved
        glass = geometry_of(setting)
        if np.all(blur(glass, two.sharp).major <= two.blur_limit):
            assert float(np.min(blur(glass, two.soft).major)) <= softest


def test_what_the_scales_must_show():
    lens = lens_of(0.0, movement_zero=math.radians(0.3), ring_error=1e-4)
    right = engraved(Setting(lens, Movement(math.radians(4.0)), 0.005, 2.8))
    left = engraved(Setting(lens, Movement(math.radians(-4.0)), 0.005, 2.8))
    straight = engraved(Setting(lens, Movement(rise=0.002), 0.005, 2.8))
    assert math.degrees(right.swing) == pytest.approx(4.3)
    assert math.degrees(left.swing) == pytest.approx(-4.3)
    assert (math.degrees(straight.swing), straight.rise) == pytest.approx((0.3, 0.002))
    hundred = Setting(replace(lens, focal_length=0.1), Movement(), 0.005, 2.8)
    assert engraved_ring(hundred) == pytest.approx(2.1659, abs=5e-5)
    assert ring_distance(lens, 0.0) is None


def test_a_ring_whose_marks_run_ahead_goes_past_infinity_and_ends_sooner():
    exact, ahead = lens_of(0.0, closest=0.8), lens_of(0.0, closest=0.8, ring_error=1e-4)
    assert ring_range(ahead)[0] == pytest.approx(-1e-4)
    assert ring_range(ahead)[1] == pytest.approx(ring_range(exact)[1] - 1e-4)
    with pytest.raises(OutOfReach, match="closest mark"):
        check_ring(ahead, ring_range(exact)[1])
    behind = lens_of(0.0, ring_error=-1e-3)
    with pytest.raises(OutOfReach, match="past infinity"):
        extension_for(behind, Movement(), np.array([0.0, 0.0, 50.0]))


def test_errors_of_the_scales_do_not_touch_the_optics():
    wish = wish_of(3, 0.0)
    off = replace(wish, lens=replace(wish.lens, movement_zero=0.01))
    assert found(off) == found(wish)

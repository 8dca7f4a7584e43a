"""Rays of the moved lens against its geometry: where they aim, what they weigh, which way up the picture is."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.frames_of_reference import camera_frame
from sidelong.lens.coverage import rays_out
from sidelong.lens.falloff import irradiance_per_radiance
from sidelong.lens.geometry import geometry_of
from sidelong.lens.values import Film, Lens, Movement, Setting
from sidelong.lens.zone import sharp_zone
from sidelong.trace.engine import load
from sidelong.trace.sensor import LensRays
from sidelong.trace.values import View

mi, dr = load()

FRAME = camera_frame((1.0, -2.0, 1.5), (2.0, 4.0, 1.2))
FILM = Film(0.036, 0.024)
SETTINGS = {
    "straight": Setting(Lens("a", 0.05, 1.4), Movement(), 0.0012, 2.0),
    "swung": Setting(Lens("a", 0.05, 1.4), Movement(swing=math.radians(8)), 0.0012, 2.0),
    "tilted, long rear": Setting(
        Lens("a", 0.024, 3.5, pupil_ratio=2.0), Movement(tilt=math.radians(-6)), 0.0008, 3.5
    ),
    "pivot, rise, shift": Setting(
        Lens("a", 0.09, 2.8, pivot=0.05, pupil_ratio=0.8), Movement(0.1, -0.05, 0.006, -0.004), 0.003, 2.8
    ),
    "infinity": Setting(Lens("a", 0.05, 1.4), Movement(), 0.0, 2.0),
}


def _rays(setting: Setting, picture: np.ndarray, aperture: np.ndarray):
    lens = LensRays(View(FRAME, FILM, setting, 36, 24))
    pair = lambda a: mi.Point2f(mi.Float(a[:, 0].astype(np.float32)), mi.Float(a[:, 1].astype(np.float32)))
    origin, direction, weight = lens.rays(pair(picture), pair(aperture))
    return (
        FRAME.to_body(np.array(origin).T.astype(float)),
        FRAME.direction_to_body(np.array(direction).T.astype(float)),
        np.array(weight, float),
    )


@pytest.mark.parametrize("name", SETTINGS)
def test_every_ray_of_a_film_point_meets_its_conjugate(name):
    """P = q f / (f - v): the rays of 64 points of the pupil pass it within a millionth of its distance."""
    setting = SETTINGS[name]
    lens = geometry_of(setting)
    grid = (np.stack(np.meshgrid(np.arange(8), np.arange(8)), axis=-1).reshape(-1, 2) + 0.5) / 8
    for u, v in [(0.5, 0.5), (0.1, 0.2), (0.95, 0.8)]:
        origin, direction, weight = _rays(setting, np.tile([u, v], (64, 1)), grid)
        q = np.array([(0.5 - u) * FILM.width, (v - 0.5) * FILM.height, -lens.focal_length]) - lens.principal
        reach = -float(q @ lens.axis)
        assert np.all(weight > 0)
        if abs(reach / lens.focal_length - 1) < 1e-6:
            assert direction == pytest.approx(np.tile(-q / np.linalg.norm(q), (64, 1)), abs=1e-6)
            continue
        conjugate = lens.principal + q * lens.focal_length / (lens.focal_length - reach)
        away = conjugate - origin
        missed = np.linalg.norm(np.cross(away, direction), axis=1)
        assert missed.max() < 5e-6 * np.linalg.norm(away, axis=1).max()


@pytest.mark.parametrize("name", SETTINGS)
@pytest.mark.parametrize("kappa", [0.06, -0.1])
def test_rays_of_a_curved_field_meet_where_it_is_sharp(name, kappa):
    """Where blur vanishes along the ray through the pupil's centre, the rays of 64 points of the pupil meet."""
    setting = replace(SETTINGS[name], lens=replace(SETTINGS[name].lens, field_curvature=kappa))
    lens = geometry_of(setting)
    grid = (np.stack(np.meshgrid(np.arange(8), np.arange(8)), axis=-1).reshape(-1, 2) + 0.5) / 8
    met = 0
    for u, v in [(0.5, 0.5), (0.1, 0.2), (0.95, 0.8), (0.9, 0.1)]:
        origin, direction, _ = _rays(setting, np.tile([u, v], (64, 1)), grid)
        start, way = rays_out(lens, np.array([(u - 0.5) * FILM.width, (0.5 - v) * FILM.height]))
        sharp = sharp_zone(lens, start, way[None], 30e-6)[1][0]
        if not (sharp < 30):
            continue
        away = start + sharp * way - origin
        missed = np.linalg.norm(np.cross(away, direction), axis=1)
        assert missed.max() < 5e-6 * sharp
        met += 1
    assert met >= (0 if name == "infinity" else 1)


@pytest.mark.parametrize("name", SETTINGS)
def test_the_weights_sum_to_the_film_irradiance(name):
    """The mean weight over 4096 even points of the pupil against a quadrature in double precision."""
    setting = SETTINGS[name]
    grid = (np.stack(np.meshgrid(np.arange(64), np.arange(64)), axis=-1).reshape(-1, 2) + 0.5) / 64
    for u, v in [(0.5, 0.5), (0.02, 0.98), (0.9, 0.3)]:
        _, _, weight = _rays(setting, np.tile([u, v], (len(grid), 1)), grid)
        image = np.array([(u - 0.5) * FILM.width, (0.5 - v) * FILM.height])
        assert weight.mean() == pytest.approx(float(irradiance_per_radiance(geometry_of(setting), image)), rel=1e-4)


def test_on_the_axis_the_camera_equation_holds_with_the_bellows_factor():
    """pi / (4 N^2 (1 + m/p)^2), at f/2, m = 0.1, p = 0.8 (ray2002)."""
    lens = Lens("a", 0.05, 1.4, pupil_ratio=0.8)
    grid = (np.stack(np.meshgrid(np.arange(64), np.arange(64)), axis=-1).reshape(-1, 2) + 0.5) / 64
    _, _, weight = _rays(Setting(lens, Movement(), 0.005, 2.0), np.full((4096, 2), 0.5), grid)
    bellows = (1 + 0.1 / 0.8) ** 2
    # the cone is not narrow: the conserved flux of the whole pupil differs in the second order, by the pupil's rim
    exact = float(irradiance_per_radiance(geometry_of(Setting(lens, Movement(), 0.005, 2.0)), np.zeros(2)))
    assert weight.mean() == pytest.approx(exact, rel=1e-4)
    narrow = float(irradiance_per_radiance(geometry_of(Setting(lens, Movement(), 0.005, 45.0)), np.zeros(2)))
    assert narrow == pytest.approx(math.pi / (4 * 45.0**2 * bellows), rel=1e-3)


def test_the_picture_is_upright():
    corner = np.array([[0.02, 0.02]])
    _, direction, _ = _rays(SETTINGS["straight"], corner, np.array([[0.5, 0.5]]))
    assert direction[0, 0] < 0 < direction[0, 1]
    assert direction[0, 2] > 0


def test_swing_to_the_right_brings_the_plane_of_focus_nearer_on_the_right():
    """Where two rays of one film point cross, for a point near each side of the picture: nearer on the right."""
    depth = []
    for u in (0.15, 0.85):
        origin, direction, _ = _rays(
            SETTINGS["swung"], np.full((2, 2), [u, 0.5]), np.array([[0.5, 0.05], [0.5, 0.95]])
        )
        way = origin[1] - origin[0]
        turn = np.cross(direction[0], direction[1])
        depth.append(float(np.cross(way, direction[1]) @ turn / (turn @ turn) * direction[0, 2]))
    # 1 / depth is linear over the film and may pass through nothing: beyond infinity lies behind the camera
    assert 1 / depth[1] > 1 / depth[0]


def test_blades_leave_the_irradiance_as_it_is():
    grid = (np.stack(np.meshgrid(np.arange(64), np.arange(64)), axis=-1).reshape(-1, 2) + 0.5) / 64
    means = []
    for blades in (0, 6, 9):
        setting = Setting(Lens("a", 0.05, 1.4, blades=blades), Movement(), 0.001, 4.0)
        means.append(_rays(setting, np.full((4096, 2), 0.5), grid)[2].mean())
    assert means == pytest.approx([means[0]] * 3, rel=1e-3)

"""Pictures of small scenes: where points land, how they blur, how bright the film gets, mirrors, seeds, layers."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.frames_of_reference import camera_frame
from sidelong.lens.blur import blur
from sidelong.lens.falloff import irradiance_per_radiance
from sidelong.lens.geometry import geometry_of
from sidelong.lens.values import Film, Lens, Movement, Setting
from sidelong.light.values import Emitter
from sidelong.people.values import Person
from sidelong.place.values import Place
from sidelong.spectra.grids import flat
from sidelong.spectra.values import Spectrum
from sidelong.trace.render import passes, render, render_scene
from sidelong.trace.scene import Piece, assemble
from sidelong.trace.values import Stage, View

FRAME = camera_frame((0.0, 0.0, 1.5), (0.0, 5.0, 1.5))
FILM = Film(0.036, 0.024)
LENS = Lens("a", 0.05, 1.4, pupil_ratio=1.3)
TOWARDS = (0.0, -1.0, 0.0)


def _view(setting: Setting, width: int = 120, height: int = 80) -> View:
    return View(FRAME, FILM, setting, width, height)


def _front(at: tuple[float, float, float], size: float, name: str = "front") -> Emitter:
    return Emitter(name, "flash", "lambert", 100.0, flat(1.0), at, TOWARDS, (0, 0, 1), "disc", (size, size))


def _moments(layer: np.ndarray, film: Film) -> tuple[np.ndarray, np.ndarray]:
    """Centre (2,) and covariance (2, 2) of a picture's light, upright, from the film's centre. [m, m2]"""
    height, width = layer.shape
    x = ((np.arange(width) + 0.5) / width - 0.5) * film.width
    y = (0.5 - (np.arange(height) + 0.5) / height) * film.height
    at = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    weight = layer.ravel() / layer.sum()
    centre = weight @ at
    return centre, (at - centre).T @ ((at - centre) * weight[:, None])


@pytest.mark.parametrize("swing", [0.0, 0.12])
@pytest.mark.parametrize("at", [(0.1, 4.0, 1.55), (-0.1, 2.5, 1.45)])
def test_a_small_light_lands_and_blurs_as_the_geometry_says(swing, at):
    """Centre and second moments of a traced spot, lens at infinity, against rays bent one by one.

    The light's own disc, carried to the film, and the pixels add their spread. About 6000 rays hit it: the spread is
    good to 0.9 %, the centre to 3 um; allowed are 3 % and 12 um, beyond three sigmas. The seed is fixed.
    """
    setting, film, size = Setting(LENS, Movement(swing=swing), 0.0, 1.4), Film(0.012, 0.008), 0.02
    scene = assemble([], (_front(at, size),))
    layers = render_scene(scene, View(FRAME, film, setting, 120, 80), samples=512, max_depth=1)
    centre, covariance = _moments(layers.xyz[:, :, 0, 1].astype(float), film)
    expected, spread = _bent_rays(setting, at)
    across, up = ((_bent_rays(setting, np.add(at, d))[0] - expected) / 1e-3 for d in ((1e-3, 0, 0), (0, 0, 1e-3)))
    own = (np.outer(across, across) + np.outer(up, up)) * size**2 / 16 + np.eye(2) * (film.width / 120) ** 2 / 12
    assert centre == pytest.approx(expected, abs=12e-6)
    traced, counted = (np.sqrt(np.linalg.eigvalsh(c)) for c in (covariance - own, spread))
    assert traced == pytest.approx(counted, rel=0.03)
    # and the ellipse of the closed form, evenly filled, spreads by a quarter of its axes, as nearly as it is even
    patch = blur(geometry_of(setting), FRAME.to_body(np.array([at])))
    assert traced * 4 == pytest.approx([patch.minor[0], patch.major[0]], rel=0.06)


def _bent_rays(setting: Setting, at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Centre and covariance of where 20 000 rays of a point meet the film, upright, weighted by their flux."""
    lens = geometry_of(setting)
    p = FRAME.to_body(at) - lens.principal
    n = np.arange(20000) + 0.5
    radius, turn = lens.pupil_radius * np.sqrt(n / 20000), n * math.pi * (3 - math.sqrt(5))
    e = lens.pupil_offset * lens.axis + np.outer(radius * np.cos(turn), lens.across)
    e = e + np.outer(radius * np.sin(turn), lens.along)
    way = e - p
    flux = -(way @ lens.axis) / np.linalg.norm(way, axis=1) ** 3
    bend = p + way * (-(p @ lens.axis) / (way @ lens.axis))[:, None]
    image = p * lens.focal_length / (lens.focal_length - p @ lens.axis)
    on = bend + (image - bend) * ((-lens.film_distance - bend[:, 2]) / (image - bend)[:, 2])[:, None]
    xy = -(on + lens.principal)[:, :2]
    weight = flux / flux.sum()
    mean = weight @ xy
    return mean, (xy - mean).T @ ((xy - mean) * weight[:, None])


def test_the_film_under_an_even_scene_against_quadrature():
    """A large front fills the view: XYZ over the film is its luminance times the irradiance per radiance."""
    setting = Setting(LENS, Movement(tilt=0.1), 0.0005, 2.0)
    emitter = replace(_front((0.0, 3.0, 1.5), 30.0), flux=1e6)
    luminance = 1e6 / (math.pi * math.pi / 4 * 30.0**2)
    layers = render_scene(assemble([], (emitter,)), _view(setting, 45, 30), samples=256, max_depth=1)
    x = ((np.arange(45) + 0.5) / 45 - 0.5) * FILM.width
    y = (0.5 - (np.arange(30) + 0.5) / 30) * FILM.height
    image = np.stack(np.meshgrid(x, y), axis=-1)
    exact = luminance * irradiance_per_radiance(geometry_of(setting), image)
    # 1350 pixels of 256 samples whose wavelengths spread them by 0.1 %: five sigmas each, and their mean
    assert layers.xyz[:, :, 0, 1] == pytest.approx(exact, rel=5e-3)
    assert layers.xyz[:, :, 0, 1].mean() == pytest.approx(exact.mean(), rel=2e-4)


def test_colour_of_the_light_is_the_colour_of_the_layer():
    """A red light on the film has the chromaticity of its spectrum, to the spread of drawn wavelengths."""
    grid = np.arange(360.0, 831.0, 5.0)
    red = Spectrum(grid, np.exp(-(((grid - 620) / 25) ** 2)))
    emitter = replace(_front((0.0, 3.0, 1.5), 30.0), spectrum=red)
    layers = render_scene(
        assemble([], (emitter,)), _view(Setting(LENS, Movement(), 0.0, 2.0), 6, 4), samples=1024, max_depth=1
    )
    from sidelong.spectra.observer import tristimulus

    expected = tristimulus(red.values)
    mean = layers.xyz.reshape(-1, 3).mean(0)
    assert mean / mean[1] == pytest.approx(expected / expected[1], rel=2e-3)


def _stage(mirror: float = 1.0) -> Stage:
    at, axis = (mirror * 1.0, 2.0, 2.0), (mirror * -0.6, 0.8, 0.0)
    front = Emitter("front", "flash", "lambert", 1000.0, flat(1.0), at, axis, (0, 0, 1), "rectangle", (0.5, 0.5))
    ball = Emitter("ball", "steady", "sphere", 500.0, flat(1.0), (mirror * -1.0, 3.0, 4.0), (0, 0, -1), (0, 1, 0))
    people = (
        Person("Ada", (mirror * 0.4, 4.0, 0.0), -math.pi / 2),
        Person("Bo", (mirror * -0.5, 5.0, 0.0), -math.pi / 2),
    )
    return Stage(Place(), people, (front, ball), None)


def test_layers_depth_and_people_of_a_stage():
    view = _view(Setting(Lens("b", 0.03, 2.8), Movement(), 0.0, 8.0), 60, 40)
    seen: list[float] = []
    layers = render(_stage(), view, samples=4, max_depth=3, progress=seen.append)
    again = render(_stage(), view, samples=4, max_depth=3)
    assert layers.names == ("front", "ball")
    assert layers.flash == (True, False)
    assert layers.xyz.shape == (40, 60, 2, 3)
    assert np.all(np.isfinite(layers.xyz))
    assert np.array_equal(layers.xyz, again.xyz)
    assert not np.array_equal(layers.xyz, render(_stage(), view, samples=4, max_depth=3, seed=1).xyz)
    assert seen[-1] == 1.0
    assert sorted(set(layers.person.ravel().tolist())) == [-1, 0, 1]
    # Ada stands nearer and to the right, seen from the camera at y = 0
    for index, side, depth in ((0, 1, 4.0), (1, -1, 5.0)):
        rows, columns = np.nonzero(layers.person == index)
        assert (columns.mean() - 29.5) * side > 0
        assert np.median(layers.depth[rows, columns]) == pytest.approx(depth, abs=0.3)
    assert np.all((layers.albedo > -0.2) & (layers.albedo < 1.2))


def test_one_light_at_a_time_adds_up_to_all_at_once():
    view = _view(Setting(Lens("b", 0.03, 2.8), Movement(), 0.0, 8.0), 24, 16)
    stage = _stage()
    both = render(stage, view, samples=64, max_depth=3).xyz.sum(2).mean((0, 1))
    each = [render(replace(stage, emitters=(e,)), view, samples=64, max_depth=3, seed=5).xyz for e in stage.emitters]
    # the body of a light that is left out no longer stands there; it covers far less than a thousandth
    assert sum(x.mean((0, 1, 2)) for x in each) == pytest.approx(both, rel=0.03)


def test_a_mirrored_stage_gives_a_mirrored_picture(make_rectangle, make_grey):
    """Lights, walls and the lens's swing mirrored in x: block means within 5 sigmas, sigmas from eight seeds.

    48 means: false alarm about 1 in 1000 with t of 14 degrees of freedom; the seeds are fixed.
    """

    def picture(mirror: float, seed: int) -> np.ndarray:
        stage = _stage(mirror)
        low, high = sorted((mirror * -2.0, mirror * 0.7))
        shelf = Piece(make_rectangle((low, 3.0), (high, 6.0), 0.8), make_grey(0.4))
        setting = Setting(Lens("b", 0.03, 2.8), Movement(swing=0.1 * mirror), 0.0005, 2.8)
        view = _view(setting, 24, 16)
        floor = Piece(make_rectangle((-9, -9), (9, 9), 0.0), make_grey(0.3))
        y = render_scene(assemble([shelf, floor], stage.emitters), view, 32, seed, None, 3).xyz[..., 1].sum(2)
        return (y if mirror > 0 else y[:, ::-1]).reshape(4, 4, 6, 4).mean((1, 3))

    one = np.stack([picture(1.0, s) for s in range(8)])
    other = np.stack([picture(-1.0, s + 100) for s in range(8)])
    spread = np.sqrt((one.var(0, ddof=1) + other.var(0, ddof=1)) / 8)
    assert np.all(np.abs(one.mean(0) - other.mean(0)) < 5 * spread + 1e-6)


def test_passes_cover_every_path_once():
    done = np.zeros((5000, 600), int)
    for first, last, start, stop in passes(5000, 600):
        done[first:last, start:stop] += 1
    assert np.all(done == 1)

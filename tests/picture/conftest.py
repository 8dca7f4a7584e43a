"""A view and layers of light made by arithmetic, for tests that need no tracer."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from sidelong.colour.adapt import balance_white
from sidelong.frames_of_reference import camera_frame
from sidelong.lens.values import Film, Lens, Movement, Setting
from sidelong.picture.develop import develop, film_exposure, weights
from sidelong.picture.values import Exposure, Picture
from sidelong.trace.values import Layers, View

LayerMaker = Callable[..., Layers]


@pytest.fixture
def view() -> View:
    lens = Lens("ninety", 0.09, 2.8, movement=0.2, pupil_ratio=0.9, pivot=0.01)
    setting = Setting(lens, Movement(swing=0.067, tilt=0.02), extension=0.003, f_number=2.8)
    return View(camera_frame((0, 0, 1.5), (0, 3, 1.5)), Film(0.036, 0.024), setting, 90, 60)


@pytest.fixture
def make_layers() -> LayerMaker:
    """Layers (H, W, L, 3) of three lights: a strobe, the sun, the sky, smooth shapes with noise if asked for."""

    def make(height: int = 60, width: int = 90, noise: float = 0.0, seed: int = 0) -> Layers:
        generator = np.random.default_rng(seed)
        y, x = np.mgrid[0:height, 0:width].astype(np.float32)
        box = ((x > 0.3 * width) & (x < 0.7 * width) & (y > 0.25 * height)).astype(np.float32)
        shapes = [0.05 + 0.5 * box, 20 * (x / width) ** 2, 5 + 5 * (y / height) * (1 - box)]
        whites = [balance_white(t) for t in (5600, 5000, 9000)]
        xyz = np.stack([s[..., None] * w for s, w in zip(shapes, whites, strict=True)], axis=2)
        if noise:
            xyz = xyz * generator.gamma(1 / noise**2, noise**2, xyz.shape[:3])[..., None]
        normal = np.zeros((height, width, 3), np.float32)
        normal[..., 1] = -1.0
        return Layers(
            names=("key", "sun", "sky"),
            flash=(True, False, False),
            xyz=xyz.astype(np.float32),
            depth=np.where(box > 0, 2.0, 5.0).astype(np.float32),
            person=np.where(box > 0, 0, -1).astype(np.int32),
            albedo=np.repeat((0.3 + 0.4 * box)[..., None], 3, axis=2).astype(np.float32),
            normal=normal,
            samples=4,
            seconds=0.1,
        )

    return make


@pytest.fixture
def picture(view: View, make_layers: LayerMaker) -> Picture:
    exposure = Exposure(2 ** (-23 / 3), 100 * 2 ** (2 / 3), 5500.0)
    layers = make_layers()
    counts = weights(layers, exposure.shutter)
    film = film_exposure(layers, counts)
    srgb: NDArray[np.uint8] = develop(film, exposure.iso, exposure.balance)
    return Picture(view, exposure, layers, counts, film, srgb, 4, 0.5)

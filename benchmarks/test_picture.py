"""How long developing takes at 1500 x 1000: lighting again, developing, blur of each pixel. Gates nothing."""

import numpy as np
import pytest

from sidelong.frames_of_reference import camera_frame
from sidelong.lens.values import Film, Lens, Movement, Setting
from sidelong.picture.blurmap import blur_map
from sidelong.picture.develop import develop, film_exposure, relit
from sidelong.trace.values import Layers, View

ISO, BALANCE = 160.0, 5500.0


@pytest.fixture(scope="module")
def layers() -> Layers:
    """Four lights with shadows, a fifth of the picture over the shoulder, as a window's side of a room is."""
    y, x = np.mgrid[0:1000, 0:1500] / 1000.0
    stops = np.stack([np.sin(k + 3 * x) + np.cos(2 * y * k) - 4 + 2 * x**2 for k in range(4)], axis=-1)
    xyz = (10 / ISO * np.exp2(stops))[..., None] * np.array([0.97, 1.0, 0.9])
    flat = np.zeros((1000, 1500), np.float32)
    colours = np.zeros((1000, 1500, 3), np.float32)
    names, flash = ("key", "rim", "sun", "sky"), (True, True, False, False)
    return Layers(names, flash, xyz.astype(np.float32), flat, flat.astype(np.int32), colours, colours, 1, 0.0)


def test_lighting_again(benchmark, layers) -> None:
    assert benchmark(relit, layers, np.ones(4), ISO, BALANCE).shape == (1000, 1500, 3)


def test_developing(benchmark, layers) -> None:
    assert benchmark(develop, film_exposure(layers, np.ones(4)), ISO, BALANCE).dtype == np.uint8


def test_blur_of_every_pixel(benchmark) -> None:
    setting = Setting(Lens("ninety", 0.09, widest=2.8), Movement(0.067, 0.02), 0.003, 2.8)
    view = View(camera_frame((0, 0, 1.5), (0, 3, 1.5)), Film(0.036, 0.024), setting, 1500, 1000)
    assert np.isfinite(benchmark(blur_map, view, np.full((1000, 1500), 3.0, np.float32))).all()

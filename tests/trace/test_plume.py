"""Light through puffs of haze: what it loses, what is scattered once, and that uniform haze is what it was."""

import math

import numpy as np
import pytest

from sidelong.light.plume import puffs_of
from sidelong.light.values import Emitter
from sidelong.place.values import Air, Plume
from sidelong.spectra.grids import flat
from sidelong.trace.meter import meter_scene
from sidelong.trace.scene import assemble
from sidelong.trace.values import Receptor

BOX = np.array([-5.0, -5.0, -5.0]), np.array([5.0, 5.0, 5.0])
PLUME = Plume((-2.0, 0.0, 0.0), (2.0, 0.3, 0.5), output=0.02, drift=0.2, spread=0.3)
DOWN, ALONG_Y = (0.0, 0.0, -1.0), (0.0, 1.0, 0.0)
BALL = Emitter("ball", "steady", "sphere", 1000.0, flat(1.0), (0, 0, 2.0), DOWN, ALONG_Y, "disc", (0.04, 0.04))


def read(air, place=(0.1, 0.0, -1.5), normal=(0, 0, 1), samples=16384):
    scene = assemble([], (BALL,), haze=air, box=BOX)
    return meter_scene(scene, [Receptor(place, normal)], samples=samples)


def test_what_comes_straight_loses_the_depth_of_the_puffs():
    way = np.array([0.1, 0.0, -3.5])
    distance = np.linalg.norm(way)
    depth = puffs_of(PLUME, *BOX).depth((0, 0, 2.0), way / distance, 0.0, distance)
    assert depth > 0.2
    for uniform in (0.0, 0.1):
        reading = read(Air(uniform, 0.5, 0.0, PLUME), samples=256)
        clear = 1000 / (4 * math.pi * distance**2) * 3.5 / distance
        assert reading.value[0, 0] == pytest.approx(clear * math.exp(-depth - uniform * distance), rel=5e-3)


def test_light_scattered_once_by_thin_puffs():
    """Towards a meter beside the light's way: the integral over the puffs of k phi(cos) E / r^2, summed on a grid.
    What is scattered twice, and what is lost on the way, are each under 2 % and against each other."""
    thin = Plume(PLUME.at, PLUME.to, 0.002, 0.2, 0.3)
    place, g = np.array([2.5, 0.0, -0.5]), 0.6
    scene = assemble([], (BALL,), haze=Air(0.0, g, 1.0, thin), box=BOX)
    reading = meter_scene(scene, [Receptor(tuple(place), (-1.0, 0.0, 0.0))], samples=1 << 21)
    axes = [np.arange(low, high, 0.08) + 0.04 for low, high in ((-4, 2.5), (-2.5, 2.5), (-2.5, 3))]
    points = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
    into, out = points - np.array(BALL.at), place - points
    a, b = np.linalg.norm(into, axis=-1), np.linalg.norm(out, axis=-1)
    cosine = np.sum(into * out, -1) / (a * b)
    phase = (1 - g * g) / (4 * math.pi * (1 + g * g - 2 * g * cosine) ** 1.5)
    meter = np.maximum(out[..., 0], 0) / b
    k = puffs_of(thin, *BOX).extinction(points)
    single = float((k * phase * 1000 / (4 * math.pi * a**2) * meter / np.maximum(b, 0.05) ** 2).sum() * 0.08**3)
    scattered = reading.value[0, 0] - reading.direct[0, 0]
    assert abs(scattered - single) < 4 * reading.error[0, 0] + 0.02 * single
    assert reading.error[0, 0] < 0.03 * scattered


def test_a_puff_as_wide_as_the_world_is_uniform_haze():
    wide = Plume((0.0, 0.0, 0.0), (0.01, 0.0, 0.0), 1.0, 0.01, 400.0, 0.0)
    peak = puffs_of(wide, *BOX).extinction(np.zeros(3))
    scaled = Plume(wide.at, wide.to, 0.05 / float(peak), wide.drift, wide.spread, 0.0)
    puffs, uniform = (read(air, (1.0, 0.5, 0.0)) for air in (Air(0.0, 0.5, 0.9, scaled), Air(0.05, 0.5, 0.9)))
    error = math.hypot(puffs.error[0, 0], uniform.error[0, 0])
    assert abs(puffs.value[0, 0] - uniform.value[0, 0]) < 4 * error + 2e-3 * uniform.value[0, 0]

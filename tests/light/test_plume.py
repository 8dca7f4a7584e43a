"""A plume of puffs: what it holds, its profile, its mirror images, what a ray loses in it."""

import math

import numpy as np
import pytest

from sidelong.light.haze import EXTINCTION_PER_MASS
from sidelong.light.plume import MOST_PUFFS, centreline, puffs_of
from sidelong.place.values import Plume

PLUME = Plume((1.0, 2.0, 0.5), (7.0, 2.0, 2.5), output=0.05, drift=0.25)
FAR = (-50.0,) * 3, (50.0,) * 3
LENGTH = math.sqrt(40.0)


def test_it_holds_what_the_machine_gives_in_the_time_it_drifts():
    """turner1970's plume, its mass: G times length / drift."""
    assert puffs_of(PLUME, *FAR).whole() == pytest.approx(EXTINCTION_PER_MASS * 0.05 * LENGTH / 0.25, rel=1e-12)


@pytest.mark.parametrize("distance", [2.0, 3.0, 4.0])
def test_across_the_middle_it_is_the_gaussian_plume(distance):
    """A row of puffs is smeared along its way by their spread; away from its ends that is worth 3 %."""
    puffs = puffs_of(PLUME, *FAR)
    way = (np.array(PLUME.to) - PLUME.at) / LENGTH
    point = np.array(PLUME.at) + distance * way
    assert puffs.extinction(point) == pytest.approx(centreline(PLUME, distance), rel=0.03)
    sigma = math.sqrt(0.04 + 2 * 0.01 * distance / 0.25)
    aside = point + sigma * np.array([0.0, 1.0, 0.0])
    assert puffs.extinction(aside) / puffs.extinction(point) == pytest.approx(math.exp(-0.5), rel=0.02)


def test_a_floor_gives_back_what_would_pass_it():
    low, high = (-50.0, -50.0, 0.2), (50.0, 50.0, 50.0)
    puffs = puffs_of(PLUME, low, high)
    step = 0.15
    grid = np.meshgrid(np.arange(-1, 10, step), np.arange(-1, 5, step), np.arange(0.2, 6, step) + step / 2)
    held = puffs.extinction(np.stack(grid, axis=-1)).sum() * step**3
    assert held == pytest.approx(EXTINCTION_PER_MASS * 0.05 * LENGTH / 0.25, rel=0.01)


def test_the_depth_of_a_ray_is_the_integral_of_the_extinction():
    puffs = puffs_of(PLUME, (0, 0, 0), (8, 4, 3))
    origin, way = np.array([0.5, 0.2, 0.3]), np.array([0.8, 0.5, 0.332])
    way /= np.linalg.norm(way)
    t = np.linspace(0.7, 4.2, 4001)
    summed = np.trapezoid(puffs.extinction(origin + t[:, None] * way), t)
    assert puffs.depth(origin, way, 0.7, 4.2) == pytest.approx(summed, rel=1e-5)


def test_a_long_thin_plume_has_a_bounded_number_of_puffs():
    thin = Plume((0, 0, 1.0), (40.0, 0, 1.0), output=0.01, drift=1.0, spread=0.05, diffusivity=1e-4)
    puffs = puffs_of(thin, (-1, -1, 0), (41, 1, 2))
    assert len(puffs.sigma) <= MOST_PUFFS
    assert (puffs.peak > 0).all()

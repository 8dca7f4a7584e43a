"""Finishes: what comes back is never more than what came, and is drawn as often as the density says."""

from __future__ import annotations

import numpy as np
import pytest

from sidelong.spectra.grids import flat
from sidelong.spectra.values import Finish
from sidelong.trace.engine import load
from sidelong.trace.surfaces import FinishTable, Surface

mi, dr = load()

FINISHES = (
    Finish("matt", flat(0.9)),
    Finish("gloss", flat(0.9), roughness=0.2),
    Finish("satin", flat(0.9), roughness=0.6),
    Finish("steel", flat(0.7), roughness=0.4, metal=True),
    Finish("cloth", flat(0.4), diffuse=0.5),
)
N = 1 << 18


def _surface(index: int, cosine: float) -> Surface:
    table = FinishTable(FINISHES)
    finish = mi.UInt32(index)
    one = lambda c: dr.gather(mi.Float, c, finish)
    back = mi.Vector3f(float(np.sqrt(1 - cosine**2)), 0.0, cosine)
    up = mi.Normal3f(0.0, 0.0, 1.0)
    rho = table.reflectance_at(finish, [mi.UInt32(40)] * 4, mi.Point3f(0.0), mi.Bool(True))
    return Surface(
        up,
        up,
        back,
        rho,
        one(table.mean),
        one(table.through),
        one(table.alpha),
        one(table.coat),
        one(table.metal),
        True,
    )


@pytest.mark.parametrize("cosine", [0.15, 0.6, 1.0])
@pytest.mark.parametrize("index", range(len(FINISHES)))
def test_no_finish_gives_back_more_than_it_gets(index, cosine):
    surface = _surface(index, cosine)
    rng = mi.PCG32(size=N, initstate=5)
    out = surface.draw(rng.next_float32(), mi.Point2f(rng.next_float32(), rng.next_float32()))
    answer, density = surface.answer(out)
    drawn = np.array(dr.select(density > 0, answer[0] / density, 0.0), float)
    even = mi.warp.square_to_uniform_sphere(mi.Point2f(rng.next_float32(), rng.next_float32()))
    summed = np.array(surface.answer(even)[0][0], float) * 4 * np.pi
    assert drawn.mean() <= 1.0 + 4 * drawn.std() / np.sqrt(N)
    # both ways of summing agree within five sigmas: false alarm once in 1.7 million
    spread = np.hypot(drawn.std(), summed.std()) / np.sqrt(N)
    assert abs(drawn.mean() - summed.mean()) < 5 * spread


@pytest.mark.parametrize("index", range(len(FINISHES)))
def test_the_density_is_that_of_the_draws(index):
    """Chi-square of 16 x 16 cells of equal solid angle, at a false-alarm rate of one in a hundred thousand."""
    surface = _surface(index, 0.7)
    rng = mi.PCG32(size=N, initstate=11)
    out = np.array(surface.draw(rng.next_float32(), mi.Point2f(rng.next_float32(), rng.next_float32()))).T
    edges = np.linspace(-1, 1, 17), np.linspace(-np.pi, np.pi, 17)
    counts = np.histogram2d(out[:, 2], np.arctan2(out[:, 1], out[:, 0]), edges)[0]
    fine = 32
    z = (np.arange(16 * fine) + 0.5) / (8 * fine) - 1
    a = ((np.arange(16 * fine) + 0.5) / (8 * fine) - 1) * np.pi
    zz, aa = np.meshgrid(z, a, indexing="ij")
    s = np.sqrt(1 - zz**2)
    grid = mi.Vector3f(*(mi.Float(c.ravel().astype(np.float32)) for c in (s * np.cos(aa), s * np.sin(aa), zz)))
    density = np.array(surface.answer(grid)[1], float).reshape(16, fine, 16, fine).mean((1, 3))
    expected = density * 4 * np.pi / 256 * N
    kept = expected > 20
    # rays that a microfacet sends below the surface are drawn and lost: they have no density to be compared with
    chi = np.sum((counts[kept] - expected[kept]) ** 2 / expected[kept])
    freedom = int(kept.sum())
    assert chi < freedom + 4.27 * np.sqrt(2 * freedom) + 10

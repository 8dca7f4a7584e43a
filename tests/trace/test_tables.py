"""Lights with a luminaire file's table, metered: against the closed forms that the tables were made from."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.light.distribution import total_flux
from sidelong.light.patterns import axial_intensity, illuminance_at, illuminance_on_axis
from sidelong.light.values import Distribution, Emitter
from sidelong.spectra.grids import flat
from sidelong.trace.meter import meter_scene
from sidelong.trace.scene import Piece, assemble
from sidelong.trace.values import Receptor

DOWN, ALONG_Y = (0.0, 0.0, -1.0), (0.0, 1.0, 0.0)
FRONT = np.radians(np.arange(0, 90.1, 0.5))
SPHERE = np.radians(np.arange(0, 180.1, 0.5))
TURN = np.radians(np.arange(0, 360.1, 5))
PLACES = [
    Receptor((0, 0, 1.0), (0, 0, 1)),
    Receptor((0.5, 0.3, 1.0), (0, 0.6, 0.8)),
    Receptor((2, 0.3, 1), (-1, 0, 0)),
]


def table(vertical, candela):
    return Distribution("made up", vertical, TURN, np.broadcast_to(candela, (len(TURN), len(vertical))))


def light(distribution, size=(0.3, 0.3)):
    return Emitter(
        "lamp", "steady", "table", 1000.0, flat(1.0), (0, 0, 2.0), DOWN, ALONG_Y, "disc", size, table=distribution
    )


def read(emitter, places=PLACES):
    return meter_scene(assemble([], (emitter,)), places).value[:, 0]


def points(emitter, places=PLACES):
    return illuminance_at(emitter, [r.at for r in places], [r.normal for r in places])


@pytest.mark.parametrize("n", [1.0, 8.0])
def test_a_table_of_a_cosine_power_reads_as_the_beam_does(n):
    beam = replace(light(None), pattern="beam", beam=2 * math.acos(0.5 ** (1 / n)))
    tabled = light(table(FRONT, np.cos(FRONT).clip(0) ** n))
    assert axial_intensity(tabled) == pytest.approx(axial_intensity(beam), rel=3e-4)
    assert illuminance_on_axis(tabled, 0.8) == pytest.approx(illuminance_on_axis(beam, 0.8), rel=2e-3)
    assert points(tabled) == pytest.approx(points(beam), rel=2e-3)
    assert read(tabled) == pytest.approx(points(beam), rel=4e-3)


def test_a_table_that_is_the_same_all_round_reads_as_a_ball():
    tabled = light(table(SPHERE, np.ones(len(SPHERE))), (0.06, 0.06))
    ball = replace(tabled, pattern="sphere", table=None)
    assert read(tabled) == pytest.approx(points(ball), rel=2e-3)


def test_right_and_up_are_where_the_table_says():
    """Aimed along +y, its right is +x, and up is +z: the lobes go there."""
    shape = 1.0 + 0.5 * np.clip(np.cos(TURN), 0, 1) + 1.0 * np.clip(np.sin(TURN), 0, 1)
    values = shape[:, None] * np.ones(len(SPHERE))
    distribution = Distribution("lopsided", SPHERE, TURN, values)
    emitter = replace(light(distribution, (0.05, 0.05)), at=(0.0, 0.0, 0.0), axis=(0.0, 1.0, 0.0), up=(0.0, 0.0, 1.0))
    r = 2.0
    around = [Receptor(p, tuple(-np.array(p) / r)) for p in ((r, 0, 0), (-r, 0, 0), (0, 0, r), (0, 0, -r))]
    exact = np.array([1.5, 1.0, 2.0, 1.0]) * 1000 / total_flux(distribution) / r**2
    assert points(emitter, around) == pytest.approx(exact, rel=2e-3)
    # the ball is seen over 1.4 degrees, across the kink where a lobe begins
    assert read(emitter, around) == pytest.approx(exact, rel=4e-3)


def test_what_a_wall_gets_and_gives_back_is_all_that_the_table_sends(make_box, make_grey):
    """In a closed room of reflectance 1/2: the walls' mean reading is flux / (area x 1/2)."""
    emitter = replace(light(table(SPHERE, 1 + np.cos(SPHERE) ** 2), (0.1, 0.1)), at=(2.0, 2.0, 2.0))
    grid = [(x, y) for x in np.arange(0.25, 4, 0.5) for y in np.arange(0.25, 4, 0.5)]
    walls = [(a, b, 0.001) for a, b in grid], [(0.001, a, b) for a, b in grid]
    floor = [Receptor(p, (0, 0, 1)) for p in walls[0]] + [Receptor((x, y, 3.999), (0, 0, -1)) for x, y, _ in walls[0]]
    sides = [Receptor(p, (1, 0, 0)) for p in walls[1]]
    scene = assemble([Piece(make_box((0, 0, 0), (4, 4, 4)), make_grey(0.5))], (emitter,))
    value = meter_scene(scene, floor + sides, samples=256).value[:, 0]
    level, upright = value[: len(floor)].mean(), value[len(floor) :].mean()
    assert (level * 2 + upright * 4) * 16 == pytest.approx(1000 / 0.5, rel=0.02)

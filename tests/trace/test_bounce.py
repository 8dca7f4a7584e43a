"""Light bounced off walls, ceilings and panels: against closed forms, and against paths that find the patch alone."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelong.light.sheets import sheet_finish
from sidelong.light.values import Emitter, Modifier
from sidelong.spectra.grids import flat
from sidelong.trace.meter import meter_scene
from sidelong.trace.scene import Piece, assemble
from sidelong.trace.values import Receptor

DOWN, ALONG_Y = (0.0, 0.0, -1.0), (0.0, 1.0, 0.0)
SPOT = Emitter(
    "head", "flash", "beam", 1000.0, flat(1.0), (0, 0, 1.0), DOWN, ALONG_Y, "disc", (0.1, 0.1),
    beam=math.radians(12), bounced=True,
)  # fmt: skip
FRONT = replace(SPOT, pattern="lambert", shape="rectangle", size=(0.5, 0.7), beam=0.0)
BALL = replace(SPOT, pattern="sphere", size=(0.06, 0.06), beam=0.0)
GRID = replace(FRONT, grid=math.radians(50))


def test_a_small_beam_on_a_matt_wall_lights_as_a_small_lambertian_patch(make_rectangle, make_grey):
    """E = rho flux cos cos / (pi r^2): the patch is 0.13 m wide and 3 m off, so that this holds to 0.3 %."""
    wall = Piece(make_rectangle((-1, -1), (1, 1), 0.0), make_grey(0.6))
    place = np.array([2.0, 1.0, 2.0])
    towards = -place / np.linalg.norm(place)
    reading = meter_scene(assemble([wall], (SPOT,)), [Receptor(tuple(place), tuple(towards))], samples=1024)
    exact = 0.6 * 1000 / math.pi * (2.0 / 3.0) / 9.0
    reflected = reading.value[0, 0] - reading.direct[0, 0]
    assert reflected == pytest.approx(exact, rel=0.01)
    assert reading.error[0, 0] < 0.003 * exact


@pytest.mark.parametrize("head", [SPOT, FRONT, GRID, BALL], ids=["beam", "front", "grid", "ball"])
@pytest.mark.parametrize("finish", ["white", "silver"])
def test_points_of_the_patch_change_the_noise_and_nothing_else(make_box, make_grey, head, finish):
    """In a closed room, near a panel of a finish: the mean of eight meters, within 4 of its errors plus half a
    per cent, what 16 384 fixed points leave."""
    room = Piece(make_box((-2, -2, -0.5), (2, 2, 2.5)), make_grey(0.3))
    panel = Piece(make_box((-0.5, -0.5, 0.1), (0.5, 0.5, 0.12), False), sheet_finish([
        Modifier("p", "panel", size=(1, 1), reflectance=0.8, finish=finish)]))  # fmt: skip
    meters = [Receptor((x, y, z), (0.6, 0.0, -0.8)) for x in (-1, 1) for y in (-1, 1) for z in (0.8, 1.8)]
    with_points, without = (
        meter_scene(assemble([room, panel], (replace(head, bounced=b),)), meters, samples=8192, seed=3)
        for b in (True, False)
    )
    a, b = with_points.value.mean(), without.value.mean()
    error = math.hypot(np.linalg.norm(with_points.error), np.linalg.norm(without.error)) / 8
    assert abs(a - b) < 4 * error + 0.005 * b


def test_a_narrow_beam_is_far_quieter(make_box, make_grey):
    room = Piece(make_box((-2, -2, 0), (2, 2, 3)), make_grey(0.5))
    meters = [Receptor((1.0, 1.0, 1.5), (-0.6, 0.0, -0.8))]
    quiet, noisy = (
        meter_scene(assemble([room], (replace(SPOT, bounced=b),)), meters, samples=4096) for b in (True, False)
    )
    assert quiet.error[0, 0] < 0.2 * noisy.error[0, 0]

"""Scrims, nets and gels that light passes through, metered: parts, colours, and several in one frame."""

import math

import numpy as np
import pytest

from sidelong.light.gel import filtered
from sidelong.light.sheets import sheet_finish
from sidelong.light.values import Emitter, Gel, Modifier
from sidelong.spectra.illuminants import by_temperature
from sidelong.trace.meter import meter_scene
from sidelong.trace.scene import Piece, assemble
from sidelong.trace.values import Receptor

DOWN, ALONG_Y = (0.0, 0.0, -1.0), (0.0, 1.0, 0.0)
DAYLIGHT, TUNGSTEN = by_temperature(5500.0), by_temperature(3200.0)
CTO, CTB = Gel("cto", 160.0, 0.0, 0.55), Gel("ctb", -130.0, 0.0, 0.35)
SCRIM = Modifier("scrim", "scrim", transmission=0.4, reflectance=0.5)
NET = Modifier("net", "net", transmission=0.6)
BELOW = [Receptor((0.0, 0.0, 0.0), (0, 0, 1))]


def lamp(spectrum, name="lamp"):
    return Emitter(name, "steady", "sphere", 1000.0, spectrum, (0, 0, 3.0), DOWN, ALONG_Y, "disc", (0.05, 0.05))


def through(make_rectangle, pieces, spectrum, samples=4096, half=0.4):
    """What passes a frame at 1 m on its way from a lamp at 3 m."""
    sheet = Piece(make_rectangle((-half, -half), (half, half), 1.0), sheet_finish(pieces))
    return meter_scene(assemble([sheet], (lamp(spectrum),)), BELOW, samples=samples)


@pytest.mark.parametrize("spectrum", [DAYLIGHT, TUNGSTEN], ids=["daylight", "tungsten"])
@pytest.mark.parametrize("gels", [[CTO], [CTB], [CTO, NET], [CTB, CTO]], ids=["cto", "ctb", "cto+net", "ctb+cto"])
def test_what_gels_pass_of_a_light_is_by_its_spectrum(make_rectangle, gels, spectrum):
    read = through(make_rectangle, gels, spectrum)
    free = 1000 / (4 * math.pi * 9)
    _, share = filtered(spectrum, [g for g in gels if isinstance(g, Gel)])
    nets = math.prod(0.6 for g in gels if not isinstance(g, Gel))
    assert read.value[0, 0] == pytest.approx(free * share * nets, rel=5e-3)


def scattered(half):
    """What a sheet of transmission 1 sends to the meter: its light over pi, summed over it by midpoints. [lx]"""
    x, y = np.meshgrid(*[half * ((np.arange(200) + 0.5) / 100 - 1)] * 2)
    up, down = 4 + x * x + y * y, 1 + x * x + y * y
    arrived = 1000 / (4 * math.pi * up) * 2 / np.sqrt(up)
    return float((arrived / math.pi / down**2).mean() * (2 * half) ** 2)


def test_a_scrim_scatters_what_it_passes(make_rectangle):
    half = 0.4
    for pieces, part in (([SCRIM], 0.4), ([SCRIM, SCRIM], 0.16 / 0.75)):
        read = through(make_rectangle, pieces, DAYLIGHT, 16384)
        assert read.value[0, 0] == pytest.approx(part * scattered(half), rel=0.03)
    read = through(make_rectangle, [CTO, SCRIM], DAYLIGHT, 16384)
    spectrum, share = filtered(DAYLIGHT, [CTO])
    assert read.value[0, 0] == pytest.approx(0.4 * share * scattered(half), rel=0.03)
    plain = through(make_rectangle, [SCRIM], spectrum, 16384).xyz[0, 0]
    assert read.xyz[0, 0] / read.xyz[0, 0].sum() == pytest.approx(plain / plain.sum(), abs=5e-3)


def test_reflected_light_takes_the_colour_of_the_gel_it_passes(make_rectangle, make_grey):
    """A lamp over a gel over a white board: what the board gives back towards a meter beside the gel."""
    gel = Piece(make_rectangle((-0.5, -0.5), (0.5, 0.5), 2.0), sheet_finish([CTO]))
    board = Piece(make_rectangle((-0.3, -0.3), (0.3, 0.3), 0.0), make_grey(0.8))
    lost = Piece(make_rectangle((-0.3, -0.3), (0.3, 0.3), 0.0), make_grey(0.8))
    beside = [Receptor((1.5, 0.0, 1.0), tuple(np.array([-1.5, 0, -1]) / math.hypot(1.5, 1)))]
    spectrum, share = filtered(DAYLIGHT, [CTO])
    gelled = meter_scene(assemble([gel, board], (lamp(DAYLIGHT),)), beside, samples=16384)
    plain = meter_scene(assemble([lost], (lamp(spectrum),)), beside, samples=16384)
    reflected = gelled.value - gelled.direct, plain.value - plain.direct
    assert reflected[0][0, 0] == pytest.approx(share * reflected[1][0, 0], rel=0.02)


def test_a_scene_without_colours_on_the_way_reads_as_it_did(make_rectangle):
    even = meter_scene(
        assemble([Piece(make_rectangle((-1, -1), (1, 1), 1.0), sheet_finish([NET]))], (lamp(DAYLIGHT),)), BELOW
    )
    assert even.value[0, 0] == pytest.approx(0.6 * 1000 / (4 * math.pi * 9), rel=1e-3)

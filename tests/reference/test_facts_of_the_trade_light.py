"""Facts of the trade about light, metered and photographed: common practice, no source; the sums are beside each.

Sunny 16: in bright sun f/16 at one over the speed; EV100 14.64 to 15, here 14.6 to 15.6 for a card that faces the
sun. Guide number: f-number times metres (ISO 1230). A shadow's soft edge is as wide as the distance times the angle
of the light. Ambient and flash of a stop under each make the whole. Light falls with the square of the distance.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from metered import UP, assert_reads, flat, read
from sidelong.frames_of_reference import camera_frame
from sidelong.geometry import builders
from sidelong.lens.values import Film, Lens, Movement, Setting
from sidelong.light.daylight import daylight
from sidelong.light.exposure import bellows_factor, card_stops, ev100_of_illuminance, light_for_stops
from sidelong.light.strobe import emitter
from sidelong.light.values import Emitter, Head, Strobe
from sidelong.picture.develop import develop, film_exposure
from sidelong.place.values import Place
from sidelong.spectra import grids
from sidelong.spectra.finishes import finish
from sidelong.trace.meter import meter_scene
from sidelong.trace.plain import PlainScene, Rectangle, Sky
from sidelong.trace.render import render_scene
from sidelong.trace.scene import Piece, assemble
from sidelong.trace.values import Receptor, View

SPRING = datetime(2026, 3, 20, 12, 0, tzinfo=UTC)


def test_sunny_16_from_the_sun_to_the_developed_card():
    day = daylight(SPRING, Place(latitude=math.radians(45)))
    assert day is not None
    assert math.degrees(day.elevation) == pytest.approx(45, abs=1.5)
    to_sun = np.array(day.to_sun)
    across = np.cross(UP, to_sun) / np.linalg.norm(np.cross(UP, to_sun))
    along = np.cross(to_sun, across)
    middle = np.array([0.0, 0.0, 1.5])
    card = Piece(builders.rectangle(middle - 0.5 * (across + along), across, along), finish("grey card"))
    scene = assemble([card], (), day)
    reading = meter_scene(scene, [Receptor(tuple(middle + 0.01 * to_sun), tuple(to_sun))])
    light = float(reading.value.sum())
    assert 14.6 < float(ev100_of_illuminance(light)) < 15.6

    setting = Setting(Lens("plain", 0.09, 2.8), Movement(), 0.09**2 / (3.0 - 0.09), 16.0)
    view = View(camera_frame(middle + 3 * to_sun, middle), Film(0.036, 0.024), setting, 24, 16)
    layers = render_scene(scene, view, samples=64)
    bellows = float(bellows_factor(0.09 / (3.0 - 0.09)))
    stops = float(card_stops(light, 1 / 100, 16.0, 100.0, bellows))
    assert 0.0 < stops < 1.2
    film = film_exposure(layers, np.full(2, 1 / 100))[6:10, 9:15]
    # 24 pixels of 64 samples under a sun and a sky: within 0.03 stop, the lens's falloff from the middle 0.02
    assert math.log2(float(film[..., 1].mean()) * 100 / 10) == pytest.approx(stops, abs=0.05)
    # rated by that reading, the card develops to the middle grey of ISO 12232's sRGB, 118
    rated = film_exposure(layers, np.full(2, 1 / 100 * 2.0**-stops))
    grey = develop(rated, 100.0, 5500.0)[6:10, 9:15].reshape(-1, 3).mean(0)
    # the balance is a round figure, not that of this sun and sky: green is what counts
    assert grey[1] == pytest.approx(118, abs=3)
    assert grey == pytest.approx([118] * 3, abs=10)
    assert develop(film_exposure(layers, np.full(2, 1 / 100)), 100.0, 5500.0)[6:10, 9:15].mean() > grey.mean()


@pytest.mark.parametrize("f_number", [4.0, 8.0, 16.0])
def test_guide_number_over_f_number_is_the_distance(f_number):
    """C = 250, ISO 100: the flash gives 2.5 N^2 lux seconds at GN / N, which a meter calls right."""
    strobe = Strobe("head", 400.0, guide_number=22.57)
    head = emitter(Head("head", strobe, (0.0, 0.0, 0.0), (5.0, 0.0, 0.0)))
    distance = 22.57 / f_number
    reading = meter_scene(assemble([], (head,)), [Receptor((distance, 0.0, 0.0), (-1.0, 0.0, 0.0))], samples=64)
    assert reading.flash == (True,)
    assert reading.value[0, 0] == pytest.approx(2.5 * f_number**2, rel=2e-3)


def test_twice_as_far_is_two_stops_less():
    light = Emitter("l", "flash", "sphere", 1000.0, grids.flat(1.0), (0, 0, 0), UP, (0, 1, 0), size=(0.05, 0.05))
    spots = [Receptor((d, 0.0, 0.0), (-1.0, 0.0, 0.0)) for d in (1.0, 1.4142135, 2.0, 2.8284271, 4.0)]
    value = meter_scene(assemble([], (light,)), spots, samples=64).value[:, 0]
    assert np.log2(value[0] / value) == pytest.approx([0, 1, 2, 3, 4], abs=2e-3)


def test_ambient_and_flash_under_by_a_stop_each_make_the_whole():
    """1/60 s, f/8, ISO 100: as metered at one point, each in its own unit."""
    seconds, f_number, iso = 1 / 60, 8.0, 100.0
    steady_lux = float(light_for_stops(-1.0, seconds, f_number, iso))
    flash_lux_seconds = float(light_for_stops(-1.0, 1.0, f_number, iso))
    lamp = Emitter("lamp", "steady", "sphere", 1.0, grids.flat(1.0), (0, 0, 2), UP, (0, 1, 0), size=(0.05, 0.05))
    lights = (
        replace(lamp, flux=steady_lux * 4 * math.pi * 4),
        replace(lamp, name="head", kind="flash", at=(1.2, 0, 1.6), flux=flash_lux_seconds * 4 * math.pi * 4 / 0.8),
    )
    reading = meter_scene(assemble([], lights), [Receptor((0, 0, 0), UP)], samples=64)
    counted = reading.value[0] * np.where(reading.flash, 1.0, seconds)
    assert card_stops(counted, 1.0, f_number, iso) == pytest.approx([-1.0, -1.0], abs=5e-3)
    assert float(card_stops(counted.sum(), 1.0, f_number, iso)) == pytest.approx(0.0, abs=5e-3)


SUN_RADIUS = math.radians(0.5332 / 2)


def test_the_edge_of_a_shadow_is_as_soft_as_the_sun_is_wide():
    """Past an edge 3 m away 27.92 mm; across it as much as the edge leaves of a disc."""
    half = 3 * math.tan(SUN_RADIUS)
    assert 2000 * half == pytest.approx(27.92, abs=0.005)
    roof = Rectangle((-5, -5, 3), (5, 0, 0), (0, 10, 0))
    scene = PlainScene([roof], sky=Sky(5, zenith=0.0, to_sun=UP, sun=1e5))
    parts = (0.95, 0.6, 0.2, 0.0, -0.3, -0.7, -0.9)
    exact = [1e5 * (math.acos(u) - u * math.sqrt(1 - u * u)) / math.pi for u in parts]
    spots = [flat(-u * half, 0, 0) for u in parts]
    # the program's disc is 0.5330 degrees wide: 5 in 10 000 of the width, and the receptors are 0.05 mm up
    assert_reads(scene, spots, exact, relative_error=0.004, single=2e-3)
    dark, lit = read(scene, flat(-1.02 * half, 0, 0), flat(1.02 * half, 0, 0))
    assert dark.value == 0.0
    assert lit.value == pytest.approx(1e5, rel=1e-3)

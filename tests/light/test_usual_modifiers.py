"""The modifiers known by a name, heads that zoom, dishes with their deflector."""

import math
from dataclasses import replace
from typing import get_args

import numpy as np
import pytest

from sidelong.errors import InputFault
from sidelong.light.patterns import axial_intensity, front_area, illuminance_at, illuminance_on_axis
from sidelong.light.sheets import layer_of
from sidelong.light.strobe import at_zoom, emitter, guide_number, shaped
from sidelong.light.usual_modifiers import USUAL
from sidelong.light.values import Head, Modifier, Strobe
from sidelong.shoot.compose_modifier import PLAIN, compose_modifier
from sidelong.shoot.model_kit import ModifierKind, ModifierTable
from sidelong.spectra.finishes import is_finish

STROBE = Strobe("s", 200.0, efficacy=30.0)
ZOOM = Modifier("z", "reflector", "disc", (0.1, 0.1), zoom=((math.radians(25), 58.0), (math.radians(105), 24.0)))
HEADS = [m for m in USUAL.values() if m.kind in ("reflector", "front", "umbrella", "dish")]
SHEETS = [m for m in USUAL.values() if m.kind in ("scrim", "net", "panel", "flag")]


def test_the_file_knows_every_row_by_its_name():
    assert set(get_args(ModifierKind)) == {*USUAL, *PLAIN}


@pytest.mark.parametrize("row", HEADS, ids=lambda m: m.id)
def test_what_goes_before_a_head_lets_out_less_than_it_gets(row):
    light = emitter(Head("h", STROBE, (0, 0, 1), (0, 1, 1), row))
    assert 0 < light.flux < 6000
    assert axial_intensity(light) > 6000 / (4 * math.pi) * row.transmission * 0.3


@pytest.mark.parametrize("row", SHEETS, ids=lambda m: m.id)
def test_sheets_keep_energy(row):
    layer = layer_of(row)
    assert (layer.through + layer.back <= 1 + 1e-9).all()
    assert row.finish is None or is_finish(row.finish)


def test_what_the_file_states_goes_before_the_row():
    strip = compose_modifier(ModifierTable(id="s", kind="strip", size=[0.3, 1.8], grid=40), {})
    assert (strip.kind, strip.size, strip.transmission) == ("front", (0.3, 1.8), USUAL["strip"].transmission)
    assert strip.grid == pytest.approx(math.radians(40))
    scrim = compose_modifier(ModifierTable(id="s", kind="full scrim", transmission=0.8), {})
    assert scrim.transmission + scrim.reflectance <= 1
    gold = compose_modifier(ModifierTable(id="p", kind="panel", finish="gold"), {})
    assert (gold.finish, gold.reflectance) == ("gold", 0.0)


def test_a_head_gives_the_guide_number_of_its_zoom():
    for beam, number in ((25, 58), (105, 24), (65, math.sqrt(58 * 24))):
        zoomed = at_zoom(ZOOM, math.radians(beam))
        light = emitter(Head("h", STROBE, (0, 0, 1), (0, 1, 1), zoomed))
        assert guide_number(axial_intensity(light)) == pytest.approx(number, rel=1e-9)
        assert light.beam == pytest.approx(math.radians(beam))
    assert at_zoom(ZOOM, None).beam == pytest.approx(math.radians(25))
    with pytest.raises(InputFault, match="zooms from 25 to 105"):
        at_zoom(ZOOM, math.radians(120))
    with pytest.raises(InputFault, match="does not zoom"):
        at_zoom(USUAL["strip"], 0.5)


def test_an_umbrella_to_shoot_through_throws_some_light_back():
    umbrella = shaped(USUAL["shoot-through umbrella"])
    assert umbrella.flux == pytest.approx(0.75)
    assert axial_intensity(umbrella) == pytest.approx(0.45 / math.pi)
    forwards, backwards = illuminance_at(umbrella, [(0, 6.0, 0), (0, -6.0, 0)], [(0, -1.0, 0), (0, 1.0, 0)])
    assert backwards / forwards == pytest.approx(0.3 / 0.45)


def test_a_deflector_takes_the_middle_out_and_leaves_the_flux():
    dish = USUAL["beauty dish"]
    ring, disc = shaped(dish), shaped(replace(dish, deflector=0.0))
    assert ring.flux == disc.flux
    assert front_area(ring) == pytest.approx(front_area(disc) * (1 - (0.17 / 0.55) ** 2))
    near, far = (illuminance_on_axis(ring, d) / illuminance_on_axis(disc, d) for d in (0.25, 20.0))
    assert near < 0.97
    assert far == pytest.approx(1, abs=1e-3)
    flat = replace(ring, pattern="lambert")
    summed = replace(flat, grid=math.pi * 0.999999)
    here = np.array([0.3, 0.6, 0.1])
    assert illuminance_at(flat, here, -here) == pytest.approx(illuminance_at(summed, here, -here), rel=0.01)

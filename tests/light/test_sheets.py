"""Sheets one behind the other: scrims, nets, gels, flags, panels, as spectra."""

import numpy as np
import pytest

from sidelong.errors import InputFault
from sidelong.light.gel import transmittance
from sidelong.light.sheets import Layer, layer_of, piled, sheet_finish
from sidelong.light.values import Gel, Modifier
from sidelong.spectra.finishes import luminous_reflectance

SCRIM = Modifier("scrim", "scrim", transmission=0.35, reflectance=0.5)
NET = Modifier("net", "net", transmission=0.6)
CTO = Gel("cto", 160.0, 0.0, 0.6)


def even(straight, diffuse, back):
    return Layer(*(np.full(95, x) for x in (straight, diffuse, back)))


def test_two_scrims_by_stokes():
    finish = sheet_finish([SCRIM, Modifier("other", "scrim", transmission=0.35, reflectance=0.5)])
    assert finish.diffuse == pytest.approx(0.35**2 / (1 - 0.25), rel=1e-9)
    assert finish.straight == 0
    assert finish.reflectance.values == pytest.approx(0.5 + 0.35**2 * 0.5 / 0.75)
    assert finish.tint is None


def test_unequal_layers_pass_the_same_both_ways_and_lose_what_they_absorb():
    one, other = even(0.0, 0.5, 0.3), even(0.1, 0.2, 0.4)
    assert piled([one, other]).through == pytest.approx(piled([other, one]).through)
    assert piled([one, other]).back == pytest.approx(0.4 + 0.3**2 * 0.3 / (1 - 0.12))
    clear = even(0.0, 0.6, 0.4)
    pile = piled([clear] * 7)
    assert pile.through + pile.back == pytest.approx(1.0)


def test_a_gel_on_a_scrim_colours_what_goes_through():
    finish = sheet_finish([CTO, SCRIM])
    assert finish.straight == pytest.approx(0, abs=1e-12)
    assert finish.diffuse == pytest.approx(0.6 * 0.35, rel=2e-3)
    assert finish.tint is not None
    assert finish.tint.values * finish.diffuse == pytest.approx(0.35 * np.minimum(transmittance(CTO), 1))
    assert finish.reflectance.values == pytest.approx(0.5)


def test_nets_and_gels_go_straight():
    finish = sheet_finish([NET, CTO])
    assert finish.straight == pytest.approx(0.36, rel=2e-3)
    assert finish.diffuse == 0


def test_panels_of_silver_and_gold():
    silver = sheet_finish([Modifier("p", "panel", size=(1, 1), reflectance=0.0, finish="silver")])
    gold = sheet_finish([Modifier("p", "panel", size=(1, 1), reflectance=0.0, finish="gold")])
    assert silver.metal
    assert silver.roughness == gold.roughness == 0.5
    assert luminous_reflectance(silver.reflectance) == pytest.approx(0.85 * 0.916, abs=0.005)
    red, blue = gold.reflectance.at(np.array([650.0, 450.0]))
    assert red > 2 * blue
    dimmer = sheet_finish([Modifier("p", "panel", size=(1, 1), reflectance=0.4, finish="silver")])
    assert luminous_reflectance(dimmer.reflectance) == pytest.approx(0.4, abs=0.005)


def test_what_is_no_sheet():
    with pytest.raises(InputFault, match="reflector"):
        layer_of(Modifier("r", "reflector"))
    with pytest.raises(InputFault, match="together"):
        sheet_finish([Modifier("s", "scrim", transmission=0.7, reflectance=0.5)])

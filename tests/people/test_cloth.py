"""Finishes that people wear."""

import numpy as np
import pytest

from sidelong.errors import InputFault
from sidelong.people.cloth import SKINS, finish, names, skin_reflectance
from sidelong.people.outfits import OUTFITS, outfit

# CIE 1924 V(lambda) at 400..700 nm in steps of 50 nm, to weigh lightness
_EYE = np.array([0.0004, 0.038, 0.323, 0.995, 0.631, 0.107, 0.0041])


def _lightness(name: str) -> float:
    return float(finish(name).reflectance.at(np.arange(400.0, 701.0, 50.0)) @ _EYE / _EYE.sum())


@pytest.mark.parametrize("name", names())
def test_every_finish_covers_the_visible_and_reflects_between_nothing_and_all(name):
    made = finish(name)
    spectrum = made.reflectance
    assert spectrum.wavelengths[0] == 380.0
    assert spectrum.wavelengths[-1] == 780.0
    assert np.all(np.diff(spectrum.wavelengths) > 0)
    assert np.all((spectrum.values > 0.0) & (spectrum.values < 0.95))
    assert made.source
    assert made.name == name


def test_skins_darken_in_the_order_of_their_share_of_the_dark_patch():
    by_share = sorted(SKINS, key=lambda tone: SKINS[tone])
    lightness = [_lightness(f"skin {tone}") for tone in by_share]
    assert lightness == sorted(lightness, reverse=True)
    assert np.all(np.diff(skin_reflectance(0.5)[25:35]) > 0)  # skin rises through the red


def test_cloths_look_as_they_are_called():
    def at(name, wavelength):
        return float(finish(name).reflectance.at(np.array([float(wavelength)]))[0])

    assert at("oilskin yellow", 580) > 5 * at("oilskin yellow", 440)
    assert at("navy wool", 440) > 1.5 * at("navy wool", 620)
    assert at("rust canvas", 640) > 3 * at("rust canvas", 480)
    assert _lightness("black rubber") < 0.05 < _lightness("grey wool") < _lightness("undyed wool")


def test_an_unknown_finish_or_outfit_names_the_nearest():
    with pytest.raises(InputFault, match="navy wool"):
        finish("navy wol")
    with pytest.raises(InputFault, match="oilskins"):
        outfit("oilskin")


def test_every_outfit_is_made_of_known_finishes():
    for worn in OUTFITS.values():
        cloths = [*worn.top_cloth, *worn.trousers, *worn.under, *worn.apron]
        cloths += [cloth for _, cloth in (*worn.feet, *worn.headgear) if cloth]
        for cloth in cloths:
            assert finish(cloth).name == cloth

"""Finishes: within physical bounds, in the colours their names promise, found by name."""

import numpy as np
import pytest

from sidelong.errors import InputFault
from sidelong.spectra.finishes import FINISHES, WAVELENGTHS, finish, is_finish, luminous_reflectance


@pytest.mark.parametrize("name", FINISHES)
def test_every_finish_keeps_energy(name):
    f = finish(name)
    assert f.name == name
    assert (f.reflectance.values >= 0).all()
    assert (f.reflectance.values + f.straight + f.diffuse <= 1.0).all()
    assert 0 <= f.grain <= 1
    assert f.roughness is None or 0 <= f.roughness <= 1
    assert f.source


@pytest.mark.parametrize(
    # bounds of lighting handbooks' tables of typical luminous reflectances; from memory, common practice
    ("name", "low", "high"),
    [
        ("lime wash", 0.65, 0.80), ("white", 0.80, 0.90), ("concrete", 0.25, 0.40), ("red brick", 0.10, 0.30),
        ("asphalt", 0.05, 0.10), ("grass", 0.05, 0.15), ("bare timber", 0.35, 0.50), ("snow", 0.80, 0.95),
        ("black cloth", 0.01, 0.03), ("earth", 0.08, 0.25), ("water", 0.01, 0.05),
        ("foliage", 0.06, 0.12), ("dry foliage", 0.12, 0.25), ("bark", 0.08, 0.20), ("bare steel", 0.45, 0.60),
        ("silver", 0.75, 0.80), ("gold", 0.55, 0.70), ("copper", 0.50, 0.70),
    ],
)  # fmt: skip
def test_luminous_reflectance_is_of_the_usual_size(name, low, high):
    assert low < luminous_reflectance(finish(name).reflectance) < high


def at(name, nm):
    return float(finish(name).reflectance.at(np.array([nm]))[0])


def test_colours_are_what_their_names_say():
    assert at("float orange", 620) > 5 * at("float orange", 470)
    assert (
        at("painted timber sea green", 520)
        > at("painted timber sea green", 620)
        < at("painted timber sea green", 470)
    )
    assert at("net twine blue", 460) > 2 * at("net twine blue", 600)
    assert at("grass", 550) > at("grass", 670) < 0.2 * at("grass", 780)  # the hump and the edge of chlorophyll


def test_grey_by_number():
    assert finish("grey 0.5").reflectance.values == pytest.approx(0.5)
    assert finish("grey card").reflectance.values == pytest.approx(0.18)
    assert finish("ground 0.35").reflectance.values == pytest.approx(0.35)
    assert finish("black").reflectance.values.max() == 0.0


def test_glass_by_number():
    pane = finish("glass 0.86")
    assert (pane.straight, pane.reflectance.values.max(), pane.roughness) == (0.86, 0.0, 0.0)


def test_dark_is_two_fifths():
    assert finish("dark old planks").reflectance.values == pytest.approx(
        0.4 * finish("old planks").reflectance.values
    )
    assert finish("dark beam").grain > 0  # a finish of its own


@pytest.mark.parametrize(
    "name", ["grey 1.2", "grey -1", "grey nan", "grey x", "glass inf", "limewash", "", "dark", "grey 0.5 0.5"]
)
def test_what_is_no_finish(name):
    assert not is_finish(name)
    with pytest.raises(InputFault):
        finish(name)


def test_the_nearest_is_named():
    with pytest.raises(InputFault, match='nearest is "lime wash"'):
        finish("limewash")


def test_grid():
    assert (finish("brick").reflectance.wavelengths == WAVELENGTHS).all()
    assert len(WAVELENGTHS) == 41

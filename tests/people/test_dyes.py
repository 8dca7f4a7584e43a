"""Cloth by dye and fibre: Kubelka and Munk's law, colours as their names say, clothes of the shoot file."""

import numpy as np
import pytest

from sidelong.errors import InputFault
from sidelong.people.cloth import finish, names
from sidelong.people.dyes import DYES, FIBRES, WAVELENGTHS, dyed, parted
from sidelong.people.outfits import is_outfit, outfit


def at(values, nm):
    return float(values[int(np.argmin(np.abs(WAVELENGTHS - nm)))])


@pytest.mark.parametrize("fibre", FIBRES)
@pytest.mark.parametrize("dye", DYES)
def test_every_cloth_keeps_energy_and_is_darker_than_its_fibre(dye, fibre):
    values = finish(f"{dye} {fibre}").reflectance.values
    assert (values > 0).all()
    assert (values <= dyed(1.0, "undyed", fibre) + 1e-12).all()
    assert f"{dye} {fibre}" in names()


def test_a_worked_number_of_the_law():
    """q = 1 gives 2 - sqrt 3 = 0.2679; a bath of half the depth gives half the absorption over the fibre's."""
    undyed, full, half = (dyed(d, "madder", "cotton") for d in (0.0, 1.0, 0.5))
    q = [(1 - r) ** 2 / (2 * r) for r in (undyed, full, half)]
    assert q[1] - q[0] == pytest.approx(2 * (q[2] - q[0]))
    assert 1 + 1 - np.sqrt(1 + 2) == pytest.approx(0.2679, abs=1e-4)


def test_colours_are_what_the_dyes_are_known_for():
    wools = (finish(f"{dye} wool").reflectance.values for dye in ("indigo", "madder", "weld", "sulphur black"))
    indigo, madder, weld, black = wools
    assert at(indigo, 450) > 2 * at(indigo, 650)
    assert at(madder, 640) > 4 * at(madder, 500)
    assert at(weld, 600) > 4 * at(weld, 420)
    assert black.max() < 0.05
    pale, deep = (finish(f"{bath} indigo linen").reflectance.values for bath in ("pale", "deep"))
    assert at(pale, 650) > 2 * at(deep, 650)


def test_names_that_are_no_cloth():
    assert parted("navy wool") is None
    assert parted("pale undyed wool") is None
    assert parted("indigo steel") is None
    with pytest.raises(InputFault, match="madder"):
        finish("maddder wool")


def test_clothes_in_a_cloth():
    assert outfit("jersey in deep madder wool").top_cloth == ("deep madder wool",)
    assert is_outfit("coat in navy wool")
    assert not is_outfit("coat in tin")
    assert not is_outfit("tunic in madder wool")

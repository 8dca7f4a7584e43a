"""EULUMDAT (Stockmar 1990): files written here from closed-form distributions, every symmetry, summed to the flux
that they state: light output ratio times the lumens of the lamps. Fluxes as in test_ieslm63.py.
"""

import math

import numpy as np
import pytest

from sidelong.errors import LuminaireFault
from sidelong.light.distribution import intensity, total_flux
from sidelong.light.luminaire_file import read_luminaire

GAMMA = np.arange(0, 180.1, 2.5)


def lobes(c, a=0.5):
    """Candelas per 1000 lm: 0.6 of them leave, whatever `a` is."""
    turn = np.radians(np.asarray(c, float))[:, None]
    return 600 / math.pi**2 * (1 + a * np.cos(2 * turn)) * np.sin(np.radians(GAMMA))


def ldt(symmetry, planes, candela, flux=2500.0, ratio=60.0):
    rows = ["nobody", "1", str(symmetry), str(len(planes)), "15", str(len(GAMMA)), "2.5", "r", "lobes", "n", "f", "d"]
    rows += ["600", "300", "50", "400", "200", "0", "0", "0", "0", "50", f"{ratio}", "1.0", "0", "1"]
    rows += ["1", "tube", f"{flux}", "warm", "1B", "36", *["0.5"] * 10]
    rows += [f"{c:g}" for c in planes] + [f"{g:g}" for g in GAMMA]
    return "\r\n".join([*rows, *(f"{x:.6f}" for x in np.asarray(candela).ravel())]) + "\r\n"


PLANES = np.arange(0, 360, 15)
STORED = {0: PLANES, 1: [0], 2: np.arange(0, 181, 15), 3: np.arange(270, 451, 15), 4: np.arange(0, 91, 15)}


@pytest.mark.parametrize("symmetry", STORED)
def test_every_symmetry_is_summed_to_the_stated_flux(symmetry):
    a = 0.0 if symmetry == 1 else 0.5
    light = read_luminaire("lobes.ldt", ldt(symmetry, PLANES, lobes(STORED[symmetry], a)))
    assert light.stated_ratio == pytest.approx(0.6)
    assert light.lamp_flux == 2500
    assert total_flux(light) == pytest.approx(0.6 * 2500, rel=1e-3)
    turns = np.array([0.0, 45.0, 100.0, 190.0, 275.0, 350.0])
    grid = np.interp(turns % 15, [0, 15], [0, 1])
    low, high = lobes(turns - turns % 15, a), lobes(turns - turns % 15 + 15, a)
    exact = 2.5 * (low + grid[:, None] * (high - low))[:, 20]
    assert intensity(light, math.radians(50), np.radians(turns)) == pytest.approx(exact, rel=1e-5)


def test_planes_of_symmetry_are_the_right_ones():
    c = np.radians(np.asarray(STORED[2], float))[:, None]
    light = read_luminaire("a.ldt", ldt(2, PLANES, (2 + np.cos(c)) * np.ones(len(GAMMA)), 1000))
    assert intensity(light, 1.0, np.radians([0.0, 180.0, 60.0, 300.0])) == pytest.approx([3, 1, 2.5, 2.5])
    c = np.radians(np.asarray(STORED[3], float))[:, None]
    light = read_luminaire("a.ldt", ldt(3, PLANES, (2 + np.sin(c)) * np.ones(len(GAMMA)), 1000))
    assert intensity(light, 1.0, np.radians([90.0, 270.0, 30.0, 150.0])) == pytest.approx([3, 1, 2.5, 2.5])


def test_size_lies_along_the_planes_that_it_belongs_to():
    light = read_luminaire("a.ldt", ldt(1, PLANES, lobes([0], 0)))
    assert light.size == (0.2, 0.4)
    assert not light.round
    disc = ldt(1, PLANES, lobes([0], 0)).replace("400\r\n200", "400\r\n0")
    assert read_luminaire("a.ldt", disc).round


FAULTS = {
    "symmetry": (lambda t: t.replace("1\r\n4\r\n24", "1\r\n7\r\n24"), 3, "8"),
    "planes": (lambda t: t.replace("1\r\n4\r\n24", "1\r\n4\r\n23"), 4, "23 C planes"),
    "cut off": (lambda t: t[: len(t) // 2], None, "the end of the file"),
    "a word": (lambda t: t.replace("\r\n177.5\r\n", "\r\nnone\r\n"), None, '"none"'),
    "no lumens": (lambda t: t.replace("2500.0", "0"), 29, "0 lumens"),
    "empty": (lambda t: "", 0, "the end of the file"),
}


@pytest.mark.parametrize(("spoil", "line", "words"), FAULTS.values(), ids=list(FAULTS))
def test_what_is_wrong_is_told_with_its_line(spoil, line, words):
    with pytest.raises(LuminaireFault) as caught:
        read_luminaire("bad.ldt", spoil(ldt(4, PLANES, lobes(STORED[4]))))
    assert line is None or caught.value.fault.line == line
    assert words in str(caught.value)

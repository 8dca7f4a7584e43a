"""ANSI/IES LM-63-02 and -19: files written here from closed-form distributions, read, and summed to their flux.

Fluxes: I = I0 cos^n gives 2 pi I0 / (n + 1) over the front; I = I0 (1 + a cos 2C) sin gamma over the sphere gives
pi^2 I0 whatever a is; the bilinear sum over 2.5 degrees by 15 degrees is within 0.1 % of them.
"""

import math

import numpy as np
import pytest

from sidelong.errors import LuminaireFault
from sidelong.light.distribution import from_front, intensity, total_flux
from sidelong.light.luminaire_file import read_luminaire

FORWARD = np.arange(0, 90.1, 2.5)
ALL = np.arange(0, 180.1, 2.5)


def lm63(vertical, horizontal, candela, head="IESNA:LM-63-2002", lumens=-1, size=(0.2, 0.4, 0), units=2, kind=1):
    rows = [head, "[TEST] a distribution in closed form", "TILT=NONE"]
    rows.append(f"1 {lumens} 1 {len(vertical)} {len(horizontal)} {kind} {units} {size[0]} {size[1]} {size[2]}")
    rows.append("1 1 100")
    rows += [" ".join(f"{x:g}" for x in values) for values in (vertical, horizontal, *candela)]
    return "\n".join(rows) + "\n"


def cosine_power(n, horizontal=(0,), candela=1000.0):
    values = candela * np.cos(np.radians(FORWARD)).clip(0) ** n
    return lm63(FORWARD, horizontal, [values for _ in horizontal])


def two_lobed(horizontal, a=0.5, candela=500.0):
    c = np.radians(np.asarray(horizontal, float))[:, None]
    return lm63(ALL, horizontal, candela * (1 + a * np.cos(2 * c)) * np.sin(np.radians(ALL)))


@pytest.mark.parametrize("n", [1, 4, 30])
def test_cosine_powers_give_their_flux(n):
    light = read_luminaire("spot.ies", cosine_power(n))
    assert total_flux(light) == pytest.approx(2 * math.pi * 1000 / (n + 1), rel=1.5e-3 if n < 10 else 1e-2)
    assert from_front(light)
    assert light.lamp_flux is None


@pytest.mark.parametrize(
    "horizontal", [np.arange(0, 90.1, 15), np.arange(0, 180.1, 15), np.arange(90, 270.1, 15), np.arange(0, 360.1, 15)]
)
def test_every_symmetry_gives_the_same_whole(horizontal):
    light = read_luminaire("lobes.ies", two_lobed(horizontal))
    assert total_flux(light) == pytest.approx(math.pi**2 * 500, rel=1e-3)
    assert not from_front(light)
    turns = np.radians([0.0, 30.0, 75.0, 120.0, 180.0, 225.0, 300.0, 345.0])
    exact = 500 * (1 + 0.5 * np.cos(2 * turns)) * math.sin(math.radians(70))
    assert intensity(light, math.radians(70), turns) == pytest.approx(exact, rel=5e-6)  # the file has six digits


def test_two_planes_of_symmetry_are_not_confused():
    horizontal = np.arange(0, 180.1, 15)
    lean = 100 * (2 + np.cos(np.radians(horizontal)))[:, None] * np.ones_like(FORWARD)
    light = read_luminaire("lean.ies", lm63(FORWARD, horizontal, lean))
    assert intensity(light, 0.5, np.radians([0.0, 180.0, 60.0, 300.0])) == pytest.approx([300, 100, 250, 250])
    horizontal = np.arange(90, 270.1, 15)
    lean = 100 * (2 + np.sin(np.radians(horizontal)))[:, None] * np.ones_like(FORWARD)
    light = read_luminaire("lean.ies", lm63(FORWARD, horizontal, lean))
    assert intensity(light, 0.5, np.radians([90.0, 270.0, 150.0, 30.0])) == pytest.approx([300, 100, 250, 250])


def test_lumens_factors_units_and_the_edition_of_2019():
    text = cosine_power(1).replace("IESNA:LM-63-2002", "IES:LM-63-2019").replace("1 -1 1", "2 1500 0.5", 1)
    light = read_luminaire(
        "a.IES", text.replace(" 1 2 0.2 0.4 0", " 1 1 -1 -1 0").replace("\n1 1 100", "\n0.8 1.1 9")
    )
    assert total_flux(light) == pytest.approx(math.pi * 1000 * 0.5 * 0.8, rel=1.5e-3)
    assert light.lamp_flux == 3000
    assert light.round
    assert light.size == pytest.approx((0.3048, 0.3048))


def test_tilt_included_is_passed_over_and_lines_may_break_anywhere():
    text = cosine_power(2).replace("TILT=NONE", "TILT=INCLUDE\n1\n3\n0 45 90\n1 .9 .8")
    light = read_luminaire("a.ies", text.replace(" ", "\n", 1).replace(" 900", "\n 900"))
    assert total_flux(light) == pytest.approx(2 * math.pi * 1000 / 3, rel=1.5e-3)


FAULTS = {
    "type B": (lambda t: t.replace(" 1 2 0.2", " 2 2 0.2"), 4, "photometry of type B"),
    "no tilt": (lambda t: t.replace("TILT=NONE", "LAMP"), 0, "TILT="),
    "letters": (lambda t: t.replace("\n1 1 100", "\n1 one 100"), 5, '"one"'),
    "cut off": (lambda t: "\n".join(t.splitlines()[:-1]), 7, "the end of the file"),
    "not growing": (lambda t: t.replace("2.5 5 7.5", "2.5 7.5 5"), 6, "5 after 7.5"),
    "negative": (lambda t: t.replace("\n1000 ", "\n-1000 "), 8, "-1000"),
    "infinite": (lambda t: t.replace("\n1000 ", "\n1e999 "), 8, "1e999"),
    "half a sphere": (lambda t: t.replace("87.5 90\n", "87.5 89\n"), 6, "from 0 to 89"),
    "a million angles": (lambda t: t.replace("1 -1 1 37", "1 -1 1 1000000"), 4, "1e+06"),
    "no light": (lambda t: t.replace("1 -1 1 37", "1 -1 0 37"), 5, "a factor of 0"),
    "empty": (lambda t: "", 0, "TILT="),
    "odd planes": (lambda t: two_lobed([0, 45, 100]), 7, "no symmetry"),
}


@pytest.mark.parametrize(("spoil", "line", "words"), FAULTS.values(), ids=list(FAULTS))
def test_what_is_wrong_is_told_with_its_line(spoil, line, words):
    with pytest.raises(LuminaireFault) as caught:
        read_luminaire("bad.ies", spoil(cosine_power(1)))
    assert caught.value.fault.line == line
    assert words in str(caught.value)


def test_another_ending_and_a_huge_file():
    with pytest.raises(LuminaireFault, match="another kind"):
        read_luminaire("a.txt", cosine_power(1))
    with pytest.raises(LuminaireFault, match="at most"):
        read_luminaire("a.ies", " " * 5_000_000)

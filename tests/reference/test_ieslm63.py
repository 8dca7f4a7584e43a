"""ANSI/IES LM-63-02 and -19: files written here from closed-form distributions, read, and summed to their flux.

Fluxes: I = I0 cos^n gives 2 pi I0 / (n + 1) over the front; I = I0 (1 + a cos 2C) sin gamma over the sphere gives
pi^2 I0 whatever a is; the bilinear sum over 2.5 degrees by 15 degrees is within 0.1 % of them.
"""

import math

import numpy as np
import pytest

from sidelong.errors import LuminaireFault
from sidelong.light.distribution import from_front, intensity, tilted, total_flux
from sidelong.light.luminaire_file import read_luminaire
from sidelong.light.strobe import emitter
from sidelong.light.values import Head, Modifier, Strobe

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


def test_tilt_is_included_and_lines_may_break_anywhere():
    """Factors of 1, 0.9 and 0.8 at 0, 45 and 90 degrees from straight down: what is turned level burns at 0.8."""
    text = cosine_power(2).replace("TILT=NONE", "TILT=INCLUDE\n1\n3\n0 45 90\n1 .9 .8")
    light = read_luminaire("a.ies", text.replace(" ", "\n", 1).replace(" 900", "\n 900"))
    assert total_flux(light) == pytest.approx(2 * math.pi * 1000 / 3, rel=1.5e-3)
    for height, factor in ((-90, 1.0), (-67.5, 0.95), (-45, 0.9), (0, 0.8), (30, 0.8)):
        assert tilted(light, math.radians(height)) == pytest.approx(factor)
    assert tilted(read_luminaire("a.ies", cosine_power(2)), 0.0) == 1.0


def test_a_head_burns_as_its_tilt_says():
    """The same head and file, aimed straight down and level: fluxes as the factors of 1 and 0.8."""
    text = cosine_power(2).replace("TILT=NONE", "TILT=INCLUDE\n1\n3\n0 45 90\n1 .9 .8")
    modifier = Modifier("m", "reflector", pattern=read_luminaire("a.ies", text))
    strobe = Strobe("s", 400.0, efficacy=40.0)
    down, level = (
        emitter(Head("h", strobe, (0.0, 0.0, 3.0), aim, modifier)).flux for aim in ((0.0, 0.0, 0.0), (5.0, 0.0, 3.0))
    )
    assert level / down == pytest.approx(0.8)


DEGREES = np.arange(-90, 90.1, 2.5)


def of_type(kind, intensity_of, across=DEGREES, up=DEGREES, size=(0.2, 0.4, 0)):
    """A file whose intensity is a function of the unit vector's parts along the axis, right and up."""
    h, v = np.meshgrid(np.radians(across), np.radians(up), indexing="ij")
    if kind == 2:
        parts = np.cos(h) * np.cos(v), np.sin(h), np.cos(h) * np.sin(v)
    else:
        parts = np.cos(v) * np.cos(h), np.cos(v) * np.sin(h), np.sin(v)
    return lm63(up, across, intensity_of(*parts), kind=kind, size=size)


@pytest.mark.parametrize("kind", [2, 3])
def test_types_a_and_b_give_what_they_were_written_from(kind):
    """LM-63-02, section 3: planes of type A share an upright axis, of type B a level one; horizontals clockwise."""

    def lobe(along, right, up):
        return 1000 * along.clip(0) * (1 + 0.5 * right + 0.25 * up)

    light = read_luminaire("lobe.ies", of_type(kind, lobe))
    # the lopsided parts cancel: pi I0, as of a Lambertian front
    assert total_flux(light) == pytest.approx(math.pi * 1000, rel=2e-3)
    for g, c in ((0.0, 0.0), (30.0, 0.0), (30.0, 90.0), (50.0, 200.0), (70.0, 315.0), (80.0, 120.0)):
        gamma, turn = math.radians(g), math.radians(c)
        right, up = math.sin(gamma) * math.cos(turn), math.sin(gamma) * math.sin(turn)
        assert intensity(light, gamma, turn) == pytest.approx(lobe(np.array(math.cos(gamma)), right, up), abs=2.5)
    assert intensity(light, math.radians(120), 0.3) == 0.0
    assert light.size == pytest.approx((0.2, 0.4))


@pytest.mark.parametrize("kind", [2, 3])
def test_a_quarter_stands_for_both_sides_and_what_is_not_stated_is_dark(kind):
    half = np.arange(0, 60.1, 2.5)
    light = read_luminaire("q.ies", of_type(kind, lambda along, right, up: 100 * along, half, half))
    for turn in np.radians([20.0, 160.0, 200.0, 340.0]):
        assert intensity(light, math.radians(40), turn) == pytest.approx(100 * math.cos(math.radians(40)), abs=0.2)
    assert intensity(light, math.radians(75), 0.0) == 0.0


def test_angles_of_types_a_and_b_that_are_no_such():
    for across in (np.arange(-60, 90.1, 15), np.arange(0, 180.1, 15)):
        with pytest.raises(LuminaireFault, match="angles of type A or B"):
            read_luminaire("bad.ies", lm63(DEGREES, across, np.ones((len(across), len(DEGREES))), kind=2))


FAULTS = {
    "type D": (lambda t: t.replace(" 1 2 0.2", " 4 2 0.2"), 4, "photometry of type C, B or A"),
    "a tilt under nothing": (lambda t: t.replace("TILT=NONE", "TILT=INCLUDE\n1\n2\n0 90\n1 -1"), 7, "a factor of -1"),
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

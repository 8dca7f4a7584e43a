"""Luminaire files that are spoilt anyhow give a distribution of finite light, or a fault with its line."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from sidelong.errors import LuminaireFault
from sidelong.light.distribution import from_front, regular_table, total_flux
from sidelong.light.luminaire_file import read_luminaire

_ANGLES = " ".join(str(a) for a in range(0, 181, 30))
LM63 = "\n".join(
    ["IES:LM-63-2019", "[TEST] none", "TILT=NONE", "1 900 1 7 3 1 2 0.2 0.4 0", "1 1.1 50", _ANGLES, "0 45 90"]
    + ["100 90 70 30 10 5 0"] * 3
)
EULUMDAT = "\n".join(
    ["nobody", "1", "4", "8", "45", "7", "30", "r", "n", "n", "f", "d", "600", "300", "50", "400", "200", *["0"] * 4]
    + ["50", "60", "1", "0", "1", "1", "tube", "2500", "warm", "1B", "36", *["0.5"] * 10]
    + [str(c) for c in range(0, 360, 45)]
    + [str(g) for g in range(0, 181, 30)]
    + ["100", "90", "70", "30", "10", "5", "0"] * 3
)
WORDS = st.sampled_from(
    ["", "-1", "0", "1e400", "nan", "x", "1000000", "-0.5", "90", "TILT=INCLUDE", "1 2 3", "\x00", "½"]
)


@st.composite
def spoilt(draw, text):
    rows = text.split("\n")
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(rows) - 1))
        kind = draw(st.sampled_from(["word", "row", "gone", "twice", "cut"]))
        if kind == "word":
            words = rows[at].split(" ")
            words[draw(st.integers(0, len(words) - 1))] = draw(WORDS)
            rows[at] = " ".join(words)
        elif kind == "row":
            rows[at] = draw(WORDS)
        elif kind == "gone" and len(rows) > 1:
            del rows[at]
        elif kind == "twice":
            rows.insert(at, rows[at])
        else:
            rows = rows[: at + 1]
    return "\n".join(rows)


def _either(name, text):
    try:
        light = read_luminaire(name, text)
    except LuminaireFault as error:
        refused = error.fault
    else:
        refused = None
    if refused is not None:
        assert refused.file == name
        assert 0 <= refused.line <= len(text.splitlines()) + 1
        return
    assert np.isfinite(total_flux(light))
    assert total_flux(light) > 0
    table = regular_table(light)
    assert np.isfinite(table).all()
    assert from_front(light) in (True, False)


def test_the_unspoilt_files_are_read():
    assert total_flux(read_luminaire("a.ies", LM63)) > 0
    assert total_flux(read_luminaire("a.ldt", EULUMDAT)) > 0


@settings(deadline=None, max_examples=150)
@given(spoilt(LM63))
def test_lm63(text):
    _either("a.ies", text)


@settings(deadline=None, max_examples=150)
@given(spoilt(EULUMDAT))
def test_eulumdat(text):
    _either("a.ldt", text)


@settings(deadline=None, max_examples=60)
@given(st.text(max_size=400), st.sampled_from(["a.ies", "a.ldt"]))
def test_any_text(text, name):
    _either(name, text)

"""Rows and words of the tables."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime

import pytest

from sidelong.colour.light_colour import LightColour
from sidelong.sheet.tables import colour_in_words, focus_rows, head_rows, light_tables, settings_card
from sidelong.sheet.wording import breakable, day_in_words, illuminance, micrometres, millimetres, signed, true_minus


@pytest.mark.parametrize(
    ("value", "digits", "words"),
    [(0.31, 1, "+0.3"), (-1.76, 1, "\u22121.8"), (-0.04, 1, "0.0"), (-math.inf, 1, "\u2013"), (0.0031, 4, "+0.0031")],
)
def test_signed(value, digits, words):
    assert signed(value, digits) == words


def test_a_sign_before_a_number_is_a_true_minus_and_a_hyphen_stays():
    assert (
        true_minus("key: -0.3 at Ada, f/2.8-4, 2026-03-14, LM-63")
        == "key: \u22120.3 at Ada, f/2.8-4, 2026-03-14, LM-63"
    )


@pytest.mark.parametrize(
    ("metres", "words"), [(29e-6, "29"), (4.06e-6, "4.1"), (None, "\u2013"), (math.inf, "\u2013")]
)
def test_micrometres(metres, words):
    assert micrometres(metres) == words


@pytest.mark.parametrize(("metres", "words"), [(0.0004, "0.40"), (0.0042, "4.2"), (0.017, "17"), (None, "\u2013")])
def test_millimetres(metres, words):
    assert millimetres(metres) == words


@pytest.mark.parametrize(
    ("lux", "words"), [(61234, "61\u2009000 lx"), (3.71, "3.7 lx"), (0, "none"), (math.nan, "none"), (96, "96 lx")]
)
def test_illuminance(lux, words):
    assert illuminance(lux) == words


def test_day_does_not_follow_the_machine():
    assert day_in_words(datetime(2026, 3, 14, 7, 5)) == "Saturday 14 March 2026"


def test_long_runs_can_be_broken():
    assert breakable("W" * 60).replace("\u200b", "") == "W" * 60
    assert max(map(len, breakable("W" * 60).split("\u200b"))) == 22
    assert breakable("a few short words") == "a few short words"


def test_settings_card(loft):
    card = dict(settings_card(loft[1][0]))
    assert card["Movement"] == "Swing 1.40° to the left"
    assert card["Stop"] == "f/2.8"
    assert card["Shutter"] == "1/200 s"
    assert card["ISO"] == "160"
    straight = dict(settings_card(loft[1][3]))
    assert straight["Movement"] == "Lens straight"
    assert "Or, one\u00a0hinge".replace(" ", "\u00a0") not in straight


def test_verdicts(loft):
    shoot, focus = loft[0], loft[1][0].focus
    rows = {row["name"]: row for row in focus_rows(shoot, focus)}
    assert rows["Signe"]["verdict"] == "as wanted"
    assert rows["Skipper Torvald"]["verdict"] == "as wanted"
    assert rows["boots"]["verdict"] == ""
    points = tuple(replace(p, blur_major=1e-3) if p.name == "Signe" else p for p in focus.points)
    assert focus_rows(shoot, replace(focus, points=points))[0]["verdict"] == "not as wanted"
    behind = tuple(replace(p, blur_major=None, blur_minor=None, blur_at_subject=None) for p in focus.points)
    assert focus_rows(shoot, replace(focus, points=behind))[0]["patch"] == "\u2013"


def test_light_is_split_when_there_are_many(build):
    _, plans = build(shots=1)
    plan = plans[0]
    many = tuple(replace(plan.light.points[0].lights[0], light=f"head {k}") for k in range(14))
    points = tuple(replace(p, lights=many) for p in plan.light.points)
    tables = light_tables(replace(plan, light=replace(plan.light, points=points)))
    assert [len(t["heads"]) for t in tables] == [6, 6, 5]
    assert [t["totals"] for t in tables] == [False, False, True]
    assert all(len(r["cells"]) == len(t["heads"]) for t in tables for r in t["rows"])


def test_light_that_is_missing_is_a_dash(loft):
    table = light_tables(loft[1][0])[0]
    assert table["heads"] == ["key", "rim", "sky", "sun", "ambient", "flash", "all"]
    assert table["rows"][0]["cells"][3] == "\u2013"


def test_heads(loft):
    row = head_rows(loft[1][0])[0]
    assert (row["name"], row["power"], row["stops"], row["energy"]) == ("key", "1/4", "\u22122.0", "100 J")
    assert row["gel"] == "half cto"
    assert row["before"] == "front 90"
    assert row["at"] == "2.60, 0.70, 1.85"


@pytest.mark.parametrize(
    ("mired", "duv", "words"),
    [(-131, 0.003, "131 mired colder than the balance, a little green"), (3, 0.0, "neutral"),
     (60, -0.009, "60 mired warmer than the balance, magenta")],
)  # fmt: skip
def test_colour_in_words(mired, duv, words):
    assert colour_in_words(LightColour("x", 5000.0, duv, mired, (1, 2, 3), 0.0)) == words

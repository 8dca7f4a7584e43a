"""The drawing in character cells: it fits, tells who is sharp, and does without Unicode where it must."""

from __future__ import annotations

import unicodedata

import pytest

from sidelong.sheet.drawing import Drawing, Line, Text
from sidelong.sheet.elevation_view import elevation_of_shot
from sidelong.sheet.plan_view import plan_of_shot
from sidelong.sheet.terminal import terminal_drawing


def cells(line):
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in line)


@pytest.mark.parametrize(("columns", "rows"), [(76, 20), (40, 12), (120, 40), (20, 5)])
@pytest.mark.parametrize("unicode", [True, False])
def test_fits(loft, columns, rows, unicode):
    for plan in loft[1][:2]:
        for drawing in (plan_of_shot(plan), elevation_of_shot(plan)):
            lines = terminal_drawing(drawing, columns, rows, unicode).splitlines()
            assert len(lines) <= rows
            assert max(map(cells, lines)) <= columns


def test_ascii_is_ascii(loft):
    terminal_drawing(plan_of_shot(loft[1][0]), unicode=False).encode("ascii")


def test_signs_of_who_is_sharp(loft):
    text = terminal_drawing(plan_of_shot(loft[1][0]))
    drawn = text.rsplit("\n", 1)[0]
    assert drawn.count("●") == 5
    assert drawn.count("○") == 1
    assert drawn.count("▣") == 1
    assert drawn.count("✦") == 2
    assert "Signe, sharp" in drawn
    assert text.rsplit("\n", 1)[1].startswith("● sharp")


def test_plane_of_focus_is_an_unbroken_line():
    """A level line over the whole width: every cell of one row carries dots."""
    drawing = Drawing("", (Line(((0.0, 0.5), (10.0, 0.5)), "plane of focus"),), (0.0, 0.0, 10.0, 1.0))
    rows = terminal_drawing(drawing, 40, 8).splitlines()[:-1]
    line = next(row for row in rows if row.strip())
    assert len(line) >= 39
    assert all(0x2800 < ord(c) <= 0x28FF for c in line)


@pytest.mark.parametrize("words", ["名前は長い", "e\u0301clair", "\x1b[31mred", "שלום", "😀" * 40])
def test_foreign_words_fit_and_carry_no_control_signs(words):
    shapes = (Line(((0.0, 0.0), (4.0, 0.0)), "wall"), Text((2.0, 0.5), words, "person"))
    text = terminal_drawing(Drawing("", shapes, (0, 0, 4, 1)), 30, 8)
    assert all(cells(line) <= 30 for line in text.splitlines())
    assert "\x1b" not in text


def test_nothing_to_draw():
    assert terminal_drawing(Drawing("", (), (0, 0, 1, 1)), 30, 8).splitlines()

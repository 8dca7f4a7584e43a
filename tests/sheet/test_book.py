"""The book: pages, words, paper, fixed bytes; hostile and empty input; written whole or not at all."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from sidelong.plan.meters import Amount, Face, SpotReading
from sidelong.sheet.book import book, write_whole
from sidelong.sheet.values import A4, LETTER, Extras, KitRow, Notice

HOSTILE = [
    '"double" and \'single\' quotes', "#set page(width: 1mm)", "$ sum_(k=0)^n $", "back\\slash \\u{41}",
    "*bold* _it_ `raw`", "<label> @ref // comment", "שלום עולם", "مرحبا بالعالم",
    "😀 family 👩\u200d👩\u200d👦", "W" * 300,
    "many words " * 30,
]  # fmt: skip


def text_of(pdf, page=None):
    document = pypdfium2.PdfDocument(pdf)
    pages = range(len(document)) if page is None else [page]
    return "\n".join(document[k].get_textpage().get_text_range() for k in pages).replace("\u200b", "")


def extras(pictures=None):
    kit = (
        KitRow("lens", "swing-45", (1, 2), True, False, 34.0, 0.85),
        KitRow("strobe", "key", (1,), True, True, 0.0, 3.1),
        KitRow("gel", "spare gel", (), False, True, 0.0, 0.0),
    )
    return Extras(
        pictures or {}, (Notice("Haze", "Ask the venue.", "Printed because of haze.", ("A source.",)),), kit
    )


def clipped_ink(pdf):
    """Share of pages with ink in the outermost 4 mm, where nothing may be. [-]"""
    document = pypdfium2.PdfDocument(pdf)
    faults = []
    for k in range(len(document)):
        grey = np.asarray(document[k].render(scale=1.0, grayscale=True).to_pil())
        edge = 11
        rim = np.concatenate(
            [grey[:edge].ravel(), grey[-edge:].ravel(), grey[:, :edge].ravel(), grey[:, -edge:].ravel()]
        )
        if rim.min() < 200:
            faults.append(k + 1)
    return faults


def test_meters_have_a_page_and_what_gets_into_the_picture_stands_with_the_shot(loft):
    """Each meter with its statistical error, each face with that of its contrast."""
    shoot, plans = loft
    plan = plans[0]
    names = [point.name for point in plan.light.points]
    face = Face(Amount(100.0, 2.0, 1.0, 0.02), Amount(50.0, 1.0, 0.5, 0.01), (("key", 0.004),))
    readings = (
        SpotReading(names[0], Amount(12.5, 0.5, 0.25, 0.01), face),
        *(SpotReading(n, Amount(3.0, 0.0, 0.1, 0.0), None) for n in names[1:]),
    )
    more = replace(
        extras(), meters={plan.shot.id: readings}, in_picture={plan.shot.id: ("the stand of key is in the picture",)}
    )
    pdf = book(shoot, plans, more)
    assert "Shot 1 of 4, for the meter" in text_of(pdf, 2 + 2 * len(plans))  # after every shot's own leaf
    text = " ".join(text_of(pdf).split())
    assert "What meters show" in text
    assert f"±{readings[0].luminance.error(plan.light.shutter):.2f}" in text
    assert f"{names[0]} left 1.0 ±{face.contrast_error(plan.light.shutter):.2f} 4.0" in text
    assert "On the day" in text
    assert "the stand of key is in the picture" in text
    assert "What meters show" not in text_of(book(*loft, extras()))


def test_pages_and_words(loft):
    """Cover, place, a leaf (two pages) for each of four shots, kit, cautions."""
    pdf = book(*loft, extras())
    assert len(pypdfium2.PdfDocument(pdf)) == 12
    cover, place = text_of(pdf, 0), text_of(pdf, 1)
    assert "Net loft" in cover
    assert "Harbour museum" in cover
    assert "Friday 14 March 2025" in cover
    assert "bench-1" in cover
    assert "bench-4" in cover
    assert "Scale 1:60 on A4" in place
    assert "61\u2009000 lx" in place
    assert "141°" in place
    front, back = text_of(pdf, 2), text_of(pdf, 3)
    for words in (
        "Swing 1.40° to the left",
        "f/2.8",
        "1/200 s",
        "160",
        "4300 K",
        "on Signe's eyes; ring at",
        "Meter with the lens straight",
    ):
        assert words in front, words
    for words in (
        "Signe",
        "as wanted",
        "1/4",
        "half cto",
        "131 mired colder than the balance",
        "92 122 158",
        "\u22121.8",
    ):
        assert words in back, words
    assert "34.00" in text_of(pdf, 10)
    assert "spare gel" in text_of(pdf, 10)
    assert "Source: A source." in text_of(pdf, 11)


def test_movement_and_rotation_are_said(loft):
    """Tilt 4 degrees up is 4 degrees with the mount turned to 90."""
    front = text_of(book(*loft, extras()), 4).replace("\n", " ").replace("\r", "")
    assert "Tilt 4.00° up" in front
    assert "Movement 4.00° with the mount" in front
    assert "turned to 90°" in front


@pytest.mark.parametrize(("paper", "size"), [(A4, (595.3, 841.9)), (LETTER, (612.0, 792.0))])
def test_paper(build, paper, size):
    pdf = book(*build(shots=2), extras(), paper)
    document = pypdfium2.PdfDocument(pdf)
    assert document[0].get_size() == pytest.approx(size, abs=0.2)
    assert len(document) == 8
    assert not clipped_ink(pdf)


def test_same_bytes(build):
    assert book(*build(shots=1), extras()) == book(*build(shots=1), extras())


def test_is_an_archive_pdf(build):
    assert b"pdfaid:part>2<" in book(*build(shots=1), extras()).replace(b"\n", b"")


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_everywhere(build, words):
    shoot, plans = build([words[:290] + f" {k}" for k in range(6)], shots=1, title=words, client=words, brief=words)
    shot = replace(plans[0].shot, id=words, brief=words)
    pdf = book(shoot, (replace(plans[0], shot=shot, shoot=shoot),), extras())
    assert 6 <= len(pypdfium2.PdfDocument(pdf)) <= 10
    assert not clipped_ink(pdf)
    if words.isascii() and len(words) < 60:
        assert words in text_of(pdf, 0).replace("\r\n", " ")


def test_twenty_people(build):
    pdf = book(*build([f"Person {k} of the long crew" for k in range(20)], shots=1), extras())
    words = text_of(pdf)
    assert all(re.search(rf"\b{k + 1}\s+Person {k} of", words) for k in range(20))
    assert not clipped_ink(pdf)


def test_nobody_and_nothing(build):
    shoot, _ = build(shots=1)
    bare = replace(
        shoot,
        title="",
        client="",
        brief="",
        people=(),
        marks=(),
        shots=(),
        place=replace(shoot.place, rooms=(), blocks=()),
    )
    pdf = book(bare, (), Extras({}))
    assert len(pypdfium2.PdfDocument(pdf)) == 2
    assert "No shots are described yet." in text_of(pdf)


def test_no_lights_no_colours(build):
    shoot, plans = build(shots=1, lights=False)
    plan = replace(plans[0], colours=(), light=replace(plans[0].light, points=(), heads=(), daylight=None, notes=()))
    text = text_of(book(shoot, (plan,), Extras({})))
    assert "No flash in this shot." in text
    assert "sky dark" in text


def test_imperial(build):
    text = text_of(book(*build(shots=1, imperial=True), extras(), LETTER))
    assert "in to the foot" in text
    assert " ft " in text
    assert "1.35 m up" not in text


def test_pictures_are_printed(build, tmp_path):
    picture = tmp_path / "one.png"
    Image.fromarray(np.full((40, 60, 3), (200, 40, 40), np.uint8)).save(picture)
    pdf = book(*build(shots=2), extras({"bench-1": picture}))
    document = pypdfium2.PdfDocument(pdf)
    for page in (0, 2):
        pixels = np.asarray(document[page].render(scale=0.5).to_pil().convert("RGB")).reshape(-1, 3).astype(int)
        assert (np.abs(pixels - (200, 40, 40)).max(axis=1) < 12).mean() > 0.08
        assert "Predicted, not a photograph." in text_of(pdf, page)
    assert "No predicted picture yet." in text_of(pdf, 4)


def test_legible_in_grey(loft):
    """Every kind of ink keeps a contrast of at least 3 to 1 against the paper when printed grey (WCAG 2.2,
    1.4.11)."""
    from sidelong.sheet.svg import INKS

    def luminance(colour):
        linear = [
            (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4)
            for v in (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
        ]
        return float(np.dot(linear, (0.2126, 0.7152, 0.0722)))

    for pen, ink in INKS.items():
        if pen not in ("figure", "block behind"):
            assert 1.05 / (luminance(ink.colour) + 0.05) >= 3.0, pen


def test_written_whole(tmp_path):
    target = tmp_path / "new" / "book.pdf"
    write_whole(target, b"one")
    write_whole(target, b"two")
    assert target.read_bytes() == b"two"
    assert [p.name for p in target.parent.iterdir()] == ["book.pdf"]


def test_nothing_is_left_when_writing_fails(tmp_path: Path):
    (tmp_path / "book.pdf").mkdir()
    with pytest.raises(OSError, match="book"):
        write_whole(tmp_path / "book.pdf", b"one")
    assert [p.name for p in tmp_path.iterdir()] == ["book.pdf"]

"""SVG: well-formed, to scale, words apart from one another, fit for black and white."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sidelong.sheet.drawing import Circle, Drawing, Line, Polygon, Text
from sidelong.sheet.elevation_view import elevation_of_shot
from sidelong.sheet.fonts import width_of
from sidelong.sheet.labels import Wish, place_labels
from sidelong.sheet.plan_view import plan_of_shot
from sidelong.sheet.scales import scale_for, scale_in_words
from sidelong.sheet.svg import INKS, hatching, paper_size, svg_drawing

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = ['"quoted" & <b>', "#set text(red)", "$x^2$", "a\\b\\n", "שלום עולם", "😀 emoji", "x" * 300, "\x00\x1b[31m"]


def text_boxes(svg):
    """Boxes of the words as they are set, left, top, right, bottom. [mm]"""
    boxes = []
    for node in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        if node.get("aria-hidden"):
            continue
        x, y = float(node.get("x")), float(node.get("y"))
        half = width_of(node.text, 2.55, node.get("font-weight") == "600") / 2
        boxes.append((x - half, y - 1.8, x + half, y + 0.5))
    return np.array(boxes)


def overlaps(boxes):
    low = np.maximum(boxes[:, None, :2], boxes[None, :, :2])
    high = np.minimum(boxes[:, None, 2:], boxes[None, :, 2:])
    areas = np.prod(np.clip(high - low, 0, None), axis=2)
    return np.argwhere(np.triu(areas, 1) > 0.05)


def test_well_formed_and_to_scale(loft):
    for plan in loft[1]:
        for drawing in (plan_of_shot(plan), elevation_of_shot(plan)):
            root = ElementTree.fromstring(svg_drawing(drawing, 60))
            width, height = paper_size(drawing, 60)
            assert float(root.get("width").removesuffix("mm")) == pytest.approx(width, abs=1e-3)
            assert float(root.get("viewBox").split()[3]) == pytest.approx(height, abs=1e-3)
            assert "Source Sans 3" in root.get("font-family")


def test_a_metre_is_twenty_millimetres_at_one_to_fifty():
    drawing = Drawing("", (Line(((0.0, 0.0), (1.0, 0.0)), "wall"),), (0.0, -1.0, 2.0, 1.0))
    points = re.search(r'points="([^"]+)"', svg_drawing(drawing, 50)).group(1).split()
    assert points == ["0.000,20.000", "20.000,20.000"]


@pytest.mark.parametrize("count", [6, 20])
def test_words_do_not_overlap(build, count):
    names = [f"Person number {k}" for k in range(count)]
    _, plans = build(names, shots=2)
    for plan in plans:
        for drawing in (plan_of_shot(plan), elevation_of_shot(plan)):
            boxes = text_boxes(svg_drawing(drawing, 60))
            assert len(boxes) >= count
            assert not len(overlaps(boxes)), overlaps(boxes)


def test_words_stay_on_the_page(loft):
    for plan in loft[1]:
        drawing = plan_of_shot(plan)
        width, height = paper_size(drawing, 60)
        boxes = text_boxes(svg_drawing(drawing, 60))
        assert boxes[:, :2].min() > -0.3
        assert boxes[:, 2].max() < width + 0.3
        assert boxes[:, 3].max() < height + 0.3


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_are_words(words):
    drawing = Drawing(words, (Text((0.0, 0.0), words, "person"),), (-1.0, -1.0, 1.0, 1.0))
    root = ElementTree.fromstring(svg_drawing(drawing, 50))
    assert {node.tag for node in root} == {f"{SVG}title", f"{SVG}text"}
    assert len(root.findall(f"{SVG}text")[1].text) <= 34


def test_same_drawing_same_svg(build):
    assert svg_drawing(plan_of_shot(build()[1][0]), 60) == svg_drawing(plan_of_shot(build()[1][0]), 60)


def test_wanted_shows_without_colour():
    """Sharp is filled, soft is dashed, free is neither: three pens that differ in black and white."""
    looks = {
        (INKS[p].fill == INKS[p].colour, bool(INKS[p].dashes)) for p in ("sharp person", "soft person", "person")
    }
    assert len(looks) == 3


def test_every_pen_has_an_ink(loft):
    pens = {s.pen for plan in loft[1] for d in (plan_of_shot(plan), elevation_of_shot(plan)) for s in d.shapes}
    assert pens <= set(INKS)


def test_hatching_of_a_square():
    """Level lines 2 apart in a square of side 10: five or so, each 10 long, none outside."""
    lines = hatching([(0, 0), (10, 0), (10, 10), (0, 10)], 0.0, 2.0)
    assert 5 <= len(lines) <= 6
    for (x0, y0), (x1, y1) in lines:
        assert (x0, x1) == pytest.approx((0, 10))
        assert y0 == pytest.approx(y1)
        assert 0 <= y0 <= 10


boxes = st.tuples(st.floats(5, 95), st.floats(5, 95), st.floats(2, 12))


@settings(max_examples=40, deadline=None)
@given(st.lists(boxes, min_size=1, max_size=12))
def test_placed_labels_never_overlap(anchors):
    wishes = [Wish((x, y), width, 3.0, 1.0) for x, y, width in anchors]
    spots = place_labels(wishes, np.zeros((0, 3)), (0, 0, 100, 100))
    placed = np.array(
        [
            (s.centre[0] - w.width / 2, s.centre[1] - 1.5, s.centre[0] + w.width / 2, s.centre[1] + 1.5)
            for w, s in zip(wishes, spots, strict=True)
        ]
    )
    assert not len(overlaps(placed))


def test_label_keeps_off_ink():
    ink = np.array([(60.0 + dx, 50.0 + dy, 5.0) for dx in np.arange(-9, 10) for dy in np.arange(-1, 2)])
    spot = place_labels([Wish((50.0, 50.0), 10.0, 3.0, 1.0)], ink, (0, 0, 100, 100))[0]
    box = (spot.centre[0] - 5, spot.centre[1] - 1.5, spot.centre[0] + 5, spot.centre[1] + 1.5)
    assert not any(box[0] < x < box[2] and box[1] < y < box[3] for x, y, _ in ink)


@pytest.mark.parametrize(("width", "expected"), [(180.0, 60), (95.0, 125), (1000.0, 10)])
def test_scale_is_the_largest_that_fits(width, expected):
    drawing = Drawing(
        "", (Circle((0, 0), 1, "wall"), Polygon(((0, 0), (1, 0), (1, 1)), "wall")), (0.0, 0.0, 9.9, 4.0)
    )
    assert scale_for([drawing], width, 5000.0) == expected


def test_scale_in_words():
    assert scale_in_words(60) == "1:60"
    assert scale_in_words(48, imperial=True) == "1:48 (1/4 in to the foot)"

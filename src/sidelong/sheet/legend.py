"""How the drawings are to be read: each sign with its words, itself a drawing."""

from __future__ import annotations

import math

import numpy as np

from sidelong.people.values import Person
from sidelong.sheet.drawing import Circle, Drawing, Line, Point, Polygon, Shape, Text, rectangle
from sidelong.sheet.fonts import width_of
from sidelong.sheet.symbols import person_from_above

_ROW, _WORDS_AT, _COLUMN, _ROWS, _ACROSS = 0.24, 0.42, 1.2, 3, 4.5
_METRES_PER_MM = 0.025
"""It is printed at 1:25."""


def legend(imperial: bool = False) -> Drawing:
    """All signs in columns of three, to be printed at 1:25. [m]"""
    entries: list[tuple[str, list[Shape]]] = []
    for words, pen in (("to be sharp", "sharp person"), ("to be soft", "soft person"), ("neither asked", "person")):
        entries.append((words, list(person_from_above(Person("", (0.2, -0.01, 0.0), -math.pi / 2, height=0.9), pen))))  # type: ignore[arg-type]
    ticks: list[Shape] = [Line(((x, -0.05), (x, 0.05)), "zone") for x in np.linspace(0.06, 0.34, 8)]
    entries += [
        ("plane of focus", [Line(((0.02, 0.0), (0.38, 0.0)), "plane of focus")]),
        ("within the blur limit", [Line(((0.02, 0.0), (0.38, 0.0)), "plane of focus"), *ticks]),
        ("plane of focus at the floor", [Line(((0.02, 0.0), (0.38, 0.0)), "plane at the floor")]),
        ("hinge line, cut through", [Circle((0.2, 0.0), 0.05, "hinge")]),
        ("edge of the picture", [Line(((0.02, 0.0), (0.38, 0.0)), "field of view")]),
        ("light, legs of its stand, aim", [
            Circle((0.12, 0.0), 0.1, "stand"), rectangle(0.09, -0.05, 0.14, 0.05, "light"),
            Line(((0.15, 0.0), (0.38, 0.0)), "beam"),
        ]),
        ("cable", [
            rectangle(0.02, -0.04, 0.1, 0.04, "light"),
            Line(((0.1, 0.0), (0.2, 0.0), (0.3, 0.05), (0.38, 0.05)), "cable"),
        ]),
        ("sun on the floor", [Polygon(((0.06, -0.07), (0.3, -0.07), (0.36, 0.07), (0.12, 0.07)), "sun patch")]),
        ("plume of haze", [Polygon(((0.04, -0.03), (0.36, -0.08), (0.36, 0.08), (0.04, 0.03)), "plume")]),
    ]  # fmt: skip
    shapes: list[Shape] = []
    for k, (words, signs) in enumerate(entries):
        corner = (_COLUMN * (k // _ROWS), -_ROW * (k % _ROWS))
        shapes += [_moved(s, corner) for s in signs]
        width = width_of(words, 2.55) * _METRES_PER_MM
        shapes.append(Text((corner[0] + _WORDS_AT + width / 2, corner[1]), words, "note", fixed=True))
    return Drawing("Signs", tuple(shapes), (0.0, -_ROW * (_ROWS - 0.5), _ACROSS, _ROW / 2))


def _moved(shape: Shape, by: Point) -> Shape:
    if isinstance(shape, Circle):
        return Circle((shape.centre[0] + by[0], shape.centre[1] + by[1]), shape.radius, shape.pen)
    assert isinstance(shape, (Line, Polygon))
    return type(shape)(tuple((x + by[0], y + by[1]) for x, y in shape.points), shape.pen)

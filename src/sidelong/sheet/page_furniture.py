"""What every sheet of drawings carries: a scale bar, and a compass with north and the sun."""

from __future__ import annotations

import math
from collections.abc import Sequence

from sidelong.frames_of_reference import bearing_to_direction
from sidelong.sheet.drawing import Arrow, Circle, Line, Point, Polygon, Shape, Text, rectangle
from sidelong.units import FOOT


def scale_bar(at: Point, longest: float, imperial: bool) -> tuple[Shape, ...]:
    """A bar of whole metres (or feet) from `at` to the right, in alternating fields, no longer than `longest`. [m]"""
    unit = FOOT if imperial else 1.0
    steps = (0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
    whole = max((s for s in steps if s * unit <= longest), default=steps[0])
    fields = {0.5: 1, 1: 2, 2: 2, 5: 5}.get(whole, 4)
    thick = longest * 0.022
    shapes: list[Shape] = []
    for k in range(fields):
        left, right = (at[0] + whole * unit * (k + e) / fields for e in (0, 1))
        box = rectangle(left, at[1], right, at[1] + thick, "scale")
        shapes.append(box if k % 2 == 0 else Line((*box.points, box.points[0]), "scale"))
    end = at[0] + whole * unit
    for position, words in ((at[0], "0"), (end, f"{whole:g} {'ft' if imperial else 'm'}")):
        shapes.append(Text((position, at[1] + thick * 3.6), words, "scale", fixed=True))
    return tuple(shapes)


def bar_length(shapes: Sequence[Shape]) -> float:
    """How long a scale bar is, from its own shapes. [m]"""
    across = [p[0] for s in shapes if isinstance(s, (Polygon, Line)) for p in s.points]
    return max(across) - min(across)


def compass(centre: Point, radius: float, north: float, suns: Sequence[tuple[float, str]]) -> tuple[Shape, ...]:
    """A ring with an arrow to true north and, for each sun (its bearing [rad] and words), a disc where it stands.

    Suns come in the order of the day: the first and the last get their words, each disc an arrow. `north` is the
    bearing of the plan's +y axis [rad].
    """

    def towards(bearing: float, reach: float) -> Point:
        d = bearing_to_direction(bearing, north)
        return centre[0] + reach * float(d[0]), centre[1] + reach * float(d[1])

    tip, left, right = (
        towards(0.0, radius),
        towards(math.radians(150), radius * 0.5),
        towards(math.radians(-150), radius * 0.5),
    )
    shapes: list[Shape] = [Circle(centre, radius, "note")]
    shapes.append(Polygon((tip, right, centre), "north"))
    shapes.append(Line((tip, left, centre), "north"))
    shapes.append(Text(towards(0.0, radius * 1.3), "N", "north", fixed=True, strong=True))
    for k, (bearing, words) in enumerate(suns):
        shapes.append(Circle(towards(bearing, radius * 1.55), radius * 0.16, "sun"))
        shapes.append(Arrow(towards(bearing, radius * 1.36), towards(bearing, radius * 0.55), "sun"))
        if k in (0, len(suns) - 1):
            shapes.append(Text(towards(bearing, radius * 1.7), words, "sun", clear=radius * 0.3))
    return tuple(shapes)

"""A drawing as plain values, in metres: what the paper and the terminal are both drawn from.

x runs to the right and y up the page. A pen says what a shape is, never how it looks: each output has its own
table of line weights, dashes and hatching. Words carry a point to be near, not a place: each output finds room
for them at its own size of letters.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Point = tuple[float, float]
Box = tuple[float, float, float, float]
"""Left, bottom, right, top. [m]"""

Pen = Literal[
    "wall",
    "opening",
    "block",
    "block behind",
    "overhead",
    "figure",
    "person",
    "sharp person",
    "soft person",
    "mark",
    "camera",
    "field of view",
    "plane of focus",
    "zone",
    "plane at the floor",
    "zone at the floor",
    "frame",
    "outline",
    "ring",
    "sharp ring",
    "soft ring",
    "image circle",
    "hinge",
    "light",
    "beam",
    "stand",
    "cable",
    "sun",
    "sun patch",
    "plume",
    "ground",
    "north",
    "scale",
    "note",
]


@dataclass(frozen=True)
class Line:
    """An open run of straight pieces. [m]"""

    points: tuple[Point, ...]
    pen: Pen


@dataclass(frozen=True)
class Polygon:
    """A closed outline, filled or hatched as its pen is. [m]"""

    points: tuple[Point, ...]
    pen: Pen


@dataclass(frozen=True)
class Circle:
    """[m]"""

    centre: Point
    radius: float
    pen: Pen


@dataclass(frozen=True)
class Arrow:
    """A line with a point at `head`. [m]"""

    tail: Point
    head: Point
    pen: Pen


@dataclass(frozen=True)
class Text:
    """Words near a point: to be set at least `clear` [m] from it, or centred on it when `fixed`."""

    at: Point
    words: str
    pen: Pen = "note"
    clear: float = 0.0
    fixed: bool = False
    strong: bool = False


Shape = Line | Polygon | Circle | Arrow | Text


@dataclass(frozen=True)
class Drawing:
    """Shapes in the order they are laid down, and the box of the page they need. [m]"""

    title: str
    shapes: tuple[Shape, ...]
    bounds: Box

    @property
    def width(self) -> float:
        """[m]"""
        return self.bounds[2] - self.bounds[0]

    @property
    def height(self) -> float:
        """[m]"""
        return self.bounds[3] - self.bounds[1]

    def of_pen(self, pen: Pen) -> tuple[Shape, ...]:
        """The shapes drawn with one pen."""
        return tuple(shape for shape in self.shapes if shape.pen == pen)


def rectangle(left: float, bottom: float, right: float, top: float, pen: Pen) -> Polygon:
    """An upright rectangle. [m]"""
    return Polygon(((left, bottom), (right, bottom), (right, top), (left, top)), pen)


def box_around(points: Iterable[Point], margin: float = 0.0) -> Box:
    """The box that holds all points and a margin around them; one metre about the origin when there is none. [m]"""
    listed = list(points)
    if not listed:
        return (-1.0 - margin, -1.0 - margin, 1.0 + margin, 1.0 + margin)
    across, up = [p[0] for p in listed], [p[1] for p in listed]
    return (min(across) - margin, min(up) - margin, max(across) + margin, max(up) + margin)


def clip_line(start: Point, end: Point, box: Box) -> tuple[Point, Point] | None:
    """The part of a straight line that lies inside a box, None when it misses it. [m]

    The line's parameter is narrowed by each of the four sides in turn. Source: liang1984.
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    first, last = 0.0, 1.0
    for towards, room in (
        (-dx, start[0] - box[0]),
        (dx, box[2] - start[0]),
        (-dy, start[1] - box[1]),
        (dy, box[3] - start[1]),
    ):
        if towards == 0:
            if room < 0:
                return None
        elif towards < 0:
            first = max(first, room / towards)
        else:
            last = min(last, room / towards)
    if first > last:
        return None
    return (start[0] + first * dx, start[1] + first * dy), (start[0] + last * dx, start[1] + last * dy)

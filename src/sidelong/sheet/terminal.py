"""A drawing in character cells, for the terminal: braille dots for lines, one sign for each thing, names beside."""

from __future__ import annotations

import itertools
import math
import unicodedata
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelong.geometry.polygons import inside_polygon
from sidelong.sheet.drawing import Arrow, Circle, Drawing, Pen, Point, Polygon, Shape, Text, box_around
from sidelong.sheet.fonts import shortened
from sidelong.sheet.labels import Wish, place_labels
from sidelong.sheet.svg import outline_points

_PAPER_ONLY: frozenset[Pen] = frozenset(
    {
        "scale",
        "north",
        "note",
        "sun",
        "zone",
        "stand",
        "cable",
        "plume",
        "sun patch",
        "figure",
        "block behind",
        "overhead",
        "plane at the floor",
        "zone at the floor",
        "frame",
        "outline",
        "ring",
        "sharp ring",
        "soft ring",
        "image circle",
    }
)
_MOST_BLOCKS = 6
"""More blocks than this would drown the people: then none is drawn."""
_BLANK = "\u00a0"
"""A space inside words, which hides the dots under it until the lines are put together."""
_DOT_STEP: dict[Pen, int] = {
    "plane of focus": 1, "field of view": 5, "block": 3, "opening": 2, "beam": 4,
    "ground": 1,
}  # fmt: skip
_SIGNS: dict[Pen, tuple[str, str]] = {
    "sharp person": ("●", "S"), "soft person": ("○", "o"), "person": ("◌", "-"), "camera": ("▣", "C"),
    "light": ("✦", "L"), "mark": ("×", "x"), "hinge": ("◎", "+"),
}  # fmt: skip
_IN_WORDS: dict[Pen, str] = {
    "sharp person": "sharp", "soft person": "soft", "person": "free", "camera": "camera", "light": "light",
    "mark": "mark", "hinge": "hinge line",
}  # fmt: skip
_BRAILLE = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))


@dataclass
class _Cells:
    """A canvas of `rows` x `columns` characters that also counts 2 x 4 dots in each; dots are square."""

    columns: int
    rows: int
    left: float
    top: float
    dot: float

    def __post_init__(self) -> None:
        self.signs: list[list[str]] = [[" "] * self.columns for _ in range(self.rows)]
        self.dots: NDArray[np.int64] = np.zeros((self.rows, self.columns), np.int64)

    def at(self, point: Point) -> tuple[float, float]:
        """Column and row, fractional, of a point of the page. [cells]"""
        return (point[0] - self.left) / self.dot / 2, (self.top - point[1]) / self.dot / 4

    def put(self, column: int, row: int, sign: str) -> None:
        if 0 <= column < self.columns and 0 <= row < self.rows:
            self.signs[row][column] = sign

    def run(self, points: list[Point], step: int) -> None:
        """Dots along a run of straight pieces, every `step`-th one set."""
        count = 0
        for a, b in itertools.pairwise(points):
            (x0, y0), (x1, y1) = self.at(a), self.at(b)
            n = max(1, int(max(abs(x1 - x0) * 2, abs(y1 - y0) * 4)))
            for k in range(n + 1):
                if (count := count + 1) % step == 0 or step == 1:
                    self.set_dot(x0 + (x1 - x0) * k / n, y0 + (y1 - y0) * k / n)

    def set_dot(self, column: float, row: float) -> None:
        c, r = math.floor(column), math.floor(row)
        if 0 <= c < self.columns and 0 <= r < self.rows:
            self.dots[r, c] |= _BRAILLE[min(3, int((row - r) * 4))][min(1, int((column - c) * 2))]


def terminal_drawing(drawing: Drawing, columns: int = 76, rows: int = 20, unicode: bool = True) -> str:
    """The drawing in at most `rows` lines of at most `columns` cells; the last line says what the signs mean.

    Lines of the plane of focus are unbroken, the picture's edges and blocks dotted, walls shaded. Without
    `unicode` only ASCII is used (names apart from it are given with question marks).
    """
    shapes = [s for s in drawing.shapes if s.pen not in _PAPER_ONLY]
    if sum(s.pen == "block" for s in shapes) > _MOST_BLOCKS:
        shapes = [s for s in shapes if s.pen != "block"]
    box = box_around([p for s in shapes for p in outline_points(s)])
    canvas_rows = max(3, rows - 1)
    dot = max((box[2] - box[0]) / (columns * 2 - 1), (box[3] - box[1]) / (canvas_rows * 4 - 1), 1e-6)
    used = min(canvas_rows, math.ceil((box[3] - box[1]) / dot / 4 + 1e-9) or 1)
    cells = _Cells(columns, used, box[0] - dot / 2, box[3] + dot / 2, dot)
    _shade_walls(cells, shapes, "▒" if unicode else "#")
    ascii_lines = _draw_lines(cells, shapes, unicode)
    signs = _draw_signs(cells, shapes, 0 if unicode else 1)
    _draw_words(cells, shapes, signs, unicode)
    lines = ["".join(_cell(cells, r, c, ascii_lines) for c in range(columns)).rstrip() for r in range(used)]
    lines.append(_legend(signs, columns, unicode))
    return "\n".join(_fitted(line.replace(_BLANK, " "), columns) for line in lines)


def _cell(cells: _Cells, row: int, column: int, ascii_lines: dict[tuple[int, int], str]) -> str:
    sign = cells.signs[row][column]
    if sign != " ":
        return sign
    if (row, column) in ascii_lines:
        return ascii_lines[row, column]
    return chr(0x2800 + int(cells.dots[row, column])) if cells.dots[row, column] else " "


def _shade_walls(cells: _Cells, shapes: list[Shape], sign: str) -> None:
    """Every cell of which a dot lies in a wall."""
    for shape in shapes:
        if isinstance(shape, Polygon) and shape.pen == "wall":
            corners = np.array([cells.at(p) for p in shape.points])
            low, high = np.floor(corners.min(axis=0)).astype(int), np.floor(corners.max(axis=0)).astype(int)
            for row in range(low[1], high[1] + 1):
                for column in range(low[0], high[0] + 1):
                    samples = np.array(
                        [(column + x, row + y) for x in (0.25, 0.75) for y in (0.125, 0.375, 0.625, 0.875)]
                    )
                    if inside_polygon(samples, corners).sum() >= 2:
                        cells.put(column, row, sign)


def _draw_lines(cells: _Cells, shapes: list[Shape], unicode: bool) -> dict[tuple[int, int], str]:
    """Lines as braille dots; without unicode, as one character a cell, which is what is returned."""
    plain: dict[tuple[int, int], str] = {}
    for pen, sign in (("block", ":"), ("opening", "="),
                      ("field of view", "."), ("beam", "."),
                      ("ground", "_"), ("plane of focus", "*")):  # fmt: skip
        for shape in shapes:
            if shape.pen != pen or isinstance(shape, Text):
                continue
            if unicode:
                cells.run(outline_points(shape), _DOT_STEP[shape.pen])
            else:
                ghost = _Cells(cells.columns, cells.rows, cells.left, cells.top, cells.dot)
                ghost.run(outline_points(shape), 1)
                plain |= {(int(r), int(c)): sign for r, c in zip(*np.nonzero(ghost.dots), strict=True)}
    return plain


def _draw_signs(cells: _Cells, shapes: list[Shape], which: int) -> list[tuple[Pen, str]]:
    """One sign for each person's head, camera, light, mark and hinge; what signs there are, in words' order."""
    found: dict[Pen, str] = {}
    order: tuple[Pen, ...] = ("mark", "hinge", "light", "person", "soft person", "sharp person", "camera")
    for pen in order:
        done: list[tuple[int, int]] = []
        for shape in shapes:
            if shape.pen == pen and _has_sign(shape):
                column, row = (math.floor(v) for v in cells.at(_middle(shape)))
                if pen in ("camera", "light") and any(abs(column - c) < 4 and abs(row - r) < 2 for c, r in done):
                    continue
                done.append((column, row))
                cells.put(column, row, _SIGNS[pen][which])
                found[pen] = _SIGNS[pen][which]
    return [(pen, found[pen]) for pen in _SIGNS if pen in found]


def _has_sign(shape: Shape) -> bool:
    if shape.pen in ("person", "sharp person", "soft person", "hinge"):
        return isinstance(shape, Circle)
    return not isinstance(shape, (Text, Arrow))


def _middle(shape: Shape) -> Point:
    if isinstance(shape, Circle):
        return shape.centre
    run = np.array(outline_points(shape)[:-1] if isinstance(shape, Polygon) else outline_points(shape))
    return float(run[:, 0].mean()), float(run[:, 1].mean())


def _draw_words(cells: _Cells, shapes: list[Shape], signs: list[tuple[Pen, str]], unicode: bool) -> None:
    taken_signs = {sign for _, sign in signs}
    ink = [
        (c + 0.5, r + 0.5, 6.0 if cells.signs[r][c] in taken_signs else 1.0)
        for r in range(cells.rows) for c in range(cells.columns) if cells.signs[r][c] != " "
    ]  # fmt: skip
    ink += [(c + 0.5, r + 0.5, 0.25) for r, c in zip(*np.nonzero(cells.dots), strict=True)]
    texts = sorted((s for s in shapes if isinstance(s, Text)), key=lambda t: not t.strong)
    words = [_sayable(t.words, unicode) for t in texts]
    wishes = [
        Wish(_centre_of_cell(cells.at(t.at)), _width(w) + 0.98, 0.98, 0.5) for t, w in zip(texts, words, strict=True)
    ]
    spots = place_labels(wishes, np.array(ink).reshape(-1, 3), (0.0, 0.0, cells.columns, cells.rows))
    for word, spot in zip(words, spots, strict=True):
        column, row = round(spot.centre[0] - _width(word) / 2), math.floor(spot.centre[1])
        for character in word:
            wide = _width(character)
            if wide == 0:
                continue
            cells.put(column, row, _BLANK if character == " " else character)
            if wide == 2:
                cells.put(column + 1, row, "")
            column += wide


def _centre_of_cell(at: tuple[float, float]) -> tuple[float, float]:
    return math.floor(at[0]) + 0.5, math.floor(at[1]) + 0.5


def _sayable(words: str, unicode: bool) -> str:
    flat = "".join(c if c.isprintable() else "?" for c in shortened(words, 26))
    return flat if unicode else flat.replace("…", "...").encode("ascii", "replace").decode()


def _width(words: str) -> int:
    """Cells that words take: two for a wide character, none for a combining one."""
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in words)


def _legend(signs: list[tuple[Pen, str]], columns: int, unicode: bool) -> str:
    parts = [f"{sign} {_IN_WORDS[pen]}" for pen, sign in signs]
    parts.append(f"{'⠒⠒' if unicode else '**'} plane of focus")
    while len("  ".join(parts)) > columns and len(parts) > 1:
        parts.pop(-2)
    return "  ".join(parts)


def _fitted(line: str, columns: int) -> str:
    while _width(line) > columns:
        line = line[:-1]
    return line

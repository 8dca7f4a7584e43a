"""A drawing as SVG at a true scale: ink on paper, weights and hatching so that black and white is enough."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from numpy.typing import NDArray

from sidelong.sheet.drawing import Arrow, Circle, Drawing, Line, Pen, Point, Polygon, Shape, Text
from sidelong.sheet.fonts import FALLBACK, FAMILY, shortened, width_of
from sidelong.sheet.labels import Wish, place_labels

INK = "#1d1d1b"
FOCUS = "#a3271c"
SUN = "#9a6a00"

_LETTERS = 2.55
"""Size of letters on paper. [mm]"""
_LONGEST = 34


@dataclass(frozen=True)
class Ink:
    """How a pen looks: weight [mm], colour, fill, dashes and hatching ((angle [deg], spacing [mm])); `minds` says
    how much it should not be written over."""

    weight: float
    colour: str = INK
    fill: str = "none"
    dashes: str = ""
    hatch: tuple[float, float] | None = None
    minds: float = 0.15


INKS: dict[Pen, Ink] = {
    "wall": Ink(0.1, "#4a4844", "#4a4844", minds=1.5),
    "opening": Ink(0.16, minds=0.15),
    "block": Ink(0.16, "#7c7972", "#f4f2ed", minds=0.04),
    "block behind": Ink(0.11, "#aaa69d", minds=0.03),
    "overhead": Ink(0.16, "#7c7972", dashes="1.6 0.8", minds=0.04),
    "figure": Ink(0.18, "#ffffff", "#dedbd3", minds=0.12),
    "person": Ink(0.22, fill="#ffffff", minds=0.8),
    "sharp person": Ink(0.25, fill=INK, minds=1.2),
    "soft person": Ink(0.28, fill="#ffffff", dashes="0.7 0.6", minds=1.2),
    "mark": Ink(0.28, minds=0.6),
    "camera": Ink(0.3, fill="#ffffff", minds=0.8),
    "field of view": Ink(0.14, dashes="2.4 1.1", minds=0.12),
    "plane of focus": Ink(0.55, FOCUS, minds=0.4),
    "zone": Ink(0.11, FOCUS, minds=0.03),
    "plane at the floor": Ink(0.3, FOCUS, dashes="1.8 1.0", minds=0.25),
    "zone at the floor": Ink(0.09, FOCUS, dashes="0.5 0.7", minds=0.02),
    "frame": Ink(0.35, minds=0.6),
    "outline": Ink(0.16, "#7c7972", "#ece9e2", minds=0.1),
    "ring": Ink(0.25, minds=0.6),
    "sharp ring": Ink(0.35, FOCUS, minds=0.8),
    "soft ring": Ink(0.3, dashes="0.9 0.6", minds=0.6),
    "image circle": Ink(0.2, dashes="1.6 0.6 0.3 0.6", minds=0.2),
    "hinge": Ink(0.25, FOCUS, dashes="2.2 0.7 0.3 0.7", minds=0.2),
    "light": Ink(0.3, fill="#d9d6cf", minds=0.8),
    "beam": Ink(0.18, dashes="0.9 0.8", minds=0.15),
    "stand": Ink(0.13, dashes="0.5 0.7", minds=0.03),
    "cable": Ink(0.2, minds=0.1),
    "sun": Ink(0.25, SUN, minds=0.5),
    "sun patch": Ink(0.14, SUN, "#fbf3dc", "0.4 0.5", hatch=(45.0, 1.5), minds=0.03),
    "plume": Ink(0.16, "#7c7972", dashes="1.2 1.2", minds=0.05),
    "ground": Ink(0.4),
    "north": Ink(0.2, fill=INK, minds=0.5),
    "scale": Ink(0.16, fill=INK, minds=0.8),
    "note": Ink(0.13, minds=0.05),
}


_SOLID: dict[Pen, float] = {"wall": INKS["wall"].minds, "outline": 0.04}
"""Shapes whose inside minds being written over as well, and how much."""


def svg_drawing(drawing: Drawing, scale: float, inside: str = "") -> str:
    """The drawing as an SVG document of its true size on paper at 1:scale; user units are millimetres. [-]

    `inside`: where it stands in another document of millimetres, as attributes x and y.
    """
    width, height = paper_size(drawing, scale)
    sheet = _Sheet(drawing, scale)
    body = [sheet.shape(s) for s in drawing.shapes if not isinstance(s, Text)]
    body += _words(drawing, sheet, (width, height))
    return "\n".join([_head(width, height, inside), f"<title>{clean(drawing.title)}</title>", *body, "</svg>"])


def abreast(drawings: Sequence[Drawing], width: float) -> str:
    """Drawings small beside one another, each `width` wide [mm], under it its title in lines; one SVG document."""
    gap, line = 4.0, _LETTERS * 1.3
    titles = [_wrapped(drawing.title, width) for drawing in drawings]
    high = max(drawing.height / drawing.width * width for drawing in drawings)
    across = len(drawings) * (width + gap) - gap
    height = high + 2.0 + line * max(len(lines) for lines in titles)
    body = []
    for k, (drawing, lines) in enumerate(zip(drawings, titles, strict=True)):
        x = k * (width + gap)
        body.append(svg_drawing(drawing, drawing.width * 1e3 / width, f'x="{x:.3f}" y="0" '))
        for row, words in enumerate(lines):
            y = high + 2.0 + line * (row + 0.8)
            body.append(f'<text x="{x:.3f}" y="{y:.3f}" fill="{INK}">{clean(words)}</text>')
    return "\n".join([_head(across, height), *body, "</svg>"])


def _wrapped(words: str, width: float) -> list[str]:
    """Words in lines no wider than a width [mm]."""
    lines: list[str] = []
    for word in words.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_of(longer, _LETTERS) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _head(width: float, height: float, inside: str = "") -> str:
    family = quoteattr(f"'{FAMILY}', '{FALLBACK}', sans-serif")
    unit = "" if inside else "mm"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {inside}width="{width:.3f}{unit}" height="{height:.3f}{unit}" '
        f'viewBox="0 0 {width:.3f} {height:.3f}" font-family={family} font-size="{_LETTERS}" '
        'stroke-linejoin="round" stroke-linecap="butt">'
    )


def paper_size(drawing: Drawing, scale: float) -> tuple[float, float]:
    """Width and height on paper at 1:scale. [mm]"""
    return drawing.width * 1e3 / scale, drawing.height * 1e3 / scale


def clean(words: str) -> str:
    """Words fit for XML: escaped, and without the characters XML forbids."""
    return escape(re.sub("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "\ufffd", words))


@dataclass(frozen=True)
class _Sheet:
    drawing: Drawing
    scale: float

    def at(self, point: Point) -> Point:
        """Millimetres on paper, y down."""
        left, _, _, top = self.drawing.bounds
        return (point[0] - left) * 1e3 / self.scale, (top - point[1]) * 1e3 / self.scale

    def size(self, metres: float) -> float:
        return metres * 1e3 / self.scale

    def shape(self, shape: Shape) -> str:
        ink = INKS[shape.pen]
        if isinstance(shape, Circle):
            x, y = self.at(shape.centre)
            return f'<circle cx="{x:.3f}" cy="{y:.3f}" r="{self.size(shape.radius):.3f}" {_style(ink)}/>'
        if isinstance(shape, Arrow):
            return self._arrow(shape, ink)
        assert isinstance(shape, (Line, Polygon))
        points = [self.at(p) for p in shape.points]
        if isinstance(shape, Line):
            return f'<polyline points="{_path(points)}" {_style(ink, open_end=True)}/>'
        drawn = f'<polygon points="{_path(points)}" {_style(ink)}/>'
        if ink.hatch is not None:
            plain = Ink(0.12, ink.colour)
            drawn += "".join(
                f'<polyline points="{_path(run)}" {_style(plain)}/>' for run in hatching(points, *ink.hatch)
            )
        return drawn

    def _arrow(self, arrow: Arrow, ink: Ink) -> str:
        tail, head = self.at(arrow.tail), self.at(arrow.head)
        dx, dy = head[0] - tail[0], head[1] - tail[1]
        length = math.hypot(dx, dy)
        if length < 1e-6:
            return ""
        point = min(1.7, 0.5 * length)
        ux, uy = dx / length, dy / length
        base = (head[0] - ux * point, head[1] - uy * point)
        wing = point * 0.32
        tip = [head, (base[0] - uy * wing, base[1] + ux * wing), (base[0] + uy * wing, base[1] - ux * wing)]
        return (
            f'<polyline points="{_path([tail, base])}" {_style(ink, open_end=True)}/>'
            f'<polygon points="{_path(tip)}" fill="{ink.colour}" stroke="none"/>'
        )


def _style(ink: Ink, open_end: bool = False) -> str:
    dashes = f' stroke-dasharray="{ink.dashes}"' if ink.dashes else ""
    fill = "none" if open_end else ink.fill
    return f'fill="{fill}" stroke="{ink.colour}" stroke-width="{ink.weight}"{dashes}'


def _path(points: list[Point]) -> str:
    return " ".join(f"{x:.3f},{y:.3f}" for x, y in points)


def hatching(points: list[Point], angle: float, spacing: float) -> list[list[Point]]:
    """Parallel lines at an angle [deg] inside an outline, by even and odd crossings; in the outline's own unit."""
    turn = math.radians(angle)
    c, s = math.cos(turn), math.sin(turn)
    flat = np.array(points) @ np.array([[c, -s], [s, c]])
    start, end = flat, np.roll(flat, -1, axis=0)
    lines: list[list[Point]] = []
    first = math.ceil(flat[:, 1].min() / spacing)
    for k in range(first, math.floor(flat[:, 1].max() / spacing) + 1):
        level = k * spacing + 1e-9
        crosses = (start[:, 1] > level) != (end[:, 1] > level)
        a, b = start[crosses], end[crosses]
        across = np.sort(a[:, 0] + (level - a[:, 1]) * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1]))
        for left, right in zip(across[::2], across[1::2], strict=False):
            lines.append(
                [(left * c - level * s, left * s + level * c), (right * c - level * s, right * s + level * c)]
            )
    return lines


def _words(drawing: Drawing, sheet: _Sheet, page: tuple[float, float]) -> list[str]:
    texts = [s for s in drawing.shapes if isinstance(s, Text)]
    fixed, free = [t for t in texts if t.fixed], [t for t in texts if not t.fixed]
    free.sort(key=lambda t: not t.strong)
    wishes = [_wish(t, sheet) for t in free]
    spots = place_labels(wishes, ink_of(drawing, sheet), (0.0, 0.0, *page), [_wish(t, sheet) for t in fixed])
    written = [_text(t, sheet.at(t.at)) for t in fixed]
    for text, wish, spot in zip(free, wishes, spots, strict=True):
        if spot.gap > 0.9 * _LETTERS:
            written.append(_leader(wish, spot.centre, INKS[text.pen].colour))
    return written + [_text(t, s.centre) for t, s in zip(free, spots, strict=True)]


def _wish(text: Text, sheet: _Sheet) -> Wish:
    width = width_of(shortened(text.words, _LONGEST), _LETTERS, text.strong)
    return Wish(sheet.at(text.at), width + 0.7, _LETTERS * 1.12, sheet.size(text.clear) + 0.5)


def _text(text: Text, centre: Point) -> str:
    weight = ' font-weight="600"' if text.strong else ""
    words = clean(shortened(text.words, _LONGEST))
    x, y = centre[0], centre[1] + _LETTERS * 0.33
    place = f'x="{x:.3f}" y="{y:.3f}" text-anchor="middle"{weight}'
    halo = f'<text {place} fill="#ffffff" stroke="#ffffff" stroke-width="0.7" aria-hidden="true">{words}</text>'
    return f'{halo}<text {place} fill="{INKS[text.pen].colour}">{words}</text>'


def _leader(wish: Wish, centre: Point, colour: str) -> str:
    """A hairline from the thing to the nearest side of its words."""
    x, y = wish.anchor
    near = (
        min(max(x, centre[0] - wish.width / 2), centre[0] + wish.width / 2),
        min(max(y, centre[1] - wish.height / 2), centre[1] + wish.height / 2),
    )
    length = math.dist(near, wish.anchor)
    if length < 1e-6:
        return ""
    share = min(1.0, wish.clear * 0.6 / length)
    start = (x + (near[0] - x) * share, y + (near[1] - y) * share)
    return f'<polyline points="{_path([start, near])}" fill="none" stroke="{colour}" stroke-width="0.1"/>'


def ink_of(drawing: Drawing, sheet: _Sheet) -> NDArray[np.float64]:
    """Points along everything drawn, on paper, and how much each minds being written over: (N, 3). [mm, -]"""
    rows: list[NDArray[np.float64]] = []
    for shape in drawing.shapes:
        if isinstance(shape, Text):
            continue
        run = np.array([sheet.at(p) for p in outline_points(shape)])
        steps = np.diff(run, axis=0)
        lengths = np.hypot(steps[:, 0], steps[:, 1])
        if shape.pen in _SOLID and isinstance(shape, Polygon):
            solid = np.array([p for line in hatching([*map(tuple, run[:-1])], 45.0, 0.8) for p in _dotted(line)])
            rows.append(np.hstack([solid.reshape(-1, 2), np.full((len(solid), 1), _SOLID[shape.pen])]))
        for start, step, length in zip(run[:-1], steps, lengths, strict=True):
            shares = np.linspace(0, 1, max(2, int(length / 0.7)))[:, None]
            rows.append(np.hstack([start + shares * step, np.full((len(shares), 1), INKS[shape.pen].minds)]))
    return np.concatenate(rows) if rows else np.zeros((0, 3))


def _dotted(line: list[Point]) -> list[Point]:
    """Points along a straight line, 0.8 mm apart."""
    (x0, y0), (x1, y1) = line
    shares = np.linspace(0, 1, max(2, int(math.dist(*line) / 0.8)))
    return [(x0 + s * (x1 - x0), y0 + s * (y1 - y0)) for s in shares]


def outline_points(shape: Shape) -> list[Point]:
    """A run of points along a shape, closed where the shape is. [m]"""
    if isinstance(shape, Circle):
        turns = np.linspace(0, 2 * math.pi, 17)
        (x, y), r = shape.centre, shape.radius
        return [(x + r * math.cos(t), y + r * math.sin(t)) for t in turns]
    if isinstance(shape, Arrow):
        return [shape.tail, shape.head]
    if isinstance(shape, Polygon):
        return [*shape.points, shape.points[0]]
    return list(shape.points) if isinstance(shape, Line) else [shape.at]

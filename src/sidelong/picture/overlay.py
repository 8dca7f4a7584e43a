"""What can be drawn over a predicted picture: blur rings, the stops map, names. Nothing of it touches the picture.

A ring is what the lens makes of a point at a person's eyes: its blur ellipse in true size and direction, beside the
face it belongs to. Where rings would be too small to see, all of them are drawn larger by one and the same stated
number, so that they can still be held against one another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from sidelong.picture.blurmap import to_pixels
from sidelong.picture.lettering import DARK, Box, free_place, is_free, letters, moved_inside, size_of, stroke, write
from sidelong.picture.rings import ellipse_outline, enlargement, paint_ring
from sidelong.picture.stops_map import HIGHEST, LOWEST, stop_colours, stops_from_middle, stops_picture
from sidelong.picture.values import OverlayPoint, Picture
from sidelong.trace.values import View

KINDS = ("rings", "stops", "names")

_FACE = 0.04
_MARK = 0.012
"""Half the breadth of a face of unknown size, and of a mark's cross, as shares of the picture's height. [-]"""


@dataclass(frozen=True)
class _Sheet:
    """What is drawn on, how large letters are, and where things already stand."""

    view: View
    image: Image.Image
    draw: ImageDraw.ImageDraw
    font: Path | None
    text: float
    taken: list[Box]
    notes: list[str]

    @property
    def frame(self) -> Box:
        return (0.0, 0.0, float(self.image.width), float(self.image.height))


def overlaid(
    picture: Picture, points: Sequence[OverlayPoint], kinds: Sequence[str], font: Path | None = None
) -> NDArray[np.uint8]:
    """The picture (H, W, 3), sRGB 8 bit, with the overlays named in `kinds` (of KINDS) drawn over it.

    `font` is a TrueType file; left out, names are spelt in ASCII.

    Raises
    ------
    ValueError
        A kind that there is not.
    """
    unknown = [kind for kind in kinds if kind not in KINDS]
    if unknown:
        raise ValueError(f'no overlay is called "{unknown[0]}"; there are {", ".join(KINDS)}')
    stops = stops_from_middle(picture.exposure_xyz[..., 1], picture.exposure.iso)
    base = stops_picture(stops) if "stops" in kinds else picture.srgb
    image = Image.fromarray(base).convert("RGB")
    sheet = _Sheet(picture.view, image, ImageDraw.Draw(image), font, max(11.0, image.height / 48.0), [], [])
    sheet.taken.extend(_body_of(sheet, point) for point in points)
    if "stops" in kinds:
        _draw_legend(sheet)
    times = enlargement(picture.view, points) if "rings" in kinds else 0
    if times:
        sheet.notes.append("blur rings in true size" if times == 1 else f"blur rings {times} times their true size")
    _draw_notes(sheet)
    for point in points:
        _draw_point(sheet, point, times, _words_for(point, kinds))
    if "stops" in kinds:
        _draw_numbers(sheet, stops)
    return np.asarray(sheet.image)


def signed(stops: float, digits: int = 1) -> str:
    """Stops with their sign, ``+0.3``, ``−1.0``."""
    rounded = round(stops, digits)
    return f"{rounded:+.{digits}f}".replace("-", "−") if rounded else f"{0:.{digits}f}"


def _words_for(point: OverlayPoint, kinds: Sequence[str]) -> list[str]:
    """What is written of a point, line by line."""
    lines = []
    if "names" in kinds and point.name:
        lines.append(point.name)
    if "rings" in kinds and _has_ring(point):
        lines.append(f"{1e6 * (point.blur_major or 0.0):.0f} µm")
    if "stops" in kinds and point.stops is not None and np.isfinite(point.stops) and lines:
        lines[-1] += f"  {signed(point.stops)}"
    return lines


def _has_ring(point: OverlayPoint) -> bool:
    return point.blur_major is not None and point.blur_minor is not None and bool(np.isfinite(point.blur_major))


def _body_of(sheet: _Sheet, point: OverlayPoint) -> Box:
    """The box of the face around a person's eyes, or of a mark's cross, so that nothing is written over it. [px]"""
    x, y = to_pixels(sheet.view, point.image)
    if point.is_mark:
        half = _MARK * sheet.view.height
        return (x - half, y - half, x + half, y + half)
    half = _FACE * sheet.view.height
    if point.face is not None:
        half = 0.5 * point.face * sheet.view.width / sheet.view.film.width
    return (x - half, y - 1.2 * half, x + half, y + 1.5 * half)


def _draw_point(sheet: _Sheet, point: OverlayPoint, times: int, lines: Sequence[str]) -> None:
    """A point's ring, `times` its true size (0: none), and its lines of words under it, in one free place."""
    font, spelt = letters(sheet.text, sheet.font)
    words = [spelt(line) for line in lines]
    sizes = [size_of(sheet.draw, line, font, sheet.text) for line in words]
    ring = times > 0 and _has_ring(point)
    pixels = times * sheet.view.width / sheet.view.film.width
    major = max((point.blur_major or 0.0) * pixels, 1.5) if ring else 0.0
    minor = max((point.blur_minor or 0.0) * pixels, 1.5) if ring else 0.0
    if not words and not ring:
        return
    gap = 4.0 if ring and words else 0.0
    wide = max([major, *(w for w, _ in sizes)])
    high = major + gap + sum(h for _, h in sizes)
    body = _body_of(sheet, point)
    box = free_place(_places(body, wide, high, ring), sheet.taken, sheet.frame)
    box = moved_inside(box, sheet.frame)
    sheet.taken.append(box)
    _draw_leader(sheet, body, box)
    if point.is_mark:
        _draw_cross(sheet, body)
    middle, top = 0.5 * (box[0] + box[2]), box[1]
    if ring:
        outline = ellipse_outline((middle, top + 0.5 * major), major, minor, point.blur_angle)
        paint_ring(sheet.image, outline, max(1.0, sheet.text / 12))
    top += major + gap
    for line, (w, h) in zip(words, sizes, strict=True):
        write(sheet.draw, (middle - 0.5 * w, top), line, font, sheet.text)
        top += h


def _places(body: Box, wide: float, high: float, beside: bool) -> list[Box]:
    """Boxes of a size [px] around a body, nearest first: beside it or, for words alone, over it."""
    left, top, right, bottom = body
    gap = 0.2 * (right - left) + 3.0
    x, y = 0.5 * (left + right), 0.5 * (top + bottom)
    corners = []
    for step in (0.0, 0.6, 1.2, 2.0):
        sides = [(right + gap + step * wide, y - 0.5 * high), (left - gap - wide - step * wide, y - 0.5 * high)]
        over = [(x - 0.5 * wide, top - gap - high - step * high), (x - 0.5 * wide, bottom + gap + step * high)]
        askew = [(cx, cy + shift * high) for cx, cy in sides for shift in (-0.7, 0.7)]
        corners += [*sides, over[0], *askew, over[1]] if beside else [over[0], *sides, over[1], *askew]
    return [(cx, cy, cx + wide, cy + high) for cx, cy in corners]


def _draw_leader(sheet: _Sheet, body: Box, box: Box) -> None:
    """A fine line from the edge of a face to what is said of it, so that neighbours are not taken for one another."""
    x, y, half = 0.5 * (body[0] + body[2]), 0.5 * (body[1] + body[3]), 0.5 * (body[2] - body[0])
    end_x, end_y = min(max(x, box[0]), box[2]), min(max(y, box[1]), box[3])
    away = float(np.hypot(end_x - x, end_y - y))
    if away > half + 0.3 * sheet.text:
        share = half / away
        stroke(sheet.draw, (x + share * (end_x - x), y + share * (end_y - y)), (end_x, end_y), sheet.text)


def _draw_cross(sheet: _Sheet, body: Box) -> None:
    x, y, half = 0.5 * (body[0] + body[2]), 0.5 * (body[1] + body[3]), 0.35 * (body[2] - body[0])
    stroke(sheet.draw, (x - half, y), (x + half, y), sheet.text)
    stroke(sheet.draw, (x, y - half), (x, y + half), sheet.text)


def _draw_numbers(sheet: _Sheet, stops: NDArray[np.float32]) -> None:
    """Spot values over a grid, wherever nothing else is written: the mean exposure of each spot, in stops."""
    font, spelt = letters(sheet.text * 0.9, sheet.font)
    height, width = stops.shape
    spot = max(1, round(height / 60))
    for row in range(6):
        for column in range(9):
            y, x = round((row + 0.5) * height / 6), round((column + 0.5) * width / 9)
            part = np.exp2(stops[y - spot : y + spot + 1, x - spot : x + spot + 1].astype(np.float64))
            mean = part.mean()
            words = spelt(signed(float(np.log2(mean))) if mean > 0 else "dark")
            wide, high = size_of(sheet.draw, words, font, sheet.text * 0.9)
            box = (x - 0.5 * wide, y - 0.5 * high, x + 0.5 * wide, y + 0.5 * high)
            if is_free(box, sheet.taken, sheet.frame):
                write(sheet.draw, (box[0], box[1]), words, font, sheet.text * 0.9)


def _draw_legend(sheet: _Sheet) -> None:
    """A strip along the lower edge: each whole stop's colour with its number."""
    font, spelt = letters(sheet.text, sheet.font)
    colours = stop_colours()
    height, each = round(sheet.text * 1.9), sheet.image.width / len(colours)
    top = sheet.image.height - height
    legend = {LOWEST: f"≤ {signed(LOWEST, 0)}", HIGHEST: f"≥ {signed(HIGHEST, 0)}"}
    for i, (stop, colour) in enumerate(zip(range(LOWEST, HIGHEST + 1), colours, strict=True)):
        red, green, blue = (int(v) for v in colour)
        sheet.draw.rectangle((i * each, top, (i + 1) * each, sheet.image.height), fill=(red, green, blue))
        words = spelt(legend.get(stop, signed(stop, 0)))
        wide, high = size_of(sheet.draw, words, font, sheet.text)
        write(sheet.draw, ((i + 0.5) * each - 0.5 * wide, top + 0.5 * (height - high)), words, font, sheet.text)
    sheet.draw.line((0, top, sheet.image.width, top), fill=DARK, width=max(1, round(sheet.text / 10)))
    sheet.taken.append((0.0, float(top), float(sheet.image.width), float(sheet.image.height)))
    sheet.notes.append("stops from middle grey")


def _draw_notes(sheet: _Sheet) -> None:
    """The notes, line by line, in the lower left corner, over the legend."""
    font, spelt = letters(sheet.text, sheet.font)
    floor = min([sheet.frame[3], *(top for left, top, right, _ in sheet.taken if right - left >= sheet.frame[2])])
    for note in sheet.notes:
        words = spelt(note)
        wide, high = size_of(sheet.draw, words, font, sheet.text)
        floor -= 1.35 * high
        write(sheet.draw, (0.8 * sheet.text, floor), words, font, sheet.text)
        sheet.taken.append((0.8 * sheet.text, floor, 0.8 * sheet.text + wide, floor + high))

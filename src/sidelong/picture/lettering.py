"""Words on a picture: dark-edged light letters that read on anything, and a place for them that is still free."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from pathlib import Path

from PIL import ImageDraw, ImageFont

Box = tuple[float, float, float, float]
"""Left, top, right, bottom. [px]"""
Letters = ImageFont.FreeTypeFont | ImageFont.ImageFont

LIGHT, DARK = (255, 255, 255), (16, 18, 24)

_SPELT = {
    "µ": "u",
    "×": "x",
    "−": "-",
    "–": "-",
    "≤": "<=",
    "≥": ">=",
    "ø": "o",
    "Ø": "O",
    "ł": "l",
    "Ł": "L",
    "ß": "ss",
    "æ": "ae",
    "Æ": "AE",
}


def letters(size: float, font: Path | None) -> tuple[Letters, Callable[[str], str]]:
    """A font of a size [px], and how words must be spelt for it: the built-in one, for want of `font`, has ASCII."""
    if font is not None:
        return ImageFont.truetype(str(font), size), lambda words: words
    return ImageFont.load_default(size), _in_ascii


def write(draw: ImageDraw.ImageDraw, at: tuple[float, float], words: str, font: Letters, size: float) -> None:
    """Words with their upper left corner `at` [px], light with a dark edge."""
    draw.text(at, words, font=font, fill=LIGHT, stroke_width=max(1, round(size / 9)), stroke_fill=DARK)


def size_of(draw: ImageDraw.ImageDraw, words: str, font: Letters, size: float) -> tuple[float, float]:
    """Width and height that `write` covers. [px]"""
    edge = max(1, round(size / 9))
    left, top, right, bottom = draw.textbbox((0, 0), words, font=font, stroke_width=edge)
    return right - min(left, 0), bottom - min(top, 0)


def free_place(wanted: Sequence[Box], taken: Sequence[Box], frame: Box) -> Box:
    """The first of the wanted boxes that lies in the frame and overlaps none that is taken; else the least bad."""
    return min(wanted, key=lambda box: _outside(box, frame) * 4.0 + sum(_shared(box, other) for other in taken))


def is_free(box: Box, taken: Sequence[Box], frame: Box) -> bool:
    """Whether a box lies in the frame and overlaps nothing that is taken."""
    return _outside(box, frame) == 0.0 and not any(_shared(box, other) for other in taken)


def moved_inside(box: Box, frame: Box) -> Box:
    """A box moved by as little as brings it inside the frame."""
    right = max(frame[0] - box[0], 0.0) + min(frame[2] - box[2], 0.0)
    down = max(frame[1] - box[1], 0.0) + min(frame[3] - box[3], 0.0)
    return (box[0] + right, box[1] + down, box[2] + right, box[3] + down)


def stroke(draw: ImageDraw.ImageDraw, start: tuple[float, float], end: tuple[float, float], size: float) -> None:
    """A light line in a dark edge between two places [px], as fine as letters of a `size` [px] ask for."""
    fine = max(1, round(size / 14))
    draw.line((start, end), fill=DARK, width=fine + 2)
    draw.line((start, end), fill=LIGHT, width=fine)


def _shared(one: Box, two: Box) -> float:
    """Area that two boxes share. [px2]"""
    width = min(one[2], two[2]) - max(one[0], two[0])
    height = min(one[3], two[3]) - max(one[1], two[1])
    return width * height if width > 0 and height > 0 else 0.0


def _outside(box: Box, frame: Box) -> float:
    """Area of a box outside the frame. [px2]"""
    return (box[2] - box[0]) * (box[3] - box[1]) - _shared(box, frame)


def _in_ascii(words: str) -> str:
    spelt = "".join(_SPELT.get(c, c) for c in words)
    plain = unicodedata.normalize("NFKD", spelt)
    return "".join(c if c.isascii() else "?" for c in plain if not unicodedata.combining(c))

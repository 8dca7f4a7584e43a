"""The letters that ship with the package: Source Sans 3 (OFL) and, where it has no glyph, DejaVu Sans."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from PIL import ImageFont

FOLDER = Path(__file__).parent / "fonts"
FAMILY = "Source Sans 3"
FALLBACK = "DejaVu Sans"


@cache
def _letters(strong: bool) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(FOLDER / f"SourceSans3-{'Semibold' if strong else 'Regular'}.ttf"), 1000)


def width_of(words: str, size: float, strong: bool = False) -> float:
    """Width of words set in the shipped letters at a size, in the size's own unit."""
    wide = sum(0.45 for c in words if ord(c) > 0x2000)
    return (float(_letters(strong).getlength(words)) / 1000 + wide) * size


def shortened(words: str, longest: int) -> str:
    """Words of at most so many characters, cut at the end with an ellipsis."""
    flat = " ".join(words.split())
    return flat if len(flat) <= longest else flat[: longest - 1].rstrip() + "…"

"""Several pictures of one shot in rows on a dark ground, words beneath each: the strip that a day is judged by."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from sidelong.picture.lettering import DARK, LIGHT, letters

Bytes = NDArray[np.uint8]

FRAME = 420
"""Width of a frame, or of a narrower picture its own. [px]"""
GAP = 0.035
"""Space between frames, over their width. [-]"""
HEAD, SMALL = 0.062, 0.045
"""Sizes of the first line of words and of those under it, over a frame's width. [-]"""
ACROSS = (4, 5, 6)
"""Frames in a row, of which the number that leaves fewest places empty is taken."""
DIM = (168, 174, 186)


def film_strip(frames: Sequence[Bytes], words: Sequence[Sequence[str]], font: Path | None = None) -> Bytes:
    """One picture (H, W, 3), sRGB 8 bit, of frames (h, w, 3) of one size, each with its lines of words beneath.

    The first line stands out. `font`: a file; left out, the built-in letters.
    """
    width = min(FRAME, frames[0].shape[1])
    height = max(1, round(width * frames[0].shape[0] / frames[0].shape[1]))
    across = _across(len(frames))
    gap = max(2, round(GAP * width))
    sizes = [max(8.0, HEAD * width), *[max(7.0, SMALL * width)] * (max(map(len, words), default=1) - 1)]
    beneath = round(sum(1.3 * size for size in sizes) + 0.4 * gap)
    rows = -(-len(frames) // across)
    sheet = Image.new("RGB", (across * (width + gap) + gap, rows * (height + beneath + gap) + gap), DARK)
    draw = ImageDraw.Draw(sheet)
    for k, (frame, lines) in enumerate(zip(frames, words, strict=True)):
        left = gap + k % across * (width + gap)
        top = gap + k // across * (height + beneath + gap)
        sheet.paste(Image.fromarray(frame).resize((width, height), Image.Resampling.LANCZOS), (left, top))
        y = top + height + 0.4 * gap
        for line, size in zip(lines, sizes, strict=False):
            face, spelt = letters(size, font)
            draw.text((left, y), spelt(line), font=face, fill=LIGHT if size is sizes[0] else DIM)
            y += 1.3 * size
    return np.asarray(sheet)


def _across(count: int) -> int:
    if count <= ACROSS[-1]:
        return max(1, count)
    return min(ACROSS, key=lambda n: (-count % n, -n))

"""The scales that drawings are printed at."""

from __future__ import annotations

from collections.abc import Sequence

from sidelong.sheet.drawing import Drawing
from sidelong.sheet.svg import paper_size

METRIC = (10, 20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200, 250, 300, 400, 500, 750, 1000, 2000, 5000, 10000)
IMPERIAL = (12, 16, 24, 32, 48, 64, 96, 128, 192, 240, 384, 480, 600, 960, 1200, 2400, 4800, 9600)
"""1:48 is a quarter of an inch to the foot."""


def scale_for(drawings: Sequence[Drawing], width: float, height: float, imperial: bool = False) -> int:
    """The largest usual scale 1:n at which all drawings fit one above another in a box of paper; the smallest
    when none does. [mm in]"""
    for scale in IMPERIAL if imperial else METRIC:
        sizes = [paper_size(drawing, scale) for drawing in drawings]
        if max(s[0] for s in sizes) <= width + 1e-6 and sum(s[1] for s in sizes) <= height + 1e-6:
            return scale
    return (IMPERIAL if imperial else METRIC)[-1]


def scale_in_words(scale: int, imperial: bool = False) -> str:
    """``1:50``, or ``1:48 (1/4 in to the foot)``."""
    if not imperial:
        return f"1:{scale}"
    fractions = {12: "1", 16: "3/4", 24: "1/2", 32: "3/8", 48: "1/4", 64: "3/16", 96: "1/8", 128: "3/32", 192: "1/16"}
    return f"1:{scale} ({fractions[scale]} in to the foot)" if scale in fractions else f"1:{scale}"

"""Blur rings: a blur ellipse of true size and direction, drawn as a fine line."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from sidelong.picture.lettering import DARK, LIGHT
from sidelong.picture.values import OverlayPoint
from sidelong.trace.values import View

RING_SEEN = 0.035
"""Share of the picture's height that the largest ring should reach before no enlargement is asked for. [-]"""
_ENLARGEMENTS = (1, 2, 5, 10, 20, 50, 100)
_FINE = 4


def enlargement(view: View, points: Sequence[OverlayPoint]) -> int:
    """How many times larger than true the rings are drawn: 1 where the largest can be seen as it is. [-]"""
    largest = max((p.blur_major or 0.0 for p in points), default=0.0) * view.height / view.film.height
    wanted = RING_SEEN * view.height
    return next((n for n in _ENLARGEMENTS if largest * n >= wanted), _ENLARGEMENTS[-1] if largest > 0 else 1)


def ellipse_outline(
    centre: tuple[float, float], major: float, minor: float, angle: float, corners: int = 180
) -> NDArray[np.float64]:
    """Corners (C, 2) [px, y down] of an ellipse of full axes [px]; `angle` from x towards the picture's up [rad]."""
    turn = np.linspace(0.0, 2.0 * np.pi, corners, endpoint=False)
    along, across = 0.5 * major * np.cos(turn), 0.5 * minor * np.sin(turn)
    x = along * np.cos(angle) - across * np.sin(angle)
    y = along * np.sin(angle) + across * np.cos(angle)
    return np.column_stack([centre[0] + x, centre[1] - y])


def paint_ring(image: Image.Image, outline: NDArray[np.float64], width: float) -> None:
    """A closed line of a width [px] along an outline (C, 2) [px], light in a dark edge, drawn fine and reduced."""
    reach = width * 2 + 2
    low = np.floor(outline.min(axis=0) - reach).astype(int)
    size = np.ceil(outline.max(axis=0) + reach).astype(int) - low
    closed = np.vstack([outline, outline[:2]])
    path = [(float(x), float(y)) for x, y in (closed - low) * _FINE]
    for colour, wide in ((DARK, width * 2.2), (LIGHT, width)):
        mask = Image.new("L", (int(size[0]) * _FINE, int(size[1]) * _FINE))
        ImageDraw.Draw(mask).line(path, fill=255, width=max(1, round(wide * _FINE)), joint="curve")
        small = mask.resize((int(size[0]), int(size[1])), Image.Resampling.BOX)
        image.paste(colour, (int(low[0]), int(low[1])), small)

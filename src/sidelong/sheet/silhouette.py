"""The outline of a figure as the lens draws it on the film: its mesh projected, filled, and walked around."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from sidelong.sheet.drawing import Point

Points = NDArray[np.float64]

_ACROSS = 1400
"""Cells across the frame that outlines are found on."""


def silhouettes(triangles: Points, frame: tuple[float, float]) -> tuple[tuple[Point, ...], ...]:
    """Outlines on the film of triangles (N, 3, 2), upright from the film's centre, clipped to a frame's width and
    height. [m]

    The triangles are filled on a fine grid, the edges between filled and empty cells strung together, and corners
    left out that lie within half a cell of a straight line.
    """
    width, height = frame
    cell = width / _ACROSS
    rows = round(height / cell)
    mask = Image.new("1", (_ACROSS + 2, rows + 2))
    pen = ImageDraw.Draw(mask)
    cells = (triangles + np.array([width / 2, height / 2])) / cell
    for triangle in cells:
        pen.polygon([(float(x) + 1, float(y) + 1) for x, y in triangle], fill=1)
    filled = np.array(mask)
    filled[[0, -1]] = False
    filled[:, [0, -1]] = False
    loops = [np.array(loop, float) - 1 for loop in _loops(filled)]
    kept = [_straightened(loop, 1.0) for loop in loops if len(loop) > 24]
    return tuple(tuple((float(x * cell - width / 2), float(y * cell - height / 2)) for x, y in loop) for loop in kept)


def _loops(filled: NDArray[np.bool_]) -> list[list[tuple[int, int]]]:
    """Closed runs of grid corners (x, y) around the filled cells, filled on the left."""
    padded = np.pad(filled, 1)
    follow: dict[tuple[int, int], list[tuple[int, int]]] = {}

    def edges(which: NDArray[np.bool_], start: tuple[int, int], end: tuple[int, int]) -> None:
        for y, x in zip(*np.nonzero(which), strict=True):
            follow.setdefault((int(x) + start[0], int(y) + start[1]), []).append((int(x) + end[0], int(y) + end[1]))

    inner = padded[1:-1, 1:-1]
    edges(inner & ~padded[:-2, 1:-1], (0, 0), (1, 0))
    edges(inner & ~padded[2:, 1:-1], (1, 1), (0, 1))
    edges(inner & ~padded[1:-1, :-2], (0, 1), (0, 0))
    edges(inner & ~padded[1:-1, 2:], (1, 0), (1, 1))
    loops = []
    while follow:
        start = next(iter(follow))
        loop, at = [start], start
        while True:
            ahead = follow[at].pop()
            if not follow[at]:
                del follow[at]
            if ahead == start:
                break
            loop.append(ahead)
            at = ahead
        loops.append(loop)
    return loops


def _straightened(loop: Points, within: float) -> Points:
    """Fewer corners: those farther than `within` from the straight line between the ones kept.

    Source: douglas1973.
    """
    far = int(np.argmax(np.hypot(*(loop - loop[0]).T)))
    ring = np.vstack([loop, loop[:1]])
    keep = {0, far, len(ring) - 1}
    spans = [(0, far), (far, len(ring) - 1)]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        off = _off_line(ring[first + 1 : last], ring[first], ring[last])
        most = int(np.argmax(off))
        if off[most] > within:
            middle = first + 1 + most
            keep.add(middle)
            spans += [(first, middle), (middle, last)]
    return ring[sorted(keep)[:-1]]


def _off_line(points: Points, start: Points, end: Points) -> Points:
    way = end - start
    length = float(np.hypot(*way))
    if length < 1e-9:
        return np.asarray(np.hypot(*(points - start).T))
    return np.asarray(np.abs((points - start) @ np.array([-way[1], way[0]])) / length)

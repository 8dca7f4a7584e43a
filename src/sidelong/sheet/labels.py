"""Room for words on a drawing: no two overlap, none leaves the page, and as little ink as can be lies under them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

_DIRECTIONS = np.array([(1, 0), (0, 1), (-1, 0), (0, -1), (1, 1), (-1, 1), (-1, -1), (1, -1)], float)
_RINGS = (0.0, 0.5, 1.0, 1.6, 2.4, 3.3, 4.4, 5.6, 7.0, 9.0, 11.5, 14.5)


@dataclass(frozen=True)
class Wish:
    """Words of a size that want to be near an anchor, `clear` away from it. All in the page's own unit."""

    anchor: tuple[float, float]
    width: float
    height: float
    clear: float = 0.0


@dataclass(frozen=True)
class Spot:
    """Where words go: the centre of their box, and how far that box lies from the anchor."""

    centre: tuple[float, float]
    gap: float


def place_labels(
    wishes: Sequence[Wish], ink: Points, page: tuple[float, float, float, float], taken: Sequence[Wish] = ()
) -> tuple[Spot, ...]:
    """A spot for each wish, the first served first.

    Parameters
    ----------
    wishes : sequence of Wish
        In order of importance.
    ink : (N, 3) float array
        Points that are drawn on, and how much each minds being written over: x, y in the page's unit, weight [-].
    page : (left, bottom, right, top)
        Nothing is set outside it while there is room inside.
    taken : sequence of Wish
        Boxes already written on, centred on their anchors.

    Method
    ------
    Greedy: for every wish the eight directions about its anchor at growing distances are weighed, overlap with
    words already set counting most, then leaving the page, then ink written over, then distance.
    """
    boxes = np.array([_box(np.array(t.anchor), t.width, t.height) for t in taken], float).reshape(-1, 4)
    spots = []
    under = _ink_under(ink, min((w.height for w in wishes), default=1.0) / 6)
    for wish in wishes:
        centres, gaps = _candidates(wish)
        half = np.array([wish.width, wish.height]) / 2
        candidates = np.hstack([centres - half, centres + half])
        cost = 1e4 * _overlap(candidates, boxes) / (wish.width * wish.height)
        cost += 1e3 * _outside(candidates, page) / wish.height
        cost += under(candidates)
        cost += 1.2 * gaps / wish.height + np.tile(np.linspace(0, 0.2, len(_DIRECTIONS)), len(_RINGS))
        best = int(np.argmin(cost))
        boxes = np.vstack([boxes, candidates[best]])
        spots.append(Spot((float(centres[best, 0]), float(centres[best, 1])), float(gaps[best])))
    return tuple(spots)


def _box(centre: Points, width: float, height: float) -> Points:
    half = np.array([width, height]) / 2
    return np.hstack([centre - half, centre + half])


def _candidates(wish: Wish) -> tuple[Points, Points]:
    """Centres (R * 8, 2) and the gap of each."""
    gaps = np.repeat(np.array(_RINGS) * wish.height, len(_DIRECTIONS))
    directions = np.tile(_DIRECTIONS, (len(_RINGS), 1))
    unit = directions / np.linalg.norm(directions, axis=1, keepdims=True)
    reach = wish.clear + gaps
    half = np.array([wish.width, wish.height]) / 2
    return np.array(wish.anchor) + unit * reach[:, None] + directions * half, gaps


def _overlap(candidates: Points, boxes: Points) -> Points:
    """Summed area of overlap with boxes already set, (C,)."""
    if not len(boxes):
        return np.zeros(len(candidates))
    low = np.maximum(candidates[:, None, :2], boxes[None, :, :2])
    high = np.minimum(candidates[:, None, 2:], boxes[None, :, 2:])
    return np.asarray(np.prod(np.clip(high - low, 0, None), axis=2).sum(axis=1))


def _outside(candidates: Points, page: tuple[float, float, float, float]) -> Points:
    """How far each candidate sticks out of the page, (C,)."""
    low, high = np.array(page[:2]), np.array(page[2:])
    return np.asarray(
        np.clip(low - candidates[:, :2], 0, None).sum(axis=1) + np.clip(candidates[:, 2:] - high, 0, None).sum(axis=1)
    )


def _ink_under(ink: Points, cell: float) -> Callable[[Points], Points]:
    """A function that gives the summed weight of ink in each candidate's box, (C,), by a summed-area table.

    Source: crow1984.
    """
    if not len(ink):
        return lambda candidates: np.zeros(len(candidates))
    origin = ink[:, :2].min(axis=0)
    index = np.floor((ink[:, :2] - origin) / cell).astype(int)
    sums = np.zeros(tuple(index.max(axis=0) + 2))
    np.add.at(sums, (index[:, 0] + 1, index[:, 1] + 1), ink[:, 2])
    sums = sums.cumsum(axis=0).cumsum(axis=1)
    last = np.array(sums.shape) - 1

    def under(candidates: Points) -> Points:
        low = np.clip(np.floor((candidates[:, :2] - origin) / cell).astype(int), 0, last)
        high = np.clip(np.ceil((candidates[:, 2:] - origin) / cell).astype(int), 0, last)
        (a, b), (c, d) = low.T, high.T
        return np.asarray(sums[c, d] - sums[a, d] - sums[c, b] + sums[a, b])

    return under

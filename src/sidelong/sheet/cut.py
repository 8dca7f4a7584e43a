"""A flat cut through the place, on which things are drawn: the plan at a height, the elevation along the camera.

What is known in space is brought onto it the same way for both: points are projected, planes leave a trace, the
zone within the blur limit is sampled on it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.frames_of_reference import BodyFrame
from sidelong.lens.blur import blur
from sidelong.lens.coverage import rays_out
from sidelong.lens.geometry import geometry_of
from sidelong.plan.values import FocusPlan
from sidelong.sheet.drawing import Box, Line, Pen, Point, Polygon, clip_line

Points = NDArray[np.float64]


@dataclass(frozen=True)
class Cut:
    """`origin`, and the unit vectors `across` and `up` of the page, all (3,) place frame. [m]

    `film_axis` is the picture's direction that this cut shows: 0 its width (plan), 1 its height (elevation).
    """

    origin: Points
    across: Points
    up: Points
    film_axis: Literal[0, 1]

    def project(self, point: ArrayLike) -> Point:
        """Where a point (3,) of the place frame falls on the page. [m]"""
        offset = np.asarray(point, float) - self.origin
        return float(offset @ self.across), float(offset @ self.up)

    def project_all(self, points: ArrayLike) -> tuple[Point, ...]:
        """Where points (N, 3) of the place frame fall on the page. [m]"""
        return tuple(self.project(p) for p in np.asarray(points, float).reshape(-1, 3))

    def direction(self, vector: ArrayLike) -> Point:
        """A direction (3,) of the place frame as it is seen on the page, not normalised."""
        v = np.asarray(vector, float)
        return float(v @ self.across), float(v @ self.up)

    def lift(self, page: ArrayLike) -> Points:
        """Points (N, 3) of the place frame from points (N, 2) of the page. [m]"""
        uv = np.asarray(page, float)
        return np.asarray(self.origin + uv[..., :1] * self.across + uv[..., 1:] * self.up)


def plan_cut(height: float) -> Cut:
    """The plan, cut level at a height above the place's origin: the page's axes are the place's x and y. [m]"""
    return Cut(np.array([0.0, 0.0, height]), np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), 0)


def camera_cut(frame: BodyFrame) -> Cut:
    """The upright cut through the camera's axis, seen from the camera's right: it looks to the right of the page.

    The page's x runs level from below the camera along its axis, y up from the place's z = 0.
    """
    level = np.array([frame.forward[0], frame.forward[1], 0.0])
    origin = np.array([frame.at[0], frame.at[1], 0.0])
    return Cut(origin, level / np.linalg.norm(level), np.array([0.0, 0, 1.0]), 1)


def plane_trace(cut: Cut, normal: ArrayLike, offset: float, box: Box) -> tuple[Point, Point] | None:
    """The straight line in which the plane normal . X = offset (place frame) meets the cut, within a box of the page;
    None when it does not. [m]"""
    n = np.asarray(normal, float)
    page_normal = np.array([n @ cut.across, n @ cut.up])
    steep = float(np.hypot(*page_normal))
    if steep < 1e-9:
        return None
    page_normal /= steep
    foot = page_normal * (offset - float(n @ cut.origin)) / steep
    along = np.array([-page_normal[1], page_normal[0]])
    reach = float(np.hypot(*foot)) + sum(abs(side) for side in box) + 1.0
    start, end = foot - along * reach, foot + along * reach
    return clip_line((start[0], start[1]), (end[0], end[1]), box)


def zone_ticks(cut: Cut, focus: FocusPlan, film_size: float, box: Box, spacing: float) -> tuple[Line, ...]:
    """The zone on the cut within the shot's blur limit and inside the picture, as lines square to the plane of focus.

    Parameters
    ----------
    film_size : float
        The film's side that this cut shows. [m]
    box : Box
        Of the page; nothing is drawn outside it. [m]
    spacing : float
        Between lines. [m]

    Method
    ------
    The exact blur is sampled along each line, and the ends found by linear interpolation between samples; where
    the blur is within the limit the line is drawn. Nothing is taken to be flat.
    """
    trace = plane_trace(cut, focus.plane_normal, focus.plane_offset, box)
    if trace is None:
        return ()
    a, b = np.array(trace[0]), np.array(trace[1])
    length = float(np.hypot(*(b - a)))
    if length < 1e-6:
        return ()
    along = (b - a) / length
    square = np.array([-along[1], along[0]])
    corners = np.array([(box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])])
    reach_u = (corners - a) @ along
    reach_v = (corners - a) @ square
    starts = np.arange(math.floor(reach_u.min() / spacing), math.ceil(reach_u.max() / spacing) + 1) * spacing
    steps = _fine_near_zero(float(reach_v.min()), float(reach_v.max()))
    page = a + starts[:, None, None] * along + steps[None, :, None] * square
    excess = _excess(cut, focus, film_size, box, page)
    lines: list[Line] = []
    for row, values in zip(page, excess, strict=True):
        lines += [Line((_pair(p), _pair(q)), "zone") for p, q in _runs_below_zero(row, values)]
    return tuple(lines)


def _fine_near_zero(low: float, high: float) -> Points:
    """Sample positions, every 5 mm within 0.4 m of the plane, every 25 mm beyond. [m]"""
    near = np.arange(max(low, -0.4), min(high, 0.4) + 1e-9, 0.005)
    below, above = np.arange(low, min(-0.4, high), 0.025), np.arange(max(0.4, low), high + 0.025, 0.025)
    return np.unique(np.concatenate([below, near, above]))


def _excess(cut: Cut, focus: FocusPlan, film_size: float, box: Box, page: Points) -> Points:
    """Blur over its limit less one, > 0 also where a point is behind the lens, off the film or off the page."""
    patch = blur(geometry_of(focus.setting), focus.frame.to_body(cut.lift(page)))
    off_film = np.abs(patch.image[..., cut.film_axis]) > film_size / 2
    off_page = (page < np.array(box[:2])).any(axis=-1) | (page > np.array(box[2:])).any(axis=-1)
    excess = patch.major / focus.blur_limit - 1.0
    return np.where(off_film | off_page | ~np.isfinite(excess), 9.0, np.clip(excess, -1.0, 9.0))


def _runs_below_zero(row: Points, values: Points) -> list[tuple[Points, Points]]:
    """Stretches of a sampled line (N, 2) where its value is not above zero, their ends interpolated."""
    inside = values <= 0
    edges = np.flatnonzero(np.diff(np.concatenate([[False], inside, [False]]).astype(int)))
    runs = []
    for first, past in zip(edges[::2], edges[1::2], strict=True):
        start, end = row[first], row[past - 1]
        if first > 0 and values[first - 1] < 9.0:
            start = _crossing(row, values, first, first - 1)
        if past < len(row) and values[past] < 9.0:
            end = _crossing(row, values, past - 1, past)
        runs.append((start, end))
    return runs


def _crossing(row: Points, values: Points, inner: int, outer: int) -> Points:
    share = values[inner] / (values[inner] - values[outer])
    return np.asarray(row[inner] + (row[outer] - row[inner]) * share)


def _pair(p: Points) -> Point:
    return float(p[0]), float(p[1])


def picture_edges(cut: Cut, focus: FocusPlan, film_size: float) -> tuple[tuple[Point, Point], tuple[Point, Point]]:
    """The two rays that bound the picture on this cut: for each, where it starts and its unit direction on the page.

    They leave the middle of the pupil for the middles of two opposite edges of the picture: left and right on the
    plan, below and above on the elevation.
    """
    image = np.zeros((2, 2))
    image[:, cut.film_axis] = -film_size / 2, film_size / 2
    origin, ways = rays_out(geometry_of(focus.setting), image)
    start = cut.project(focus.frame.to_place(origin))
    first, second = (cut.direction(focus.frame.direction_to_place(w)) for w in ways)
    return (start, _unit(first)), (start, _unit(second))


def _unit(direction: Point) -> Point:
    size = math.hypot(*direction)
    return direction[0] / size, direction[1] / size


def outline(cut: Cut, corners: ArrayLike, pen: Pen) -> Polygon:
    """The outline on the page of a convex body or a flat panel, given by its corners (N, 3), place frame. [m]"""
    return Polygon(convex_outline(cut.project_all(corners)), pen)


def convex_outline(points: Sequence[Point]) -> tuple[Point, ...]:
    """Convex hull of points of the page, anticlockwise by Andrew's monotone chain. [m]

    Source: andrew1979.
    """
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return tuple(ordered)

    def half(run: Sequence[Point]) -> list[Point]:
        chain: list[Point] = []
        for p in run:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], p) <= 0:
                chain.pop()
            chain.append(p)
        return chain[:-1]

    return tuple(half(ordered) + half(ordered[::-1]))


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

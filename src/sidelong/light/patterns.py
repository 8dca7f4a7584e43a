"""How an emitter gives out its light: intensity over direction, and what arrives where, nothing in the way.

Three patterns in closed form. "sphere": the same luminance all over a small ball. "beam": a small disc whose
intensity at an angle off the axis is I0 cos^n, n = ln 1/2 / ln cos(beam / 2): it halves at beam/2, n = 1 is Lambert.
"lambert": a flat front of one luminance, seen under the cosine; behind a grid of black tubes its luminance falls
with the part of a tube's mouth that is seen through the other end. And the tables of luminaire files: from a flat
front whose luminance depends on direction alone, or a ball of which the same is true.

Source
------
lambert1760; cosine-power beams and tubes: derived, docs/computed/light.md
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.light.distribution import from_front, intensity, of_front, total_flux
from sidelong.light.form_factor import polygon_illuminance
from sidelong.light.values import Emitter

Values = NDArray[np.float64]

_DISC_SIDES = 96
_NODES = np.polynomial.legendre.leggauss(24)
_MORE_NODES = np.polynomial.legendre.leggauss(64)
"""For a front with a grid, of which a receptor nearby sees a patch only."""


def beam_exponent(beam: float) -> float:
    """n of a beam whose intensity cos^n halves at beam/2 off the axis; `beam` full angle. [rad, -]

    Raises
    ------
    ValueError
        Not between 0 and 180 degrees.
    """
    if not 0.0 < beam < math.pi:
        raise ValueError(f"a beam angle between 0 and 180 degrees was expected, not {math.degrees(beam):g}")
    return math.log(0.5) / math.log(math.cos(beam / 2))


def grid_transmission(cosine: ArrayLike, grid: float) -> Values:
    """Part of a front's luminance that a grid lets out at an angle off the axis, from 1 on the axis to 0. [-]

    `cosine` (...) of that angle; `grid` is the full angle of the grid's cut [rad]. The overlap of two circles a
    tube's depth apart: (2 / pi)(acos x - x sqrt(1 - x^2)), x = tan(angle) / tan(grid / 2).
    """
    c = np.clip(np.asarray(cosine, float), 1e-9, 1.0)
    x = np.clip(np.sqrt(1.0 - c * c) / c / math.tan(grid / 2), 0.0, 1.0)
    return np.asarray(2.0 / math.pi * (np.arccos(x) - x * np.sqrt(1.0 - x * x)))


@lru_cache(maxsize=64)
def grid_solid_angle(grid: float | None) -> float:
    """Flux over axial intensity of a Lambertian front with a grid; pi without one. [sr]"""
    if grid is None or grid >= math.pi:
        return math.pi
    nodes, weights = _MORE_NODES
    angle = grid / 4 * (nodes + 1.0)
    values = grid_transmission(np.cos(angle), grid) * np.cos(angle) * np.sin(angle)
    return float(2.0 * math.pi * grid / 4 * np.sum(weights * values))


def front_area(emitter: Emitter) -> float:
    """Area of the front. The octagon's size is measured over its flats, a disc's over its diameters. [m2]"""
    width, height = emitter.size
    factor = {"rectangle": 1.0, "octagon": 2.0 * (math.sqrt(2.0) - 1.0), "disc": math.pi / 4}[emitter.shape]
    return factor * width * height * (1.0 - emitter.hole**2)


def front_outline(emitter: Emitter) -> Values:
    """Corners of the front, (V, 3), place frame, anticlockwise for whoever it shines at. [m]

    A disc comes as 96 corners on an ellipse of equal area.
    """
    width, height = emitter.size
    if emitter.shape == "rectangle":
        flat = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    elif emitter.shape == "octagon":
        s = math.sqrt(2.0) - 1.0
        flat = np.array([[-1, -s], [-s, -1], [s, -1], [1, -s], [1, s], [s, 1], [-s, 1], [-1, s]], dtype=float)
    else:
        turn = np.arange(_DISC_SIDES) * (2 * math.pi / _DISC_SIDES)
        swell = math.sqrt(2 * math.pi / _DISC_SIDES / math.sin(2 * math.pi / _DISC_SIDES))
        flat = np.stack([np.cos(turn), np.sin(turn)], axis=-1) * swell
    up = np.asarray(emitter.up)
    right = np.cross(up, np.asarray(emitter.axis))
    corners = flat[:, :1] * (width / 2) * right + flat[:, 1:] * (height / 2) * up
    return np.asarray(np.asarray(emitter.at) + corners)


def axial_intensity(emitter: Emitter) -> float:
    """Luminous intensity along the axis, seen from far away. [cd, or cd s for flash]"""
    if emitter.pattern == "sphere":
        return emitter.flux / (4.0 * math.pi)
    if emitter.pattern == "beam":
        return emitter.flux * (beam_exponent(emitter.beam) + 1.0) / (2.0 * math.pi)
    if emitter.pattern == "table":
        return float(table_intensity(emitter, np.asarray(emitter.axis, float)))
    return forward_flux(emitter) / grid_solid_angle(emitter.grid)


def forward_flux(emitter: Emitter) -> float:
    """What of a front's flux goes the way it faces. [lm, or lm s]"""
    return emitter.flux / (2.0 if emitter.both else 1.0 + emitter.behind)


def table_intensity(emitter: Emitter, directions: ArrayLike) -> Values:
    """Luminous intensity of an emitter with a table towards unit directions (..., 3), place frame. [cd, or cd s]"""
    table = emitter.table
    assert table is not None
    way, axis, up = np.asarray(directions, float), np.asarray(emitter.axis), np.asarray(emitter.up)
    right = np.cross(axis, up)
    vertical = np.arccos(np.clip(way @ axis, -1.0, 1.0))
    front = from_front(table)
    shining = of_front(table) if front else table
    candela = intensity(shining, vertical, np.arctan2(way @ up, way @ right))
    return np.asarray(candela * (emitter.flux / total_flux(shining)))


def is_ball(emitter: Emitter) -> bool:
    """Whether a light's body is a ball; else it is a flat front."""
    if emitter.pattern == "table":
        return emitter.table is not None and not from_front(emitter.table)
    return emitter.pattern == "sphere"


def relative_intensity(emitter: Emitter, cosine: ArrayLike) -> Values:
    """Intensity over the axial one at directions whose cosine to the axis is given (...); 0 behind. [-]"""
    c = np.asarray(cosine, float)
    if emitter.pattern == "sphere":
        return np.ones_like(c)
    front = np.maximum(c, 0.0)
    if emitter.pattern == "beam":
        return np.asarray(front ** beam_exponent(emitter.beam))
    grid = 1.0 if emitter.grid is None else grid_transmission(front, emitter.grid)
    return np.asarray(front * grid)


def illuminance_on_axis(emitter: Emitter, distance: float) -> float:
    """Illuminance of a flat receptor on the axis, turned to the emitter's middle, nothing in the way.

    `distance` from the emitter's middle [m]. In closed form for all but a front with a grid, which is summed over
    its area. [lx, or lx s]

    Raises
    ------
    ValueError
        The distance is not positive, or lies inside the ball.
    """
    if not distance > 0:
        raise ValueError(f"a distance in front of the light was expected, not {distance:g} m")
    if emitter.pattern == "sphere":
        if distance <= emitter.size[0] / 2:
            raise ValueError(f"{distance:g} m from its middle lies inside the light")
        return axial_intensity(emitter) / distance**2
    if emitter.pattern == "table" or emitter.hole > 0:
        axis = np.asarray(emitter.axis)
        return float(illuminance_at(emitter, np.asarray(emitter.at) + distance * axis, -axis))
    if emitter.pattern == "beam":
        n, radius = beam_exponent(emitter.beam), emitter.size[0] / 2
        share = -math.expm1(-(n + 1.0) / 2.0 * math.log1p((radius / distance) ** 2))
        return axial_intensity(emitter) / (math.pi * radius**2) * 2.0 * math.pi / (n + 1.0) * share
    if emitter.shape == "disc" and emitter.grid is None and emitter.size[0] == emitter.size[1]:
        radius = emitter.size[0] / 2
        return emitter.flux / front_area(emitter) * radius**2 / (radius**2 + distance**2)
    axis = np.asarray(emitter.axis)
    return float(illuminance_at(emitter, np.asarray(emitter.at) + distance * axis, -axis))


def illuminance_at(emitter: Emitter, points: ArrayLike, normals: ArrayLike) -> Values:
    """Illuminance of flat receptors (..., 3) with unit axes (..., 3), place frame, nothing in the way.

    Lambertian fronts without a grid by the polygon formula; the rest summed over the disc or front (576 patches, 4096
    behind a grid, which near a broad front leaves up to 1 %);
    a ball as a point at its middle, exact (with a table: far away) while all of it is above the receptor's horizon.
    [lx, or lx s]
    """
    at = np.asarray(points, float)
    axis = np.broadcast_to(np.asarray(normals, float), at.shape)
    if emitter.pattern == "lambert" and emitter.grid is None:
        luminance, outline = forward_flux(emitter) / (math.pi * front_area(emitter)), front_outline(emitter)
        whole = polygon_illuminance(outline, at, axis, luminance)
        behind = 1.0 if emitter.both else emitter.behind
        if behind > 0:
            whole = whole + polygon_illuminance(outline[::-1], at, axis, luminance * behind)
        if emitter.hole <= 0:
            return whole
        middle = replace(emitter, size=(emitter.size[0] * emitter.hole, emitter.size[1] * emitter.hole), hole=0.0)
        return whole - polygon_illuminance(front_outline(middle), at, axis, luminance)
    patches, shares = _patches(emitter)
    away = at[..., None, :] - patches
    squared = np.maximum(np.sum(away * away, axis=-1), 1e-12)
    distance = np.sqrt(squared)
    arriving = np.maximum(-np.einsum("...pk,...k->...p", away, axis) / distance, 0.0)
    if emitter.pattern == "table":
        candela = table_intensity(emitter, away / distance[..., None])
    else:
        cosine = np.sum(away * np.asarray(emitter.axis), axis=-1) / distance
        candela = axial_intensity(emitter) * relative_intensity(emitter, cosine)
    return np.asarray(np.sum(shares * candela * arriving / squared, axis=-1))


def _patches(emitter: Emitter) -> tuple[Values, Values]:
    """Middles (P, 3) and shares (P,) of the patches that a front or disc is summed over."""
    at, up = np.asarray(emitter.at, float), np.asarray(emitter.up, float)
    if is_ball(emitter):
        return at[None, :], np.ones(1)
    nodes, weights = _NODES if emitter.grid is None else _MORE_NODES
    turns = len(nodes)
    right = np.cross(up, np.asarray(emitter.axis))
    half_width, half_height = emitter.size[0] / 2, emitter.size[1] / 2
    if emitter.pattern == "beam" or emitter.shape == "disc":
        radius = np.sqrt(emitter.hole**2 + (1.0 - emitter.hole**2) * (nodes + 1.0) / 2.0)
        turn = (np.arange(turns) + 0.5) * (2 * math.pi / turns)
        x = (radius[:, None] * np.cos(turn)).ravel()
        y = (radius[:, None] * np.sin(turn)).ravel()
        shares = np.repeat(weights / 2.0, turns) / turns
    else:
        x, y = (grid.ravel() for grid in np.meshgrid(nodes, nodes))
        shares = np.outer(weights, weights).ravel() / 4.0
        if emitter.shape == "octagon":
            inside = np.abs(x) + np.abs(y) <= math.sqrt(2.0)
            shares = np.where(inside, shares, 0.0)
            shares = shares / np.sum(shares)
    return at + (x * half_width)[:, None] * right + (y * half_height)[:, None] * up, shares

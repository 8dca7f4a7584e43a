"""Luminous intensity over direction as a luminaire file tabulates it: completed by its symmetry, summed, looked up.

Angles are those of C planes: `vertical` is 0 along the light's axis and pi behind it, `horizontal` turns from 0 on
the light's right to pi/2 upwards, as seen from behind it. Between the tabulated angles the intensity is bilinear,
and the flux is the exact integral of that.

Source
------
ieslm63, eulumdat (what the angles mean, symmetry); bilinear interpolation: common practice, no source
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sidelong.light.values import Distribution

Values = NDArray[np.float64]

BEHIND = 0.005
"""A distribution of which less than this part of the flux goes backwards comes from a flat front."""
VERTICALS, HORIZONTALS = 361, 73
"""Angles of the regular table that light paths look intensities up in: every half degree and every five."""
PLANES = 145
"""Planes that tables of other angles are turned into: every two and a half degrees."""


def completed(vertical: ArrayLike, horizontal: ArrayLike, candela: ArrayLike) -> tuple[Values, Values, Values]:
    """The whole turn of a table that states half of it, a quarter, or one plane.

    Parameters
    ----------
    vertical, horizontal : (V,), (H,) ascending
        [rad]
    candela : (H, V)
        [cd]

    Returns
    -------
    vertical (V,), horizontal (K,) from 0 to 2 pi, candela (K, V)
        [rad, rad, cd]

    Raises
    ------
    ValueError
        The planes span none of 0, 0 to 90, 0 to 180, 90 to 270, 270 to 450, 0 to 360 degrees.
    """
    v, h, values = np.asarray(vertical, float), np.asarray(horizontal, float), np.asarray(candela, float)
    turn = 2.0 * math.pi
    first, last = h[0] / turn * 360.0, h[-1] / turn * 360.0
    if len(h) == 1:
        return v, np.array([0.0, turn]), np.repeat(values, 2, axis=0)
    if _near(first, 0) and _near(last, 360):
        return v, np.concatenate([[0.0], h[1:-1], [turn]]), values
    if _near(first, 0) and _near(last, 90):
        h, values = np.concatenate([h, math.pi - h[-2::-1]]), np.concatenate([values, values[-2::-1]])
        last = 180.0
    if _near(first, 0) and _near(last, 180):
        return v, np.concatenate([h, turn - h[-2::-1]]), np.concatenate([values, values[-2::-1]])
    if (_near(first, 90) and _near(last, 270)) or (_near(first, 270) and _near(last, 450)):
        both = np.concatenate([h, math.pi - h]) % turn
        return (v, *_whole_turn(both, np.concatenate([values, values])))
    raise ValueError(
        "planes from 0 to 90, 0 to 180, 90 to 270 or 0 to 360 degrees, or a single one, "
        f"were expected, not from {first:g} to {last:g}"
    )


def of_type_a(vertical: Values, across: Values, candela: Values) -> tuple[Values, Values, Values]:
    """A table whose planes are upright, as one by the angles that are used here, dark where it says nothing.

    Parameters
    ----------
    vertical, across : (V,), (H,) ascending
        Up from the axis in each plane, and of the planes to the right, within a quarter turn either way; from 0 on:
        the same on the other side. [rad]
    candela : (H, V)
        [cd]

    Returns
    -------
    vertical (VERTICALS,), horizontal (PLANES,), candela (PLANES, VERTICALS)
        [rad, rad, cd]

    Source
    ------
    ieslm63
    """
    v, h, (along, right, up) = _ways()
    return v, h, _looked_up((vertical, across), candela, np.arcsin(np.clip(up, -1, 1)), np.arctan2(right, along))


def of_type_b(vertical: Values, across: Values, candela: Values) -> tuple[Values, Values, Values]:
    """A table whose planes share a level axis, as one by the angles that are used here, dark where it says nothing.

    As `of_type_a`, but `vertical` (V,) turns the plane up, and `across` (H,) runs to the right in it: with the angles
    g from the axis and C, tan(vertical) = sin C tan g and sin(across) = cos C sin g.

    Source
    ------
    ieslm63
    """
    v, h, (along, right, up) = _ways()
    return v, h, _looked_up((vertical, across), candela, np.arctan2(up, along), np.arcsin(np.clip(right, -1, 1)))


def _ways() -> tuple[Values, Values, tuple[Values, Values, Values]]:
    """A fine grid of this module's angles (V,) and (H,), and its unit vectors' parts along the axis, right, up."""
    v, h = np.linspace(0.0, math.pi, VERTICALS), np.linspace(0.0, 2.0 * math.pi, PLANES)
    along = np.broadcast_to(np.cos(v), (len(h), len(v)))
    return v, h, (along, np.cos(h)[:, None] * np.sin(v), np.sin(h)[:, None] * np.sin(v))


def _looked_up(angles: tuple[Values, Values], candela: Values, up: Values, right: Values) -> Values:
    """Bilinear between a table's angles (V,) and (H,), 0 beyond them; angles from 0 on serve both sides."""
    cells = []
    beyond = np.zeros(up.shape, bool)
    for known, asked in zip(angles, (up, right), strict=True):
        at = np.abs(asked) if known[0] > -1e-9 else asked
        i = np.clip(np.searchsorted(known, at, side="right") - 1, 0, max(len(known) - 2, 0))
        after = np.minimum(i + 1, len(known) - 1)
        cells.append((i, after, np.clip((at - known[i]) / np.maximum(known[after] - known[i], 1e-12), 0.0, 1.0)))
        beyond |= (at < known[0] - 1e-9) | (at > known[-1] + 1e-9)
    (j, j2, t), (i, i2, s) = cells
    low = candela[i, j] * (1 - t) + candela[i, j2] * t
    high = candela[i2, j] * (1 - t) + candela[i2, j2] * t
    return np.where(beyond, 0.0, low * (1 - s) + high * s)


def tilted(distribution: Distribution, height: float) -> float:
    """How bright the lamp of a luminaire burns, over how it was measured, with its axis at a `height` over the
    horizon; 1 where the file does not say. [rad in, -]"""
    if not distribution.tilt:
        return 1.0
    angles, factors = zip(*distribution.tilt, strict=True)
    turned = abs(height) if distribution.measured_level else height + math.pi / 2
    return float(np.interp(turned, angles, factors))


def around(horizontal: Values, candela: Values) -> tuple[Values, Values]:
    """Planes (H,) that go round without the one at a whole turn, with it: (H + 1,) [rad], (H + 1, V) [cd]."""
    return _whole_turn(horizontal % (2.0 * math.pi), candela)


def total_flux(distribution: Distribution) -> float:
    """Flux of the intensities as tabulated, the whole sphere. [lm]"""
    return _integral(distribution.vertical, distribution.horizontal, distribution.candela)


def from_front(distribution: Distribution) -> bool:
    """Whether next to nothing goes backwards, so that the light comes from a flat front and not from a ball."""
    behind = _integral(*_cut(distribution, math.pi / 2, math.pi))
    return behind <= BEHIND * total_flux(distribution)


def of_front(distribution: Distribution) -> Distribution:
    """The part of it that goes forwards."""
    vertical, horizontal, candela = _cut(distribution, 0.0, math.pi / 2)
    return replace(distribution, vertical=vertical, horizontal=horizontal, candela=candela)


def intensity(distribution: Distribution, vertical: ArrayLike, horizontal: ArrayLike) -> Values:
    """Intensity as tabulated at directions by their angles (...) [rad]; 0 where the table says nothing. [cd]"""
    v, h = np.broadcast_arrays(np.asarray(vertical, float), np.asarray(horizontal, float) % (2.0 * math.pi))
    known_v, known_h, candela = distribution.vertical, distribution.horizontal, distribution.candela
    i = np.clip(np.searchsorted(known_h, h, side="right") - 1, 0, len(known_h) - 2)
    j = np.clip(np.searchsorted(known_v, v, side="right") - 1, 0, len(known_v) - 2)
    s = (h - known_h[i]) / (known_h[i + 1] - known_h[i])
    t = np.clip((v - known_v[j]) / (known_v[j + 1] - known_v[j]), 0.0, 1.0)
    low = candela[i, j] * (1 - t) + candela[i, j + 1] * t
    high = candela[i + 1, j] * (1 - t) + candela[i + 1, j + 1] * t
    inside = (v >= known_v[0] - 1e-9) & (v <= known_v[-1] + 1e-9)
    return np.where(inside, low * (1 - s) + high * s, 0.0)


def regular_table(distribution: Distribution) -> Values:
    """Intensity of one lumen on the regular grid of angles (HORIZONTALS, VERTICALS), its bilinear flux exactly 1
    (over the front hemisphere alone if it comes from a front). [cd]"""
    vertical = np.linspace(0.0, math.pi, VERTICALS)
    horizontal = np.linspace(0.0, 2.0 * math.pi, HORIZONTALS)
    candela = intensity(distribution, vertical[None, :], horizontal[:, None])
    front = vertical <= math.pi / 2 + 1e-9 if from_front(distribution) else np.ones(VERTICALS, bool)
    return np.asarray(candela / _integral(vertical[front], horizontal, candela[:, front]))


def _near(degrees: float, wanted: float) -> bool:
    return abs(degrees - wanted) < 0.05


def _whole_turn(horizontal: Values, candela: Values) -> tuple[Values, Values]:
    """Planes in any order, some of them twice, as one turn from 0 to 2 pi."""
    _, index = np.unique(np.round(horizontal, 9), return_index=True)
    h, values = horizontal[index], candela[index]
    turn = 2.0 * math.pi
    if h[0] > 1e-9:
        share = (turn - h[-1]) / (turn - h[-1] + h[0])
        seam = values[-1] * (1 - share) + values[0] * share
        h, values = np.concatenate([[0.0], h]), np.concatenate([seam[None], values])
    return np.concatenate([h, [turn]]), np.concatenate([values, values[:1]])


def _cut(distribution: Distribution, low: float, high: float) -> tuple[Values, Values, Values]:
    """The table between two vertical angles [rad], both of them in it."""
    v = distribution.vertical
    inside = v[(v > low) & (v < high)]
    angles = np.concatenate([[max(low, v[0])], inside, [min(high, v[-1])]])
    angles = np.unique(angles) if angles[-1] > angles[0] else np.array([low, high])
    horizontal = distribution.horizontal
    return angles, horizontal, intensity(distribution, angles[None, :], horizontal[:, None])


def _integral(vertical: Values, horizontal: Values, candela: Values) -> float:
    """Integral over the sphere of an intensity that is linear in both angles between its points."""
    a, b = vertical[:-1], vertical[1:]
    step = b - a
    weight_b = np.where(step > 0, (np.sin(b) - np.sin(a)) / np.maximum(step, 1e-300) - np.cos(b), 0.0)
    weight_a = np.cos(a) - np.cos(b) - weight_b
    planes = candela[:, :-1] @ weight_a + candela[:, 1:] @ weight_b
    return float(np.sum((planes[:-1] + planes[1:]) / 2 * np.diff(horizontal)))

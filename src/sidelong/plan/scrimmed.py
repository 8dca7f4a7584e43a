"""What a light is to a face when something that scatters hangs between them: the lit part of that, not the light.

A scrim or net counts where it scatters more than it lets straight through; of several in a line the one nearest to
the face does.

Source
------
common practice, no source: a scrim is as large a light as the patch of it that is lit; by half its brightest, our own
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sidelong.light.patterns import relative_intensity, table_intensity
from sidelong.light.values import Emitter
from sidelong.trace.stand_ins import emitter_mesh
from sidelong.trace.values import Sheet, Stage

Array = NDArray[np.float64]

CELLS = 80
"""Pieces of a sheet along each side by which its lit part is found."""


def scrim_before(stage: Stage, eyes: Array, to_light: Array, reach: float) -> Sheet | None:
    """The scattering sheet nearest to a face that a ray from the `eyes` (3,) along a unit vector meets within `reach`
    [m]; None where there is none. Place frame."""
    found: list[tuple[float, Sheet]] = []
    for sheet in stage.sheets:
        if sheet.diffuse <= sheet.straight:
            continue
        across, up, normal = _sides(sheet)
        slope = float(to_light @ normal)
        if abs(slope) < 1e-9:
            continue
        far = float((np.array(sheet.at) - eyes) @ normal) / slope
        on = eyes + far * to_light - np.array(sheet.at)
        within = abs(on @ across) <= sheet.size[0] / 2 and abs(on @ up) <= sheet.size[1] / 2
        if 0.0 < far < reach and within:
            found.append((far, sheet))
    return min(found, key=lambda pair: pair[0])[1] if found else None


def lit_by_sun(sheet: Sheet) -> Array:
    """Corners (4, 3) of a sheet: the sun lights the whole of it alike. [m]"""
    across, up, _ = _sides(sheet)
    corners = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]]) * np.array(sheet.size)
    return np.asarray(np.array(sheet.at) + corners[:, :1] * across + corners[:, 1:] * up)


def lit_by(sheet: Sheet, emitters: Sequence[Emitter]) -> Array:
    """Points (V, 3) whose hull is the part of a sheet that heads light to half of its brightest. [m]"""
    across, up, normal = _sides(sheet)
    # the edges of the cells count, so that a sheet lit alike is found whole
    steps = (np.arange(CELLS + 1) / CELLS) - 0.5
    u, v = np.meshgrid(steps * sheet.size[0], steps * sheet.size[1])
    points = np.array(sheet.at) + u[..., None] * across + v[..., None] * up
    light = np.zeros(points.shape[:2])
    for emitter in emitters:
        light += _illuminance(emitter, points, normal)
    return np.asarray(points[light >= 0.5 * light.max()])


def _illuminance(emitter: Emitter, points: Array, normal: Array) -> Array:
    """Of points (..., 3) of a sheet by a head, over a figure that is the same for all of its points. [lx or lx s]"""
    body = emitter_mesh(emitter).vertices
    total = np.zeros(points.shape[:-1])
    # its outline and its middle, so that a front near the sheet lights more of it than a point would
    for at in [*body[:: max(1, len(body) // 16)], body.mean(axis=0)]:
        way = points - at
        squared = np.maximum((way**2).sum(-1), 1e-6)
        way = way / np.sqrt(squared)[..., None]
        if emitter.table is not None:
            given = table_intensity(emitter, way)
        else:
            cosine = way @ (np.array(emitter.axis) / np.linalg.norm(emitter.axis))
            given = relative_intensity(emitter, cosine) * emitter.flux
        total += given * np.abs(way @ normal) / squared
    return total


def _sides(sheet: Sheet) -> tuple[Array, Array, Array]:
    """Unit vectors across and up a sheet, and its normal."""
    normal = np.array(sheet.axis, float) / np.linalg.norm(sheet.axis)
    up = np.array(sheet.up, float) - normal * float(np.array(sheet.up) @ normal)
    up /= np.linalg.norm(up)
    return np.cross(up, normal), up, normal

"""Kinds of block made of twine, rope, wicker and cork: what a fishing crew works with."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from sidelong.geometry.builders import ellipsoid, joined, sheet, strands, tube, turned
from sidelong.geometry.mesh import Mesh
from sidelong.place.parts import Part, Shape

Points = NDArray[np.float64]
_MOST_STRANDS = 9000
_TWINE = 0.0016
"""Half the twine's thickness: 3 mm twine, as trawl netting has. [m]"""


def float_(shape: Shape) -> list[Part]:
    """A net float: an ellipsoid with a waist band and a rope eye on top."""
    half = shape.size / 2
    body = ellipsoid([0, 0, half[2]], half * np.array([1, 1, 0.94]), rings=16, sides=24)
    angle = np.linspace(0.15 * np.pi, -1.15 * np.pi, 14)
    ring = 0.28 * float(half.min())
    eye = np.stack([ring * np.cos(angle), 0 * angle, shape.size[2] * 0.95 + ring * (0.45 - np.sin(angle) * 0.6)], 1)
    band = turned(
        [[half[0] * 0.985, half[2] - 0.07 * half[2]], [half[0] * 1.02, half[2]],
         [half[0] * 0.985, half[2] + 0.07 * half[2]]], sides=24,
    )  # fmt: skip
    parts = [Part("float", body, shape.finish), Part("eye", tube(eye, 0.1 * ring + 0.004, 6), "rope hemp")]
    if abs(half[0] - half[1]) < 0.1 * half[0]:
        parts.append(Part("band", band, "tar black"))
    return parts


def rope(shape: Shape) -> list[Part]:
    """A coil of rope on the floor: turns on turns, loosely laid, one end left over."""
    radius, height = float(min(shape.size[:2])) / 2, float(shape.size[2])
    thick = float(np.clip(height / 6, 0.009, 0.02))
    layers = max(1, int(height / (1.7 * thick)))
    turns = layers * 3
    t = np.linspace(0, turns, turns * 22)
    layer = t // 3
    inner = 0.62 * radius
    across = np.abs((t % 6) - 3) / 3
    waver = 0.02 * radius * np.sin(2 * np.pi * t * 0.37 + 1.3) + 0.015 * radius * np.sin(2 * np.pi * t * 1.9)
    r = inner + (radius - thick - inner) * across + waver
    z = thick + (height - 2 * thick) * np.clip((layer + (t % 3) * 0.08) / max(layers - 0.8, 1), 0, 1)
    coil = np.stack([r * np.cos(2 * np.pi * t), r * np.sin(2 * np.pi * t), z], axis=1)
    return [Part("coil", tube(coil, thick, 7), shape.finish)]


def net(shape: Shape) -> list[Part]:
    """A net that hangs: diamond meshes between a head rope and a foot rope, in folds, floats along the head."""
    length, width, height = shape.size
    columns, rows = _meshes_of(length * 1.15, height)
    fold = _folds(shape.random, length)
    u = np.linspace(0, 1, columns)
    s, t = np.meshgrid(u, np.linspace(0, 1, rows), indexing="ij")
    sag = 0.06 * height * np.sin(np.pi * ((s * 3) % 1))
    x = -length / 2 + length * s + 0.012 * np.sin(9 * t + 14 * s)
    y = width / 2 * fold(s) * (0.25 + 0.75 * t)
    z = height - sag - t * (height - sag * 0.3 - 0.03 * height * (1 + np.sin(7 * s + 1)))
    grid = np.stack([x, y, z], axis=-1)
    twine = _diamonds(grid, _TWINE)
    head = tube(grid[:, 0], 0.007, 6)
    corks = [
        ellipsoid(grid[int(k), 0], [0.055, 0.035, 0.035], 8, 12)
        for k in np.linspace(2, columns - 3, max(2, int(length / 0.45)))
    ]
    return [
        Part("twine", twine, shape.finish),
        Part("head rope", head, "rope hemp"),
        Part("corks", joined(corks), "cork"),
    ]


def net_heap(shape: Shape) -> list[Part]:
    """A net thrown down: a crumpled dark core, loose meshes over it, a few floats half buried."""
    length, width, _ = shape.size
    outer = _hill(shape, 64, 34, lift=1.0)
    core = _hill(shape, 48, 26, lift=0.86)
    twine = _diamonds(_crumpled(outer, shape.random, 0.035), _TWINE)
    along = shape.random.uniform(-0.35, 0.35, 5)
    corks = []
    for k, x in enumerate(along):
        y = shape.random.uniform(-0.25, 0.25)
        top = outer[int((x + 0.5) * 63), int((y + 0.5) * 33)]
        corks.append(ellipsoid(top + np.array([0, 0, 0.01]), [0.055, 0.036 + 0.002 * k, 0.036], 8, 12))
    wander = np.linspace(0, 1, 90)
    line = np.stack(
        [
            length * (wander - 0.5) * 0.92,
            width * 0.3 * np.sin(9 * wander) * np.cos(4 * wander),
            0 * wander,
        ],
        axis=1,
    )
    row = np.clip(((line[:, 0] / length + 0.5) * 63).astype(int), 0, 63)
    column = np.clip(((line[:, 1] / width + 0.5) * 33).astype(int), 0, 33)
    line[:, 2] = outer[row, column, 2] + 0.012
    return [
        Part("heap", sheet(core), f"dark {shape.finish}"),
        Part("twine", twine, shape.finish),
        Part("rope", tube(line, 0.008, 6), "rope hemp"),
        Part("corks", joined(corks), "cork"),
    ]


def net_lap(shape: Shape) -> list[Part]:
    """A net over someone's knees: from the back (+y) at its full height, over the lap, down to the floor at -y."""
    length, width, height = shape.size
    columns, rows = int(np.clip(length / 0.021, 30, 130)), 66
    s, t = np.meshgrid(np.linspace(0, 1, columns), np.linspace(0, 1, rows), indexing="ij")
    fold = _folds(shape.random, length)
    # level over the lap for the first two fifths, then down as cloth falls, then out over the floor
    path = np.array([[0, 0.97], [0.2, 1.0], [0.42, 0.96], [0.52, 0.72], [0.60, 0.30], [0.70, 0.06], [1.0, 0.03]])
    run = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    run /= run[-1]
    y = width / 2 - width * np.interp(t, run, path[:, 0]) + 0.05 * width * fold(s) * (t > 0.3)
    z = height * np.interp(t, run, path[:, 1]) + 0.02 * np.sin(11 * s + 5 * t)
    x = length * (s - 0.5) * (0.75 + 0.25 * t) + 0.02 * np.sin(17 * t + 3 * s)
    grid = _crumpled(np.stack([x, y, np.maximum(z, 0.008)], axis=-1), shape.random, 0.012)
    return [
        Part("twine", _diamonds(grid, _TWINE), shape.finish),
        Part("edge", tube(grid[:, 0], 0.006, 6), "rope hemp"),
    ]


def basket(shape: Shape) -> list[Part]:
    """A wicker basket: woven rings on staves, a rolled rim, open at the top."""
    height, radius = float(shape.size[2]), float(min(shape.size[:2])) / 2
    rows = max(4, int(height / 0.02))
    angle = np.linspace(0, 2 * np.pi, 49)
    weave = []
    for k in range(rows):
        z = (k + 0.5) / rows
        r = radius * (0.78 + 0.2 * z) + 0.006 * np.cos(12 * angle + np.pi * (k % 2))
        line = np.stack([r * np.cos(angle), r * np.sin(angle), np.full(49, z * height)], axis=1)
        weave.append(tube(line, 0.5 * height / rows, 5, caps=False))
    rim = np.stack([0.99 * radius * np.cos(angle), 0.99 * radius * np.sin(angle), np.full(49, height)], axis=1)
    weave.append(tube(rim, 0.014, 6, caps=False))
    bottom = turned([[radius * 0.78, 0.0], [radius * 0.78, 0.01]], sides=24)
    return [Part("wicker", joined(weave), shape.finish), Part("bottom", bottom, shape.finish)]


def creel(shape: Shape) -> list[Part]:
    """A creel: a slatted base, three hoops, netting over them, ropes along."""
    length, width, height = shape.size
    x, y = length / 2, width / 2
    base = [tube([[-x, b, 0.015], [x, b, 0.015]], 0.014, 6) for b in np.linspace(-y, y, 5)]
    base += [tube([[a, -y, 0.03], [a, y, 0.03]], 0.016, 6) for a in (-x + 0.02, 0.0, x - 0.02)]
    arc = np.linspace(0, np.pi, 15)
    hoop = np.stack([0 * arc, y * np.cos(arc), 0.02 + (height - 0.02) * np.sin(arc) ** 0.75], axis=1)
    hoops = [tube(hoop + np.array([a, 0, 0]), 0.012, 7) for a in (-x + 0.02, 0.0, x - 0.02)]
    columns, rows = _meshes_of(length, height + width, knot=0.07)
    s = np.linspace(-x + 0.02, x - 0.02, columns)
    bend = np.linspace(0, np.pi, rows)
    skin = np.empty((columns, rows, 3))
    skin[:, :, 0] = s[:, None]
    skin[:, :, 1] = 0.98 * y * np.cos(bend)
    skin[:, :, 2] = 0.02 + 0.98 * (height - 0.02) * np.sin(bend) ** 0.75
    return [
        Part("frame", joined(base + hoops), shape.finish),
        Part("netting", _diamonds(skin, _TWINE), "net twine green"),
    ]


def curtain(shape: Shape) -> list[Part]:
    """A cloth that hangs in folds from a rail along its top."""
    length, width, height = shape.size
    s, t = np.meshgrid(np.linspace(0, 1, 120), np.linspace(0, 1, 16), indexing="ij")
    fold = _folds(shape.random, length * 1.6)
    y = width / 2 * fold(s) * (0.6 + 0.4 * t)
    x = length * (s - 0.5) * (1 - 0.02 * np.sin(2 * t))
    cloth = sheet(np.stack([x, y, height * (1 - t)], axis=-1))
    rail = tube([[-length / 2 - 0.03, 0, height], [length / 2 + 0.03, 0, height]], 0.012, 8)
    return [Part("cloth", cloth, shape.finish), Part("rail", rail, "rusty steel")]


def _meshes_of(length: float, height: float, knot: float = 0.055) -> tuple[int, int]:
    """How many knots along and down, so that the whole keeps under the most strands allowed."""
    while 2 * (length / knot) * (height / knot) > _MOST_STRANDS:
        knot *= 1.08
    return max(8, int(length / knot)), max(8, int(height / knot))


def _diamonds(grid: Points, radius: float) -> Mesh:
    """Twine along the diagonals of a grid of knots (C, R, 3): every second knot, so that the meshes are diamonds."""
    column, row = np.meshgrid(np.arange(grid.shape[0]), np.arange(grid.shape[1]), indexing="ij")
    tied = (column + row) % 2 == 0
    starts, ends = [], []
    for step in (1, -1):
        inside = tied & (row + 1 < grid.shape[1]) & (column + step >= 0) & (column + step < grid.shape[0])
        starts.append(grid[column[inside], row[inside]])
        ends.append(grid[column[inside] + step, row[inside] + 1])
    return strands(np.concatenate(starts), np.concatenate(ends), radius)


def _folds(random: np.random.Generator, length: float) -> Callable[[Points], Points]:
    """A function of 0..1 that swings between -1 and 1 about twice a metre, never quite regularly."""
    rates = 2 * np.pi * max(length, 0.4) * np.array([0.7, 1.6, 2.9])
    phase = random.uniform(0, 2 * np.pi, 3)
    return lambda s: (0.5 * np.sin(rates[0] * s + phase[0]) + 0.35 * np.sin(rates[1] * s + phase[1])
                      + 0.15 * np.sin(rates[2] * s + phase[2]))  # fmt: skip


def _hill(shape: Shape, columns: int, rows: int, lift: float) -> Points:
    """An uneven hill over the block's ground, (C, R, 3), flat at its rim. [m]"""
    length, width, height = shape.size
    random = np.random.default_rng(int(1e6 * length) + int(1e3 * width))
    s, t = np.meshgrid(np.linspace(-1, 1, columns), np.linspace(-1, 1, rows), indexing="ij")
    rim = np.clip(1 - s**4, 0, 1) * np.clip(1 - t**2, 0, 1) ** 0.8
    lumps = np.zeros_like(s)
    for _ in range(14):
        a, b, p = random.normal(0, 5, 1), random.normal(0, 3, 1), random.uniform(0, 2 * np.pi)
        lumps += 0.09 * np.sin(a * s * max(length, 0.5) + b * t + p)
    z = lift * height * np.clip(rim * (0.7 + lumps), 0, 1)
    return np.stack([s * length / 2, t * width / 2, z + 0.004], axis=-1)


def _crumpled(grid: Points, random: np.random.Generator, size: float) -> Points:
    """The grid with its knots moved about at random, never under the floor. [m]"""
    moved = grid + random.normal(0, size / 2, grid.shape)
    moved[..., 2] = np.maximum(moved[..., 2], 0.004)
    return moved

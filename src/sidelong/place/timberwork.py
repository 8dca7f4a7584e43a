"""Kinds of block made of timber: boards, benches, crates, beams, barrels."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from sidelong.geometry.builders import beam_between, box, joined, loft, turned
from sidelong.geometry.mesh import Mesh
from sidelong.place.parts import Part, Shape

GAP = 0.006
"""Between two boards. [m]"""


def plain(shape: Shape) -> list[Part]:
    """A plain box."""
    half = shape.size / 2
    return [Part("box", box([-half[0], -half[1], 0], [half[0], half[1], shape.size[2]]), shape.finish)]


def bench(shape: Shape) -> list[Part]:
    """A bench: planks along it with gaps, trestle legs, a stretcher under the seat."""
    length, width, height = shape.size
    thick = min(0.045, height / 4)
    seat = _boards((length, width, thick), shape.random, wide=0.15, lift=height - thick)
    inset = min(0.35, length / 6)
    count = max(2, round((length - 2 * inset) / 1.5) + 1)
    legs = []
    for x in np.linspace(-length / 2 + inset, length / 2 - inset, count):
        legs += [
            beam_between([x, side * width * 0.3, height - thick], [x, side * width * 0.45, 0.0], 0.06, 0.05)
            for side in (-1, 1)
        ]
        legs.append(box([x - 0.02, -width * 0.42, height - thick - 0.09], [x + 0.02, width * 0.42, height - thick]))
    low = height - thick - 0.07
    rail = box([-length / 2 + inset, -0.018, low - 0.05], [length / 2 - inset, 0.018, low + 0.02])
    return [Part("seat", seat, shape.finish), Part("legs", joined([*legs, rail]), shape.finish)]


def table(shape: Shape) -> list[Part]:
    """A table with a boarded top and four legs."""
    length, width, height = shape.size
    top = _boards((length, width, 0.04), shape.random, wide=0.17, lift=height - 0.04)
    under = height - 0.04
    x, y = length / 2 - 0.09, width / 2 - 0.09
    legs = [box([a * x - 0.035, b * y - 0.035, 0], [a * x + 0.035, b * y + 0.035, under]) for a, b in _CORNERS]
    legs += [box([-x, b * y - 0.012, under - 0.11], [x, b * y + 0.012, under]) for b in (-1, 1)]
    legs += [box([a * x - 0.012, -y, under - 0.11], [a * x + 0.012, y, under]) for a in (-1, 1)]
    return [Part("top", top, shape.finish), Part("legs", joined(legs), shape.finish)]


def stool(shape: Shape) -> list[Part]:
    """A round stool on three splayed legs."""
    height, radius = shape.size[2], float(min(shape.size[:2])) / 2
    seat = turned([[radius * 0.93, height - 0.04], [radius, height - 0.03], [radius, height - 0.01],
                   [radius * 0.94, height]], sides=24, smooth=False)  # fmt: skip
    angle = np.arange(3) * 2 * np.pi / 3 + 0.4
    legs = [
        beam_between([0.5 * radius * np.cos(a), 0.5 * radius * np.sin(a), height - 0.03],
                     [0.92 * radius * np.cos(a), 0.92 * radius * np.sin(a), 0.0], 0.035, 0.035)
        for a in angle
    ]  # fmt: skip
    return [Part("seat", seat, shape.finish), Part("legs", joined(legs), shape.finish)]


def crate(shape: Shape) -> list[Part]:
    """An open fish crate: corner posts, slats with gaps on four sides, a boarded bottom."""
    length, width, height = shape.size
    x, y = length / 2, width / 2
    thick = 0.014
    bits = [
        box([min(a * x, a * (x - 0.04)), min(b * (y - thick), b * (y - 0.05)), 0.01],
            [max(a * x, a * (x - 0.04)), max(b * (y - thick), b * (y - 0.05)), height])
        for a, b in _CORNERS
    ]  # fmt: skip
    rows = max(2, round(height / 0.11))
    pitch = height / rows
    for k in range(rows):
        low, high = k * pitch + 0.5 * GAP, (k + 1) * pitch - 2.5 * GAP
        tilt = shape.random.normal(0, 0.002, 4)
        bits += [box([-x, b * y - thick / 2, low + t], [x, b * y + thick / 2, high + t])
                 for b, t in zip((-1, 1), tilt[:2], strict=True)]  # fmt: skip
        bits += [box([a * (x - 0.04) - thick / 2, -y, low + t], [a * (x - 0.04) + thick / 2, y, high + t])
                 for a, t in zip((-1, 1), tilt[2:], strict=True)]  # fmt: skip
    bottom = _boards((length - 0.08, width - 0.03, 0.012), shape.random, wide=0.1, lift=0.005)
    return [Part("slats", joined(bits), shape.finish), Part("bottom", bottom, shape.finish)]


def planks(shape: Shape) -> list[Part]:
    """Boards side by side with gaps: upright when the block is taller than deep (a plank wall, a door leaf), level
    when it lies (a deck). Upright boards get two ledges across their back (+y)."""
    length, width, height = shape.size
    if height <= 2 * width:
        deck = _boards((length, width, height), shape.random, wide=0.16)
        return [Part("boards", deck, shape.finish)]
    count = max(1, round(length / 0.14))
    edges = np.linspace(-length / 2, length / 2, count + 1)
    thick = min(width, 0.03)
    ends = shape.random.uniform(0, min(0.012, height / 50), (count, 2))
    boards = [
        box([a + GAP / 2, -width / 2, low], [b - GAP / 2, -width / 2 + thick, height - high])
        for a, b, (low, high) in zip(edges[:-1], edges[1:], ends, strict=True)
    ]
    ledges = []
    if width > thick + 0.01:
        back = (-width / 2 + thick, width / 2)
        ledges = [box([-length / 2 + 0.04, back[0], z - 0.06], [length / 2 - 0.04, back[1], z + 0.06])
                  for z in (0.16 * height, 0.82 * height)]  # fmt: skip
    return [Part("boards", joined(boards + ledges), shape.finish)]


def beam(shape: Shape) -> list[Part]:
    """A hewn beam or post along its longest side: a little crooked, its arrises taken off."""
    size = shape.size
    axis = int(np.argmax(size))
    first, second = (axis + 1) % 3, (axis + 2) % 3
    a, b = size[first] / 2, size[second] / 2
    cut = 0.12 * min(a, b)
    outline = np.array([[-a + cut, -b], [a - cut, -b], [a, -b + cut], [a, b - cut],
                        [a - cut, b], [-a + cut, b], [-a, b - cut], [-a, -b + cut]])  # fmt: skip
    count = max(2, int(size[axis] / 0.35) + 1)
    wander = np.clip(shape.random.normal(0, 0.05, (count, 1, 2)), -0.12, 0.12) * np.array([a, b])
    rings = np.empty((count, 8, 3))
    rings[:, :, axis] = np.linspace(-size[axis] / 2, size[axis] / 2, count)[:, None]
    section = outline * 0.94 + 0.5 * wander
    rings[:, :, first], rings[:, :, second] = section[:, :, 0], section[:, :, 1]
    rings[:, :, 2] += size[2] / 2
    return [Part("beam", loft(rings, smooth=False), shape.finish)]


def shelf(shape: Shape) -> list[Part]:
    """Shelves one above the other between two uprights, open at the back."""
    length, width, height = shape.size
    x, y = length / 2, width / 2
    sides = [box([a, -y, 0], [a + 0.022, y, height]) for a in (-x, x - 0.022)]
    count = max(2, round(height / 0.38))
    boards = [box([-x + 0.022, -y, z - 0.02], [x - 0.022, y, z]) for z in np.linspace(0.06, height - 0.02, count)]
    return [Part("boards", joined(sides + boards), shape.finish)]


def ladder(shape: Shape) -> list[Part]:
    """A ladder that leans: its foot at -y, its head at +y."""
    length, width, height = shape.size
    foot, head = np.array([0, -width / 2, 0.0]), np.array([0, width / 2, height])
    side = np.array([length / 2 - 0.03, 0, 0])
    stiles = [beam_between(foot + s * side, head + s * side, 0.035, 0.07) for s in (-1, 1)]
    rungs = max(2, int(np.hypot(width, height) / 0.28))
    steps = [beam_between(p - side, p + side, 0.03, 0.03)
             for p in (foot + (head - foot) * (k + 0.5) / rungs for k in range(rungs))]  # fmt: skip
    return [Part("ladder", joined(stiles + steps), shape.finish)]


def oar(shape: Shape) -> list[Part]:
    """An oar that leans: its blade down at -x, its grip up at +x."""
    length, width, height = shape.size
    foot, head = np.array([-length / 2, 0, 0.0]), np.array([length / 2, 0, height])
    along = (head - foot) / np.linalg.norm(head - foot)
    whole = float(np.linalg.norm(head - foot))
    neck = foot + along * 0.3 * whole
    return [
        Part("loom", _rod(neck, head, 0.024), shape.finish),
        Part("blade", beam_between(foot, neck, 0.012, min(0.16, width)), shape.finish),
    ]


def barrel(shape: Shape) -> list[Part]:
    """A coopered barrel with four iron hoops."""
    height, radius = shape.size[2], float(min(shape.size[:2])) / 2
    z = np.linspace(0, 1, 13)
    swell = radius * (0.80 + 0.20 * np.sin(np.pi * z))
    inner = [[0.88 * swell[-1], height], [0.88 * swell[-1], 0.95 * height]]
    staves = turned(np.vstack([np.stack([swell, z * height], axis=1), inner]), sides=26)
    hoops = []
    for low in (0.03, 0.24, 0.70, 0.91):
        rim = [np.interp(low, z, swell), np.interp(low + 0.06, z, swell)]
        hoops.append(
            turned([[rim[0] + 0.001, low * height], [rim[0] + 0.005, low * height],
                    [rim[1] + 0.005, (low + 0.06) * height], [rim[1] + 0.001, (low + 0.06) * height]], sides=26)
        )  # fmt: skip
    return [Part("staves", staves, shape.finish), Part("hoops", joined(hoops), "rusty steel")]


_CORNERS = ((-1, -1), (-1, 1), (1, -1), (1, 1))


def _boards(size: ArrayLike, random: np.random.Generator, wide: float, lift: float = 0.0) -> Mesh:
    """Boards along x, side by side over y, each a hair higher or lower than the next."""
    length, width, thick = np.asarray(size, float)
    count = max(1, round(width / wide))
    edges = np.linspace(-width / 2, width / 2, count + 1)
    proud = random.uniform(0, min(0.004, thick / 6), count)
    ends = random.uniform(0, min(0.01, length / 60), (count, 2))
    return joined(
        [
            box([-length / 2 + e[0], a + GAP / 2, lift], [length / 2 - e[1], b - GAP / 2, lift + thick - p])
            for a, b, p, e in zip(edges[:-1], edges[1:], proud, ends, strict=True)
        ]
    )


def _rod(start: ArrayLike, end: ArrayLike, radius: float) -> Mesh:
    from_, to = np.asarray(start, float), np.asarray(end, float)
    along = to - from_
    side = np.cross([0.0, 1.0, 0.0], along)
    side = side / np.linalg.norm(side)
    up = np.cross(along / np.linalg.norm(along), side)
    angle = np.linspace(0, 2 * np.pi, 8, endpoint=False)
    circle = radius * (np.cos(angle)[:, None] * side + np.sin(angle)[:, None] * up)
    return loft(np.stack([from_ + circle, to + circle]))

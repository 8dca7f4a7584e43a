"""Kinds of block made of steel and glass: posts, beams, rails, pipes, bulbs, a tram."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import ArrayLike

from sidelong.geometry.builders import box, ellipsoid, joined, loft, rectangle, tube, turned
from sidelong.geometry.mesh import Mesh
from sidelong.place.parts import Part, Shape


def bulb(shape: Shape) -> list[Part]:
    """A clear bulb on its flex, unlit; it hangs from the top of the block."""
    height, radius = float(shape.size[2]), float(min(shape.size[:2])) / 2
    glass = turned([[0.004, 0.0], [0.6 * radius, 0.12 * radius], [radius, radius], [0.8 * radius, 1.7 * radius],
                    [0.35 * radius, 2.4 * radius]], sides=18)  # fmt: skip
    cap = turned(
        [[0.4 * radius, 2.4 * radius], [0.4 * radius, 3.3 * radius], [0.15 * radius, 3.6 * radius]], sides=14
    )
    flex = tube([[0, 0, 3.6 * radius], [0.004, 0, height / 2], [0, 0, max(height, 3.7 * radius)]], 0.003, 6)
    return [
        Part("glass", glass, "glass 0.9"),
        Part("cap", cap, "brass"),
        Part("flex", flex, "black rubber"),
    ]


def lantern(shape: Shape) -> list[Part]:
    """A storm lantern, unlit: a tank, a glass chimney, a wire guard, a handle."""
    height, r = float(shape.size[2]), float(min(shape.size[:2])) / 2
    h = 0.78 * height
    tank = turned([[r, 0], [r, 0.2 * h], [0.8 * r, 0.27 * h], [0.35 * r, 0.3 * h]], sides=20)
    chimney = turned([[0.45 * r, 0.3 * h], [0.75 * r, 0.5 * h], [0.42 * r, 0.8 * h]], sides=20)
    hood = turned([[0.6 * r, 0.8 * h], [0.7 * r, 0.84 * h], [0.4 * r, h]], sides=20)
    angle = np.linspace(0, np.pi, 15)
    handle = np.stack([0.95 * r * np.cos(angle), 0 * angle, 0.55 * h + (height - 0.55 * h) * np.sin(angle)], axis=1)
    side = [tube([[s * 0.95 * r, 0, 0.1 * h], [s * 0.95 * r, 0, 0.9 * h]], 0.006, 6) for s in (-1, 1)]
    return [
        Part("tank", joined([tank, hood]), shape.finish),
        Part("chimney", chimney, "glass 0.9"),
        Part("wire", joined([tube(handle, 0.003, 6), *side]), shape.finish),
    ]


def steel_post(shape: Shape) -> list[Part]:
    """A rolled steel column: an I section on a base plate, bolts and a bracket at the head."""
    x, y, height = shape.size
    web, flange = max(0.01, 0.08 * y), max(0.012, 0.1 * y)
    bits = [
        box([-x / 2, -y / 2, 0.02], [x / 2, -y / 2 + flange, height]),
        box([-x / 2, y / 2 - flange, 0.02], [x / 2, y / 2, height]),
        box([-web / 2, -y / 2 + flange, 0.02], [web / 2, y / 2 - flange, height]),
        box([-x / 2 - 0.05, -y / 2 - 0.05, 0], [x / 2 + 0.05, y / 2 + 0.05, 0.02]),
    ]
    bolts = [
        ellipsoid([a * (x / 2 + 0.03), b * (y / 2 + 0.03), 0.03], [0.014, 0.014, 0.014], 6, 8)
        for a in (-1, 1) for b in (-1, 1)
    ]  # fmt: skip
    rivets = [
        ellipsoid([a * x * 0.3, b * y / 2, z], [0.012, 0.008, 0.012], 6, 8)
        for a in (-1, 1) for b in (-1, 1) for z in np.arange(0.4, height - 0.1, 0.45)
    ]  # fmt: skip
    return [Part("post", joined(bits), shape.finish), Part("rivets", joined(bolts + rivets), shape.finish)]


def steel_beam(shape: Shape) -> list[Part]:
    """A rolled steel joist along its longer level side: an I section with the web upright."""
    x, y, height = shape.size
    along = 0 if x >= y else 1
    length, wide = (x, y) if along == 0 else (y, x)
    flange, web = 0.1 * height, max(0.01, 0.08 * wide)
    section = [(-wide / 2, wide / 2, 0.0, flange), (-wide / 2, wide / 2, height - flange, height)]
    section.append((-web / 2, web / 2, flange, height - flange))
    bits = []
    for a, b, low, high in section:
        corners = [[-length / 2, a, low], [length / 2, b, high]]
        if along == 1:
            corners = [[a, -length / 2, low], [b, length / 2, high]]
        bits.append(box(*corners))
    return [Part("joist", joined(bits), shape.finish)]


def rails(shape: Shape) -> list[Part]:
    """Two rails along the longer side, as far apart as the block is wide, polished on top."""
    length, gauge, height = shape.size
    sides, tops = [], []
    for b in (-1, 1):
        y = b * (gauge / 2 - 0.035)
        sides.append(box([-length / 2, y - 0.06, 0], [length / 2, y + 0.06, 0.2 * height]))
        sides.append(box([-length / 2, y - 0.009, 0.2 * height], [length / 2, y + 0.009, 0.75 * height]))
        tops.append(box([-length / 2, y - 0.032, 0.75 * height], [length / 2, y + 0.032, height]))
    return [Part("heads", joined(tops), "polished steel"), Part("rails", joined(sides), shape.finish)]


def pipe(shape: Shape) -> list[Part]:
    """A pipe along the longest side, with flanges."""
    axis = int(np.argmax(shape.size))
    radius = float(np.min(np.delete(shape.size, axis))) / 2
    end = np.zeros(3)
    end[axis] = shape.size[axis] / 2
    middle = np.array([0, 0, shape.size[2] / 2])
    bits = [tube([middle - end, middle, middle + end], 0.8 * radius, 14)]
    for k in np.linspace(-0.8, 0.8, max(2, int(shape.size[axis] / 1.5) + 1)):
        here = middle + k * end
        thick = end / max(float(np.linalg.norm(end)), 1e-9) * 0.015
        bits.append(tube([here - thick, here + thick], radius, 14))
    return [Part("pipe", joined(bits), shape.finish)]


def workbench(shape: Shape) -> list[Part]:
    """A fitter's bench: a thick top on a steel frame, a vice, a shelf under it."""
    length, width, height = shape.size
    x, y = length / 2, width / 2
    top = box([-x, -y, height - 0.07], [x, y, height])
    frame = [
        box([a * (x - 0.08) - 0.03, b * (y - 0.08) - 0.03, 0],
            [a * (x - 0.08) + 0.03, b * (y - 0.08) + 0.03, height - 0.07])
        for a in (-1, 1) for b in (-1, 1)
    ]  # fmt: skip
    frame.append(box([-x + 0.05, -y + 0.05, 0.25], [x - 0.05, y - 0.05, 0.28]))
    vx = -x + min(0.35, length / 4)
    vice = [
        box([vx - 0.06, -y - 0.02, height], [vx + 0.06, -y + 0.16, height + 0.06]),
        box([vx - 0.075, -y - 0.01, height + 0.06], [vx + 0.075, -y + 0.03, height + 0.15]),
        box([vx - 0.075, -y + 0.08, height + 0.06], [vx + 0.075, -y + 0.13, height + 0.15]),
        tube([[vx, -y - 0.12, height + 0.08], [vx, -y + 0.05, height + 0.08]], 0.014, 8),
        tube([[vx - 0.09, -y - 0.11, height + 0.08], [vx + 0.09, -y - 0.11, height + 0.08]], 0.008, 8),
    ]
    return [
        Part("top", top, shape.finish),
        Part("frame", joined(frame), "painted metal green"),
        Part("vice", joined(vice), "rusty steel"),
    ]


def locker(shape: Shape) -> list[Part]:
    """A row of steel lockers, their doors on -y, with vents and handles."""
    length, width, height = shape.size
    x, y = length / 2, width / 2
    body = box([-x, -y + 0.012, 0], [x, y, height])
    count = max(1, round(length / 0.32))
    edges = np.linspace(-x, x, count + 1)
    doors, dark = [], []
    for a, b in itertools.pairwise(edges):
        doors.append(box([a + 0.006, -y, 0.05], [b - 0.006, -y + 0.01, height - 0.03]))
        doors.append(box([b - 0.06, -y - 0.02, 0.52 * height], [b - 0.045, -y, 0.6 * height]))
        dark += [box([a + 0.08, -y - 0.001, z], [b - 0.08, -y + 0.003, z + 0.008])
                 for z in height * np.array([0.85, 0.875, 0.9])]  # fmt: skip
    return [
        Part("doors", joined(doors), shape.finish),
        Part("body", body, shape.finish),
        Part("vents", joined(dark), "black cloth"),
    ]


def wheelset(shape: Shape) -> list[Part]:
    """Two flanged wheels on an axle along y."""
    _, width, height = shape.size
    r = height / 2
    half = width / 2
    profile = [(0.25 * r, -half), (0.96 * r, -half), (0.94 * r, -half + 0.09), (r, -half + 0.095), (r, -half + 0.12),
               (0.3 * r, -half + 0.12)]  # fmt: skip
    rim = turned([[a, b] for a, b in profile], sides=40)
    other = turned([[a, -b] for a, b in profile[::-1]], sides=40)
    axle = turned([[0.14 * r, -half * 1.02], [0.14 * r, half * 1.02]], sides=16)
    lie = np.array([[1.0, 0, 0], [0, 0, -1], [0, 1, 0]])
    lift = np.array([0, 0, r])
    return [
        Part("wheels", joined([rim, other]).moved(lie, lift), "polished steel"),
        Part("axle", axle.moved(lie, lift), shape.finish),
    ]


def tram(shape: Shape) -> list[Part]:
    """The body of an old tram along x, rounded at both ends: panels, a row of windows, a roof, a headlamp at +x."""
    length, width, height = shape.size
    floor, waist, head = 0.16 * height, 0.45 * height, 0.82 * height
    lower = loft(_outline(length, width, [(floor, 0.97), (floor + 0.05, 1.0), (waist, 1.0)]), smooth=False)
    band = loft(_outline(length, width, [(waist, 1.012), (waist + 0.05, 1.012)]), smooth=False)
    upper = loft(_outline(length, width, [(head, 1.0), (0.9 * height, 1.0)]), smooth=False)
    roof = loft(_outline(length, width, [(0.9 * height, 1.03), (0.95 * height, 0.98), (height, 0.7)]), smooth=False)
    posts, panes = _windows(length, width, waist + 0.05, head)
    under = box([-0.42 * length, -0.3 * width, 0.05 * height], [0.42 * length, 0.3 * width, floor])
    lamp = ellipsoid([length / 2 + 0.01, 0, 0.34 * height], [0.05, 0.11, 0.11], 10, 16)
    seats = [
        box([x - 0.22, b * 0.3 * width - 0.2 * width, floor + 0.06], [x + 0.22, b * 0.3 * width + 0.1 * width, waist])
        for x in np.arange(-0.4 * length, 0.36 * length, 0.9) for b in (-1, 1)
    ]  # fmt: skip
    return [
        Part("panels", joined([lower, upper]), shape.finish),
        Part("band and posts", joined([band, *posts]), "painted timber ochre"),
        Part("roof", roof, "painted metal"),
        Part("windows", joined(panes), "glass 0.8"),
        Part("frame", under, "tar black"),
        Part("seats", joined(seats), "old planks"),
        Part("headlamp", lamp, "polished steel"),
    ]


def _outline(length: float, width: float, levels: list[tuple[float, float]]) -> ArrayLike:
    """Rings of a body with rounded ends, one at each height, scaled as told. (R, C, 3) [m]"""
    bow = min(0.5 * width, 0.12 * length)
    angle = np.linspace(-np.pi / 2, np.pi / 2, 13)
    front = np.stack([length / 2 - bow + bow * np.cos(angle), width / 2 * np.sin(angle)], axis=1)
    ring = np.concatenate([front, -front])
    return np.stack([np.column_stack([ring * k, np.full(len(ring), z)]) for z, k in levels])


def _windows(length: float, width: float, low: float, high: float) -> tuple[list[Mesh], list[Mesh]]:
    """Posts between the windows along both sides and round the front, and the panes between them."""
    bow = min(0.5 * width, 0.12 * length)
    straight = length - 2 * bow
    xs = np.linspace(-straight / 2, straight / 2, max(3, int(straight / 0.95)) + 1)
    posts = [
        box([x - 0.04, s * width / 2 - 0.035, low], [x + 0.04, s * width / 2 + 0.035, high])
        for x in xs
        for s in (-1, 1)
    ]
    panes = [
        rectangle([a, s * width / 2, low], [b - a, 0, 0], [0, 0, high - low])
        for a, b in itertools.pairwise(xs) for s in (-1, 1)
    ]  # fmt: skip
    for end in (1, -1):
        angle = np.linspace(-np.pi / 2, np.pi / 2, 4)
        line = np.stack([end * (straight / 2 + bow * np.cos(angle)), width / 2 * np.sin(angle)], axis=1)
        for here, there in itertools.pairwise(line):
            panes.append(rectangle([*here, low], [*(there - here), 0], [0, 0, high - low]))
        posts += [box([p[0] - 0.04, p[1] - 0.04, low], [p[0] + 0.04, p[1] + 0.04, high]) for p in line[1:-1]]
    return posts, panes

"""Plane of focus, film distance, image and blur against an independent computation at 50 digits.

The reference never uses the closed forms of sidelong.lens: it finds the extension by root search on the imaging
condition, sends rays from the point through five points of the pupil's rim, bends them in the principal plane towards
the point's image, cuts them with the film, and fits the conic through five hits.
"""

import math
import random

import mpmath as mp
import numpy as np
import pytest

from sidelong.lens.axis import lens_axis
from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.lens.plane import plane_of_focus
from sidelong.lens.ring import extension_for
from sidelong.lens.values import Lens, Movement, Setting


def _dot(a, b):
    return sum(x * y for x, y in zip(a, b, strict=True))


def _unit(a):
    size = mp.sqrt(_dot(a, a))
    return [x / size for x in a]


def _cross(a, b):
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


def _reference(case):
    f, n, p, pivot = (mp.mpf(case[k]) for k in ("f", "n", "p", "pivot"))
    s, t = mp.mpf(case["swing"]), mp.mpf(case["tilt"])
    a = [mp.sin(s) * mp.cos(t), mp.sin(t), mp.cos(s) * mp.cos(t)]
    hinge = [mp.mpf(case["shift"]), mp.mpf(case["rise"]), -pivot]

    def principal(e):
        return [h + (pivot + e) * x for h, x in zip(hinge, a, strict=True)]

    h, kappa = f * (1 - 1 / p), mp.mpf(case["kappa"])

    def image_of(point, o):
        """Where the cone aims: the image of a lens of the power (1 + kappa tan^2) / f, slid along the chief ray."""
        rel = [x - y for x, y in zip(point, o, strict=True)]
        u = _dot(a, rel)
        flat = [o[i] + rel[i] * f / (f - u) for i in range(3)]
        way = [h * a[i] - rel[i] for i in range(3)]
        crossing = [point[i] + way[i] * u / (u - h) for i in range(3)]
        behind = 1 / ((1 + kappa * (_dot(rel, rel) / u**2 - 1)) / f - 1 / u)
        part = behind * (u - f) / (u * f)
        return [crossing[i] + (flat[i] - crossing[i]) * part for i in range(3)]

    focus = [mp.mpf(x) for x in case["focus"]]
    e = mp.findroot(lambda e: image_of(focus, principal(e))[2] + f, f * f / focus[2])
    o = principal(e)
    d = o[2] + f
    helper = [mp.mpf(0), mp.mpf(1), mp.mpf("0.3")]
    one = _unit(_cross(a, helper))
    two = _cross(a, one)
    centre = [o[i] + h * a[i] for i in range(3)]

    def hit(point, rim):
        way = [x - y for x, y in zip(rim, point, strict=True)]
        reach = -_dot(a, [x - y for x, y in zip(point, o, strict=True)]) / _dot(a, way)
        bent = [point[i] + reach * way[i] for i in range(3)]
        q = image_of(point, o)
        on = [x - y for x, y in zip(q, bent, strict=True)]
        step = (-f - bent[2]) / on[2]
        return [bent[0] + step * on[0], bent[1] + step * on[1]]

    answers = []
    for point in case["points"]:
        point = [mp.mpf(x) for x in point]
        chief = hit(point, centre)
        rows = []
        for k in range(5):
            turn = 2 * mp.pi * k / 5 + mp.mpf("0.1")
            r = f / n / 2
            rim = [centre[i] + r * (mp.cos(turn) * one[i] + mp.sin(turn) * two[i]) for i in range(3)]
            x, y = (v - w for v, w in zip(hit(point, rim), chief, strict=True))
            rows.append((x, y))
        scale = max(abs(v) for row in rows for v in row)
        m = mp.matrix([[(x / scale) ** 2, x * y / scale**2, (y / scale) ** 2, x / scale, y / scale] for x, y in rows])
        A, B, C, D, E = mp.lu_solve(m, mp.matrix([1] * 5))
        det = 4 * A * C - B * B
        x0, y0 = (B * E - 2 * C * D) / det, (B * D - 2 * A * E) / det
        size = 1 + A * x0**2 + B * x0 * y0 + C * y0**2
        root = mp.sqrt((A - C) ** 2 + B * B)
        major = 2 * scale * mp.sqrt(2 * size / (A + C - root))
        minor = 2 * scale * mp.sqrt(2 * size / (A + C + root))
        answers.append((major, minor, -chief[0], -chief[1]))
    steep = [d * a[0], d * a[1], d * a[2] - f]
    normal = _unit(steep)
    offset = d * f / mp.sqrt(_dot(steep, steep)) + _dot(normal, o)
    return d, normal, offset, answers


def _case(seed, kappa):
    rng = random.Random(seed)
    swing, tilt = math.radians(rng.uniform(-9, 9)), math.radians(rng.uniform(-9, 9))
    far = rng.uniform(1.5, 6)
    return {
        "kappa": kappa,
        "f": rng.choice([0.017, 0.024, 0.045, 0.05, 0.09, 0.135]),
        "n": rng.choice([1.4, 2.8, 5.04, 11.3]),
        "p": rng.choice([1.0, 0.6, 1.5, 2.0]),
        "pivot": rng.choice([0.0, 0.01, -0.02, 0.03]),
        "swing": swing * 0.6, "tilt": tilt * 0.6,
        "shift": rng.uniform(-0.01, 0.01), "rise": rng.uniform(-0.01, 0.01),
        "focus": [rng.uniform(-0.1, 0.1) * far, rng.uniform(-0.1, 0.1) * far, far],
        "points": [[rng.uniform(-1, 1), rng.uniform(-1, 1), rng.uniform(1.2, 9)] for _ in range(4)],
    }  # fmt: skip


CAMERAS = [(seed, 0.0) for seed in range(40)] + [(seed, 0.07) for seed in range(12)] + [(14, -0.3), (15, 0.3)]


@pytest.mark.parametrize(("seed", "kappa"), CAMERAS)
def test_everything_that_the_card_prints_agrees_to_a_billionth(seed, kappa):
    case = _case(seed, kappa)
    lens = Lens("l", case["f"], case["n"], pupil_ratio=case["p"], pivot=case["pivot"], field_curvature=kappa)
    movement = Movement(case["swing"], case["tilt"], case["rise"], case["shift"])
    try:
        extension = extension_for(lens, movement, np.array(case["focus"]))
    except Exception as error:  # a point that this movement cannot reach: the reference must need e < 0 too
        pytest.skip(str(error))
    glass = geometry_of(Setting(lens, movement, extension, case["n"]))
    assert glass.axis == pytest.approx(lens_axis(case["swing"], case["tilt"]), abs=1e-15)
    with mp.workdps(50):
        d, normal, offset, answers = _reference(case)
    assert glass.film_distance == pytest.approx(float(d), rel=1e-12)
    if kappa == 0.0:
        got_normal, got_offset = plane_of_focus(glass)
        turned = 1.0 if float(normal[2]) * got_normal[2] > 0 else -1.0
        assert got_normal * turned == pytest.approx([float(x) for x in normal], abs=2e-9)
        assert got_offset * turned == pytest.approx(float(offset), rel=1e-9, abs=1e-9)
    patch = blur(glass, np.array(case["points"]))
    for i, (major, minor, x, y) in enumerate(answers):
        assert patch.major[i] == pytest.approx(float(major), rel=1e-9)
        assert patch.minor[i] == pytest.approx(float(minor), rel=1e-9)
        assert patch.image[i] == pytest.approx([float(x), float(y)], rel=1e-9, abs=1e-12)

"""Shoots drawn at random: lenses wide to long with every error and oddity, two to eight people, many wishes."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ray_lens import RayLens

Array = NDArray[np.float64]
_EYES = {"standing": 0.936, "kneeling": 0.936 - 0.285 + 0.030}
_SITTING, _SEAT = 0.520 - (1.0 - 0.936), 0.45


@dataclass(frozen=True)
class RandomShoot:
    """A shoot's file as text, and the same as an optimiser must know it. Points body frame [m], limit [m]; `frame`
    has the camera's right, up, forward as rows, place frame; `poses` and `facings` (bearings [rad]) of the people."""

    text: str
    lens: RayLens
    names: tuple[str, ...]
    points: Array
    sharp: tuple[int, ...]
    soft: tuple[int, ...]
    limit: float
    f_number: float | None
    widest: float
    smallest: float
    frame: Array
    poses: tuple[str, ...]
    facings: tuple[float, ...]
    support: str


def random_shoot(seed: int) -> RandomShoot:
    """One shoot; the same for the same seed."""
    rng = np.random.default_rng([20261125, seed])
    lens, widest, smallest, lens_text = _lens(rng)
    at, aim, level = _camera(rng)
    frame = _frame(at, aim, level)
    sure = np.random.default_rng([4, seed])
    support = str(sure.choice(["tripod", "monopod", "hand"]))
    count = int(rng.integers(2, 9))
    people = [_person(rng, k, lens.f, at, frame) for k in range(count)]
    facings = [round(float(sure.uniform(0, 360)), 1) for _ in people]
    names = tuple(person.name for person in people)
    eyes = np.array([person.eyes for person in people])
    order = rng.permutation(count)
    sharp = tuple(int(i) for i in order[: int(rng.integers(1, count + 1))])
    soft = tuple(int(i) for i in order[len(sharp) :][: int(rng.integers(0, 4))])
    limit = 43.266615305567875e-3 / 1500 if rng.random() < 0.5 else float(round(rng.uniform(12, 70), 1)) * 1e-6
    aperture = _marked(rng, widest, smallest) if rng.random() < 0.3 else None
    text = "\n".join(
        [
            "sidelong = 1",
            'title = "Drawn at random"',
            "[place]",
            'sky = "dark"',
            *(f"{person.lines}\nfacing = {facing}" for person, facing in zip(people, facings, strict=True)),
            "[[kit.bodies]]",
            'id = "body"',
            *lens_text,
            "[[shots]]",
            'id = "one"',
            f"sharp = {_list(names, sharp)}",
            f"soft = {_list(names, soft)}",
            f"blur_limit = {limit * 1e6!r}",
            *([f"aperture = {aperture[0]}"] if aperture else []),
            "[shots.camera]",
            f"at = {[float(v) for v in at]}",
            f"aim = {[float(v) for v in aim]}",
            f"level = {str(level).lower()}",
            f'support = "{support}"',
            f"rise = {lens.rise * 1e3!r}",
            f"shift = {lens.shift * 1e3!r}",
            "",
        ]
    )
    points = (eyes - at) @ frame.T
    f_number = aperture[1] if aperture else None
    poses, bearings = tuple(person.pose for person in people), tuple(math.radians(f) for f in facings)
    return RandomShoot(
        text, lens, names, points, sharp, soft, limit, f_number, widest, smallest, frame, poses, bearings, support
    )


def held(drawn: RandomShoot, seed: int) -> tuple[RandomShoot, float, float | None, float]:
    """The same with a framing that is held, most with an image circle: the shoot, the room that images have [m], the
    circle's diameter [m] or None, and the shift that may correct the framing [m]."""
    rng = np.random.default_rng([7, seed])
    share = float(rng.choice([0.5, 1.0, 3.0]))
    shift = float(rng.choice([0.0, 11.0]))
    circle = None if rng.random() < 0.4 else round(float(rng.uniform(44, 70)), 1)
    lens = replace(drawn.lens, shift=0.0, rise=0.0)
    lines = [line for line in drawn.text.split("\n") if not line.startswith(("rise = ", "shift = "))]
    at = lines.index("[shots.camera]")
    lines[at + 1 : at + 1] = [f"framing = {share}"]
    kit = lines.index("[[kit.lenses]]")
    lines[kit + 1 : kit + 1] = [f"shift = {shift}", *([] if circle is None else [f"image_circle = {circle}"])]
    room = share / 100 * 0.036
    return replace(drawn, text="\n".join(lines), lens=lens), room, circle and circle * 1e-3, shift * 1e-3


@dataclass(frozen=True)
class _Person:
    name: str
    eyes: Array
    pose: str
    lines: str


def _list(names: tuple[str, ...], chosen: tuple[int, ...]) -> str:
    return "[" + ", ".join(f'"{names[i]}"' for i in chosen) + "]"


_STOPS = {"1.4": 3, "2": 6, "2.8": 9, "3.5": 11, "4": 12, "5.6": 15, "8": 18, "11": 21, "16": 24, "22": 27, "32": 30}


def _true(mark: str) -> float:
    return float(2 ** (_STOPS[mark] / 6))


def _marked(rng: np.random.Generator, widest: float, smallest: float) -> tuple[str, float]:
    fits = [m for m in _STOPS if widest * 0.999 <= _true(m) <= smallest * 1.001]
    mark = str(rng.choice(fits))
    return mark, _true(mark)


def _lens(rng: np.random.Generator) -> tuple[RayLens, float, float, list[str]]:
    f = round(float(np.exp(rng.uniform(math.log(17), math.log(180)))), 1)
    wide = str(rng.choice(["1.4", "2.8", "3.5", "4", "5.6"]))
    small = str(rng.choice(["16", "22", "32"]))
    movement = 0.0 if rng.random() < 0.07 else round(float(rng.uniform(1.5, 12)), 2)
    step = float(rng.choice([0.0, 0.0, 30.0, 45.0, 90.0]))
    closest = None if rng.random() < 0.3 else round(float(rng.uniform(4.5, 14) * f / 1000 + 0.1), 3)
    odd = rng.random() < 0.7
    ratio = round(float(rng.uniform(0.8, 2.0)), 3) if odd else 1.0
    pivot = round(float(rng.uniform(-0.2, 0.4) * f), 2) if odd else 0.0
    curvature = round(float(rng.uniform(-0.02, 0.09)), 4) if odd and rng.random() < 0.7 else 0.0
    zero = round(float(rng.normal(0, 0.2)), 3) if odd else 0.0
    ring = round(float(rng.normal(0, 0.05)), 3) if odd else 0.0
    rise, shift = (round(float(v), 1) for v in rng.uniform(-8, 8, 2)) if rng.random() < 0.4 else (0.0, 0.0)
    lens = RayLens(
        f * 1e-3, math.radians(movement), math.radians(step), shift * 1e-3, rise * 1e-3, closest, ratio,
        pivot * 1e-3, curvature, ring * 1e-3,
    )  # fmt: skip
    text = [
        "[[kit.lenses]]", 'id = "glass"', f"focal = {f}", f"widest = {wide}", f"smallest = {small}",
        f"movement = {movement}", f"rotation_step = {step}", "shift = 14", f"pupil_ratio = {ratio}",
        f"pivot_mm = {pivot}", f"field_curvature = {curvature}", f"movement_zero = {zero}", f"ring_error = {ring}",
        *([] if closest is None else [f"closest = {closest}"]),
    ]  # fmt: skip
    return lens, _true(wide), _true(small), text


def _camera(rng: np.random.Generator) -> tuple[Array, Array, bool]:
    at = np.round([rng.uniform(-1, 1), rng.uniform(-1, 1), rng.uniform(0.6, 2.2)], 3)
    away = rng.uniform(0, 2 * math.pi)
    aim = np.round(at + np.array([5 * math.cos(away), 5 * math.sin(away), rng.uniform(-1.2, 0.6)]), 3)
    return at, aim, bool(rng.random() < 0.4)


def _frame(at: Array, aim: Array, level: bool) -> Array:
    """Rows right, up, forward in the place frame."""
    forward = aim - at
    if level:
        forward = forward * [1.0, 1.0, 0.0]
    forward = forward / np.linalg.norm(forward)
    right = np.cross(forward, [0.0, 0.0, 1.0])
    right = right / np.linalg.norm(right)
    return np.stack([right, np.cross(right, forward), forward])


def _person(rng: np.random.Generator, k: int, f: float, at: Array, frame: Array) -> _Person:
    """Eyes in the place frame [m]; most are within the picture of a 36 mm film."""
    away = max(0.8, float(rng.uniform(22, 110)) * f)
    aside = away * 0.018 / f * float(rng.uniform(-1.1, 1.1))
    level = frame[2] * [1.0, 1.0, 0.0]
    floor = at + away * level / np.linalg.norm(level) + min(max(aside, -4.0), 4.0) * frame[0]
    pose = str(rng.choice(["standing", "standing", "sitting", "kneeling"]))
    height = round(float(rng.uniform(1.5, 1.95)), 2)
    low = round(float(rng.uniform(-0.2, 0.6)), 2)
    x, y = round(float(floor[0]), 3), round(float(floor[1]), 3)
    eye = _SEAT + _SITTING * height if pose == "sitting" else _EYES[pose] * height
    name = f"Person {k + 1}"
    lines = [
        "[[people]]", f'name = "{name}"', f"at = [{x}, {y}, {low}]", f'pose = "{pose}"', f"height = {height}",
    ]  # fmt: skip
    return _Person(name, np.array([x, y, low + eye]), pose, "\n".join(lines))

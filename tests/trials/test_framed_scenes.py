"""Random scenes whose framing is held, many with an image circle and a shift that corrects it, through the command.

Images are traced from the equations alone. Everyone named is imaged where the straight lens images them, to within
the room that is stated; no sampled setting that keeps to it beats a stated bound, and every answer has its bounds.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from random_shoots import RandomShoot, held, random_shoot
from ray_lens import RayLens, axis_turned, images, major_axes
from sidelong.cli import main

Array = NDArray[np.float64]
FEW, ALL = 4, 40
SEEDS = [pytest.param(k, marks=pytest.mark.long) if k >= FEW else k for k in range(ALL)]
SAMPLES = 3000
STRAIGHT = np.array([[0.0, 0.0, 1.0]])


@pytest.mark.parametrize("seed", SEEDS)
def test_the_framing_is_held_and_no_setting_that_holds_it_beats_the_bounds(seed, tmp_path, capsys):
    drawn, room, circle, shift = held(random_shoot(seed), seed)
    code, answer = _ask(drawn, tmp_path, capsys)
    named = drawn.points[[*drawn.sharp, *drawn.soft]]
    wanted = images(drawn.lens, STRAIGHT, np.array([_ring_on_first(drawn)]), named)[0]
    rng = np.random.default_rng(seed)
    if code == 3:
        stop = drawn.f_number or drawn.smallest
        settings = _settings(drawn, None, shift, rng)
        needed, keeps = _needed(drawn, settings, named, wanted, room)
        assert not np.any(keeps & (needed <= stop * 0.999) & _lit(drawn, circle, settings))
        return
    assert code == 0
    lens, bound = answer["lens"], answer["bound"]
    seen = np.array([next(p["image_mm"] for p in answer["points"] if p["name"] == drawn.names[i]) for i in
                     (*drawn.sharp, *drawn.soft)])  # fmt: skip
    assert np.max(np.abs(seen * 1e-3 - wanted)) <= room * (1 + 1e-6) + 1e-9
    assert math.hypot(lens["rise_mm"], lens["shift_mm"]) <= shift * 1e3 * (1 + 1e-9)
    assert bound["widest_f_proved"] is not None
    assert bound["widest_f_proved"] <= bound["widest_f"] * (1 + 1e-9)
    settings = _settings(drawn, answer, shift, rng)
    needed, keeps = _needed(drawn, settings, named, wanted, room * (1 - 1e-6))
    assert np.min(needed[keeps], initial=math.inf) >= bound["widest_f_proved"] * (1 - 1e-6)
    if drawn.soft:
        _none_is_softer(drawn, answer, settings, keeps)


def _ask(drawn: RandomShoot, folder: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, dict[str, Any]]:
    (folder / "shoot.toml").write_text(drawn.text)
    code = main(["focus", str(folder), "--json"])
    out = capsys.readouterr()
    assert out.out, out.err
    return code, json.loads(out.out)["shots"][0]


def _ring_on_first(drawn: RandomShoot) -> float:
    """The straight lens's extension that makes the first who shall be sharp sharpest, 0 where the ring does not go
    there. [m]"""
    lens, first = drawn.lens, drawn.points[list(drawn.sharp[:1])]
    b = first[0, 2] - lens.f
    flat = (b - math.sqrt(b * b - 4 * lens.f**2)) / 2

    def off(extension: float) -> float:
        return float(major_axes(lens, STRAIGHT, np.array([extension]), np.array([8.0]), first)[0, 0])

    found = minimize_scalar(off, bounds=(-2.0 * flat, 4.0 * flat), method="bounded", options={"xatol": 1e-13})
    extension = float(found.x)
    return extension if lens.ring[0] <= extension <= lens.ring[1] else 0.0


Settings = tuple[Array, Array, Array]
"""Axes (M, 3), extensions (M,) and shifts (M, 2). [m]"""


def _settings(drawn: RandomShoot, answer: dict[str, Any] | None, shift: float, rng: np.random.Generator) -> Settings:
    """Sampled settings of the lens, about the answer from near to far, or all over."""
    lens, (low, high) = drawn.lens, drawn.lens.ring
    at = {} if answer is None else answer["lens"]
    scale = np.exp(rng.uniform(-14, 0, SAMPLES)) if at else np.ones(SAMPLES)
    movement = math.radians(at.get("movement_deg", 0.0)) + scale * lens.movement * rng.uniform(-1, 1, SAMPLES)
    rotation = math.radians(at.get("rotation_deg", 0.0)) + scale * math.pi * rng.uniform(-1, 1, SAMPLES)
    if lens.rotation_step:
        rotation = np.round(rotation / lens.rotation_step) * lens.rotation_step
    extension = at.get("extension_mm", 0.0) * 1e-3 + scale * (high - low) * rng.uniform(-1, 1, SAMPLES)
    aside = np.array([at.get("shift_mm", 0.0), at.get("rise_mm", 0.0)]) * 1e-3
    aside = aside + scale[:, None] * shift * rng.uniform(-1, 1, (SAMPLES, 2))
    size = np.hypot(aside[:, 0], aside[:, 1])
    aside = aside * np.where(size > shift, shift / np.where(size > 0, size, 1.0), 1.0)[:, None]
    axis = axis_turned(np.clip(movement, 0, lens.movement), rotation)
    return axis, np.clip(extension, low, high), aside


def _from(aside: Array, points: Array) -> Array:
    """Points (M, P, 3) as a lens sees them that is shifted so."""
    back = np.concatenate([aside, np.zeros((len(aside), 1))], axis=1)
    return np.asarray(points - back[:, None, :])


def _needed(
    drawn: RandomShoot, settings: Settings, named: Array, wanted: Array, room: float
) -> tuple[Array, NDArray[np.bool_]]:
    """The stop that each setting needs (M,), and whether it keeps the framing."""
    axis, extension, aside = settings
    moved = images(drawn.lens, axis, extension, _from(aside, named)) - aside[:, None, :]
    keeps = (np.abs(moved - wanted) <= room).all(axis=(1, 2))
    needed = np.full(len(axis), math.inf)
    if keeps.any():
        seen = _from(aside[keeps], drawn.points[list(drawn.sharp)])
        needed[keeps] = _stops(drawn, axis[keeps], extension[keeps], seen).max(axis=1)
    return needed, keeps


def _stops(drawn: RandomShoot, axis: Array, extension: Array, seen: Array) -> Array:
    """F-numbers (M, P) at which each point (M, P, 3) alone is at the limit; blur is nearly as one over N."""
    n = np.full(seen.shape[:2], 4.0)
    for _ in range(5):
        trial = np.clip(n, 0.7, 1e4)
        n = trial * major_axes(drawn.lens, axis, extension, trial, seen) / drawn.limit
    return n


def _lit(drawn: RandomShoot, circle: float | None, settings: Settings) -> NDArray[np.bool_]:
    """Whether the image circle holds all the sharp ones, (M,)."""
    if circle is None:
        return np.ones(SAMPLES, bool)
    axis, extension, aside = settings
    lens: RayLens = drawn.lens
    sharp = drawn.points[list(drawn.sharp)]
    arm = (lens.pivot + extension)[:, None]
    principal = np.concatenate([aside, np.full((len(axis), 1), -lens.pivot)], axis=1) + arm * axis
    place = -(images(lens, axis, extension, _from(aside, sharp)) - aside[:, None, :])
    film = np.concatenate([place, np.full((*place.shape[:2], 1), -lens.f)], axis=2) - principal[:, None, :]
    cosine = -(film * axis[:, None, :]).sum(axis=2) / np.linalg.norm(film, axis=2)
    return np.asarray((cosine >= 1 / math.hypot(1.0, 0.5 * circle / lens.f)).all(axis=1))


def _none_is_softer(drawn: RandomShoot, answer: dict[str, Any], settings: Settings, keeps: NDArray[np.bool_]) -> None:
    axis, extension, aside = (v[keeps] for v in settings)
    most = answer["bound"]["soft_least_proved_um"]
    assert most is not None
    stop = np.full(len(axis), answer["f_number"])
    lens = drawn.lens
    sharp = major_axes(lens, axis, extension, stop, _from(aside, drawn.points[list(drawn.sharp)])).max(axis=1)
    soft = major_axes(lens, axis, extension, stop, _from(aside, drawn.points[list(drawn.soft)])).min(axis=1)
    assert np.all(soft[sharp <= drawn.limit] * 1e6 <= most * (1 + 1e-6))

"""Random scenes through the command, against a general optimiser that knows only the equations of a moved lens.

`widest_f` is never more than 0.1 % above the optimiser's, the softness never more than 1 % below, every limit of the
lens is held, and neither optimiser nor sampled settings beat a stated bound. A dozen scenes by default, the rest of
the hundred on demand (-m long).
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from best_setting import Found, softest, widest_stop
from random_shoots import RandomShoot, random_shoot
from ray_lens import axis_turned, major_axes, stops_needed
from sidelong.cli import main

FEW, ALL = 12, 100
SEEDS = [pytest.param(k, marks=pytest.mark.long) if k >= FEW else k for k in range(ALL)]
ANY_STOP = 0.05
"""Stops under this only tell of rounding on either side."""
SAMPLES = 4000


@pytest.mark.parametrize("seed", SEEDS)
def test_no_setting_does_better(seed, tmp_path, capsys):
    drawn = random_shoot(seed)
    sharp, soft = drawn.points[list(drawn.sharp)], drawn.points[list(drawn.soft)]
    code, answer = _ask(drawn, tmp_path, capsys)
    best = widest_stop(drawn.lens, sharp, drawn.limit)
    if code == 3:
        assert best.value > (drawn.f_number or drawn.smallest) * (1 - 1e-3), answer
        return
    assert code == 0
    _holds_the_limits(drawn, answer)
    _comes_out_as_said(drawn, answer)
    bound, f_number = answer["bound"], answer["f_number"]
    assert max(bound["widest_f"], ANY_STOP) <= max(best.value, ANY_STOP) * 1.001
    assert bound["widest_f_proved"] <= max(best.value, 1e-3) * (1 + 1e-6)
    if len(soft):
        found = softest(drawn.lens, sharp, soft, drawn.limit, f_number, [_setting(answer)])
        assert found is not None
        assert bound["soft_least_um"] * 1e-6 >= found.value * 0.99
        assert found.value <= bound["soft_least_proved_um"] * 1e-6 * (1 + 1e-6)
    _samples_beat_nothing(drawn, answer, np.random.default_rng(seed))


def _ask(drawn: RandomShoot, folder: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, dict[str, Any]]:
    (folder / "shoot.toml").write_text(drawn.text)
    code = main(["focus", str(folder), "--json"])
    out = capsys.readouterr()
    assert out.out, out.err
    return code, json.loads(out.out)["shots"][0]


def _setting(answer: dict[str, Any]) -> Found:
    lens = answer["lens"]
    angles = math.radians(lens["movement_deg"]), math.radians(lens["rotation_deg"])
    return Found(*angles, lens["extension_mm"] * 1e-3, 0.0)


def _holds_the_limits(drawn: RandomShoot, answer: dict[str, Any]) -> None:
    at, lens, f_number = _setting(answer), drawn.lens, answer["f_number"]
    assert at.movement <= lens.movement + 1e-9
    if lens.rotation_step and at.movement > 1e-9:
        assert abs(math.remainder(at.rotation, lens.rotation_step)) < 1e-6
    low, high = lens.ring
    assert low - 1e-9 <= at.extension <= high + 1e-9
    assert (answer["lens"]["rise_mm"], answer["lens"]["shift_mm"]) == pytest.approx(
        (lens.rise * 1e3, lens.shift * 1e3)
    )
    thirds = 3 * math.log2(f_number) * 2
    ends = min(abs(f_number - drawn.widest), abs(f_number - drawn.smallest))
    assert abs(thirds - round(thirds)) < 1e-6 or ends < 1e-6
    assert drawn.widest * 0.999 <= f_number <= drawn.smallest * 1.001
    if drawn.f_number is not None:
        assert f_number == pytest.approx(drawn.f_number)


def _comes_out_as_said(drawn: RandomShoot, answer: dict[str, Any]) -> None:
    """Everyone's blur as traced here, and all who shall be sharp within the limit."""
    at = _setting(answer)
    axis = axis_turned(np.array([at.movement]), np.array([at.rotation]))
    extension, f_number = np.array([at.extension]), np.array([answer["f_number"]])
    majors = major_axes(drawn.lens, axis, extension, f_number, drawn.points)[0]
    told = {p["name"]: p["blur_major_um"] for p in answer["points"]}
    for name, major in zip(drawn.names, majors, strict=True):
        if told[name] is not None and math.isfinite(major):
            # the angles in the answer are rounded to 1e-12 degrees, the extension to a double
            assert told[name] * 1e-6 == pytest.approx(major, rel=1e-7, abs=1e-11)
    assert max(majors[list(drawn.sharp)]) <= drawn.limit * (1 + 1e-6)
    if drawn.soft:
        assert answer["bound"]["soft_least_um"] * 1e-6 == pytest.approx(min(majors[list(drawn.soft)]), rel=1e-6)


def _samples_beat_nothing(drawn: RandomShoot, answer: dict[str, Any], rng: np.random.Generator) -> None:
    """Settings sampled all over and about the answer, none wider than `widest_f_proved` or softer than proved."""
    at, lens, bound = _setting(answer), drawn.lens, answer["bound"]
    low, high = lens.ring
    scale = np.exp(rng.uniform(-12, 0, SAMPLES)) * rng.choice([-1.0, 1.0], SAMPLES)
    movement = np.clip(at.movement + scale * lens.movement * rng.random(SAMPLES), 0, lens.movement)
    rotation = at.rotation + scale * math.pi * rng.random(SAMPLES)
    if lens.rotation_step:
        rotation = np.round(rotation / lens.rotation_step) * lens.rotation_step
    extension = np.clip(at.extension + scale * (high - low) * rng.random(SAMPLES), low, high)
    axis = axis_turned(movement, rotation)
    sharp, soft = drawn.points[list(drawn.sharp)], drawn.points[list(drawn.soft)]
    with np.errstate(all="ignore"):
        needed = np.max(stops_needed(lens, axis, extension, sharp, drawn.limit), axis=1)
    assert np.nanmin(needed) >= bound["widest_f_proved"] * (1 - 1e-6)
    if len(soft):
        stop = np.full(SAMPLES, answer["f_number"])
        kept = np.max(major_axes(lens, axis, extension, stop, sharp), axis=1) <= drawn.limit
        least = np.min(major_axes(lens, axis, extension, stop, soft), axis=1)
        assert np.all(least[kept] * 1e6 <= bound["soft_least_proved_um"] * (1 + 1e-6))

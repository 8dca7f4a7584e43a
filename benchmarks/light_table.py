"""Every reading at a person of the demo's light tables against a converged run: many more light paths, other seeds.

    .venv/bin/python benchmarks/light_table.py [--paths 131072] [--seeds 2] [--within 0.1]

Prints a line a shot and the worst reading of each, in stops, for a card turned to the camera, a dome turned to it and
a flat receptor turned to the light. Exit code 1 if a reading is further off than `--within` by more than three
standard errors of the converged run.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import numpy as np

from sidelong.plan.focus import plan_focus
from sidelong.plan.light import plan_light
from sidelong.plan.metered import meter_everyone
from sidelong.plan.values import LightPlan
from sidelong.shoot.check import load
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.values import Stage

DEMO = Path(__file__).resolve().parents[1] / "demo"
KINDS = ("card", "dome", "flat")
FAINT = 5.0
"""Light that lies so many stops under all light at its point is not judged."""


def converged(
    shoot: Shoot, shot: Shot, stage: Stage, paths: int, seeds: int
) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Mean and standard error (P, L) of each kind of reading over seeds that the plan does not use."""
    runs = [
        meter_everyone(
            shoot,
            shot,
            stage,
            paths,
            lambda few: np.where(np.arange(len(few.points)) < len(shoot.people), 1e6, 0.0),
            seed=101 + k,
        )
        for k in range(seeds)
    ]
    found = {}
    for kind in KINDS:
        value = np.mean([getattr(run, kind) for run in runs], axis=0)
        error = np.sqrt(np.sum([getattr(run, f"{kind}_error") ** 2 for run in runs], axis=0)) / seeds
        found[kind] = (value, error)
    return found


def planned(plan: LightPlan) -> dict[str, np.ndarray]:
    """What the table prints: light (P, L) of each kind, [lx] or [lx s]; a card's by its stops, over the brightest."""
    return {
        "card": np.array([[2.0**at.stops for at in point.lights] for point in plan.points]),
        "dome": np.array([[at.dome for at in point.lights] for point in plan.points]),
        "flat": np.array([[at.flat for at in point.lights] for point in plan.points]),
    }


def compare(shoot: Shoot, shot: Shot, paths: int, seeds: int) -> list[tuple[float, float, str]]:
    """Differences of a shot's readings: stops, the converged run's own error in stops, words."""
    focus = plan_focus(shoot, shot)
    begun = time.perf_counter()
    plan, stage = plan_light(shoot, shot, focus)
    middle = time.perf_counter()
    truth = converged(shoot, shot, stage, paths, seeds)
    print(
        f"{shot.id}: planned in {middle - begun:.1f} s, converged in {time.perf_counter() - middle:.1f} s", flush=True
    )
    table = planned(plan)
    lights = [at.light for at in plan.points[0].lights]
    flash = np.array([at.flash for at in plan.points[0].lights])
    seconds = np.where(flash, 1.0, plan.shutter)
    exposed = truth["card"][0] * seconds
    judged = exposed > exposed.sum(1, keepdims=True) * 2.0**-FAINT
    judged[len(shoot.people) :] = False
    found = []
    for kind in KINDS:
        value, error = truth[kind]
        here = table[kind]
        if kind == "card":
            # stops to light: the factor between is one number for the shot, the median of the readings judged
            here = here / seconds
            here = here * np.median(value[judged] / here[judged])
        for i, j in zip(*np.nonzero(judged & (value > 0) & (here > 0)), strict=True):
            stops = abs(float(np.log2(here[i, j] / value[i, j])))
            own = float(error[i, j] / value[i, j] / np.log(2.0))
            found.append((stops, own, f"{shot.id}, {plan.points[i].name}, {lights[j]}, {kind}"))
    return found


def main() -> int:
    """Compare every shot of every demo."""
    told = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    told.add_argument("--paths", type=int, default=1 << 17)
    told.add_argument("--seeds", type=int, default=2)
    told.add_argument("--shots", nargs="*", help="only these")
    told.add_argument("--within", type=float, default=0.1)
    asked = told.parse_args()
    everything: list[tuple[float, float, str]] = []
    for folder in sorted(p for p in DEMO.iterdir() if (p / "shoot.toml").exists()):
        shoot = load(folder)
        for shot in (s for s in shoot.shots if not asked.shots or s.id in asked.shots):
            found = compare(shoot, shot, asked.paths, asked.seeds)
            found = [(stops, own, f"{folder.name}, {words}") for stops, own, words in found]
            for stops, own, words in sorted(found, reverse=True)[:4]:
                print(f"  {stops:.3f} stop (+- {own:.3f}) {words}", flush=True)
            everything += found
    worst = max(everything)
    over = [line for line in everything if line[0] > asked.within + 3 * line[1]]
    spread = np.sqrt(np.mean([stops**2 for stops, _, _ in everything]))
    print(f"{len(everything)} readings; root mean square {spread:.3f} stop; worst {worst[0]:.3f} stop: {worst[2]}")
    print(f"{sum(s > asked.within for s, _, _ in everything)} over {asked.within} stop, {len(over)} of them for sure")
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main())

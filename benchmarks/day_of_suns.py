"""What a strip of thirteen hours costs against one full picture of the same shot: processor and wall seconds.

Run by hand, each kind of kernel compiled before: `python benchmarks/day_of_suns.py [SHOOT] [SHOT] [WIDTH]`.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from sidelong.picture.day import Strip, day_layers, day_pictures
from sidelong.picture.make import make_picture
from sidelong.picture.values import FULL, Exposure
from sidelong.plan.day_of_suns import shot_through_the_day, strip_of
from sidelong.plan.predict import plan_shot
from sidelong.shoot.check import load
from sidelong.trace.quality import DRAFT_SAMPLES
from sidelong.trace.render import render
from sidelong.trace.values import Stage

HOURS = 13
ROOT = Path(__file__).resolve().parents[1]


def timed(what: str, work: Callable[[], object]) -> tuple[float, float]:
    """Run once; processor and wall seconds, said too. [s]"""
    wall, processor = time.perf_counter(), time.process_time()
    work()
    spent = time.process_time() - processor, time.perf_counter() - wall
    print(f"{what:42} {spent[0]:7.1f} s processor  {spent[1]:7.1f} s wall", flush=True)
    return spent


def main() -> None:
    """Time one picture and one strip."""
    given = sys.argv[1:]
    folder = Path(given[0]) if given else ROOT / "demo" / "net-loft"
    shoot = load(folder)
    shot = next(s for s in shoot.shots if s.id == (given[1] if len(given) > 1 else "runa"))
    plan = plan_shot(shoot, shot, DRAFT_SAMPLES)
    width = int(given[2]) if len(given) > 2 else FULL.tracing.width
    small, view = (replace(plan.view, width=w, height=w * 2 // 3) for w in (48, width))
    whens = [shot.when.replace(hour=7, minute=0) + timedelta(hours=k) for k in range(HOURS)]
    hours = shot_through_the_day(plan, whens)
    print(
        f"{shoot.title}, {shot.id}, {view.width} x {view.height}, {sum(h.daylight is not None for h in hours)} hours"
    )
    exposure = Exposure(plan.light.shutter, plan.light.speed, shot.balance)
    for seen in (small, view):
        compare(strip_of(plan, hours, seen, FULL), exposure, plan.stage)


def compare(strip: Strip, exposure: Exposure, stage: Stage) -> None:
    """Time a picture and a strip of one view."""
    work, view = FULL.tracing, strip.view
    one = timed("one picture", lambda: make_picture(stage, view, exposure, FULL))
    timed("  its light paths", lambda: render(stage, view, work.samples, 0, None, work.max_depth))
    day = timed(f"a strip of {HOURS} hours", lambda: [picture.mean_exposure for picture in day_pictures(strip)])
    timed("  its light paths", lambda: day_layers(strip, lambda done: None))
    print(
        f"a strip costs {day[0] / one[0]:.2f} pictures in processor time, {day[1] / one[1]:.2f} in wall", flush=True
    )


if __name__ == "__main__":
    main()

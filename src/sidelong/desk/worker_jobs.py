"""What the desk's worker can be asked for: a shot's light, its picture, its day, how open the scene is."""

from __future__ import annotations

import base64
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from sidelong.desk.layers import layers_answer
from sidelong.desk.plain_json import plain
from sidelong.desk.scene_shade import scene_shade
from sidelong.picture.develop import develop, film_exposure, weights
from sidelong.picture.files import write_png
from sidelong.picture.make import make_picture
from sidelong.picture.values import DRAFT, FINE, FULL, Exposure, Quality
from sidelong.plan.balance_answer import facts_answer
from sidelong.plan.day_of_suns import hours_of_shot, shot_through_the_day, strip_of
from sidelong.plan.light_answer import light_answer
from sidelong.plan.predict import plan_shot
from sidelong.sheet.captions import settings_of
from sidelong.sheet.day_strip import frames_of, strip_settings, strip_sheet
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.quality import DRAFT_SAMPLES, READING_SAMPLES
from sidelong.trace.render import render
from sidelong.trace.values import Layers, Progress, Stage, View

Tell = Callable[[dict[str, Any]], None]
Job = Callable[[Shoot, Shot, dict[str, Any], Tell], Any]
QUALITIES: dict[str, Quality] = {"draft": DRAFT, "default": FULL, "fine": FINE}
PLANNING = 0.15
"""Share of the time that planning takes, for the fraction told. [-]"""
EXPOSED = 0.3
"""Of a strip: share of the time after which its hours are exposed. [-]"""

FOCUSING, METERED = 0.03, 0.97
"""Of metering: shares of the time after which the focus is planned, and all meters have been read. [-]"""


def light(shoot: Shoot, shot: Shot, job: dict[str, Any], tell: Tell) -> Any:
    """A shot of `sidelong light --json`."""
    tell({"fraction": FOCUSING})
    plan = plan_shot(shoot, shot, progress=lambda done: tell({"fraction": FOCUSING + (METERED - FOCUSING) * done}))
    facts = facts_answer(shoot, plan.shot, plan.focus, plan.light)
    return plain({**light_answer(plan.shot, plan.focus, plan.light), **facts})


def picture(shoot: Shoot, shot: Shot, job: dict[str, Any], tell: Tell) -> Any:
    """The picture of a shot, with its layers, into the job's folder; a preview as often as there is more to see."""
    folder, quality = Path(job["folder"]), QUALITIES[job["quality"]]
    plan = plan_shot(shoot, shot, DRAFT_SAMPLES if quality is DRAFT else READING_SAMPLES)
    shot, work = plan.shot, quality.tracing
    tell({"fraction": PLANNING})
    exposure = Exposure(plan.light.shutter, plan.light.speed, shot.balance)
    view = plan.view.of_width(work.width)
    settings, title = settings_of(plan), f"{shoot.title}: {shot.id}"

    def shown(layers: Layers) -> None:
        exposed = film_exposure(layers, weights(layers, exposure.shutter))
        write_png(folder / "preview.png", develop(exposed, exposure.iso, exposure.balance, 0), title, settings)
        tell({"preview": True})

    made = make_picture(
        plan.stage, view, exposure, quality,
        lambda done: tell({"fraction": PLANNING + (0.98 - PLANNING) * done}), 0, _Refining(shown),
    )  # fmt: skip
    write_png(folder / "image.png", made.srgb, title, settings)
    head, values = layers_answer(plan, made, quality.noise == "quick")
    (folder / "layers.bin").write_bytes(values)
    (folder / "layers.json").write_text(json.dumps(plain(head), ensure_ascii=False), encoding="utf-8")
    notices = {"Notice": "; ".join(notice.text for notice in made.notices)} if made.notices else {}
    return {"settings": {**settings, **notices}, "width": view.width, "height": view.height}


def day(shoot: Shoot, shot: Shot, job: dict[str, Any], tell: Tell) -> Any:
    """A shot through the day, drafts on one sheet, into the job's folder."""
    whens = hours_of_shot(shoot.place, shot)
    plan = plan_shot(shoot, shot, DRAFT_SAMPLES)
    tell({"fraction": PLANNING})
    hours = shot_through_the_day(plan, whens, job["quality"] == "day-anew")
    tell({"fraction": EXPOSED})
    strip = strip_of(plan, hours, plan.view.of_width(DRAFT.tracing.width), DRAFT)
    frames, notices = frames_of(hours, strip, lambda done: tell({"fraction": EXPOSED + (0.98 - EXPOSED) * done}))
    settings, sheet = strip_settings(plan, frames), strip_sheet(plan, frames)
    write_png(Path(job["folder"]) / "image.png", sheet, f"{shoot.title}: {shot.id} through the day", settings)
    told = {"Notice": "; ".join(notices)} if notices else {}
    return {"settings": {**settings, **told}, "width": sheet.shape[1], "height": sheet.shape[0]}


class _Refining:
    """A tracer that traces again and again with other paths, and shows the mean so far each time."""

    def __init__(self, show: Callable[[Layers], None]) -> None:
        self._show = show

    def __call__(
        self, stage: Stage, view: View, samples: int, seed: int, progress: Progress, max_depth: int
    ) -> Layers:
        """Layers of `samples` paths a pixel, as trace.render gives them."""
        rounds = _rounds(samples)
        mean: Layers | None = None
        for k, share in enumerate(rounds):
            before = sum(rounds[:k])

            def told(done: float, before: int = before, share: int = share) -> None:
                progress((before + done * share) / samples)

            traced = render(stage, view, share, seed + k, told, max_depth)
            mean = traced if mean is None else _mean(mean, traced, before, share)
            if k < len(rounds) - 1:
                self._show(mean)
        assert mean is not None
        return mean


def _rounds(samples: int) -> list[int]:
    """Paths of each round: two at first, then as many again as there are."""
    rounds, total = [], 0
    while total < samples:
        share = min(samples - total, max(2, total))
        rounds.append(share)
        total += share
    return rounds


def _mean(old: Layers, new: Layers, before: int, share: int) -> Layers:
    part = np.float32(share / (before + share))

    def mixed(a: Any, b: Any) -> Any:
        return a + part * (b - a)

    normal = mixed(old.normal, new.normal)
    size = np.linalg.norm(normal, axis=-1, keepdims=True)
    return replace(
        old,
        xyz=mixed(old.xyz, new.xyz),
        albedo=mixed(old.albedo, new.albedo),
        normal=(normal / np.where(size > 0, size, 1.0)).astype(np.float32),
        samples=before + share,
        seconds=old.seconds + new.seconds,
    )


def shade(shoot: Shoot, shot: Shot, job: dict[str, Any], tell: Tell) -> Any:
    """How open the scene's corners are (scene_shade), in base 64."""
    return base64.b64encode(scene_shade(shoot)).decode()


JOBS: dict[str, Job] = {"light": light, "picture": picture, "day": day, "shade": shade}

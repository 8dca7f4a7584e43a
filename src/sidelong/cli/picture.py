"""`sidelong picture`: the predicted photograph of each shot."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path
from typing import Annotated, Any

from cyclopts import Parameter

from sidelong.cli.answer import chosen_shots, json_answer, open_shoot, say, shoot_head, talk
from sidelong.cli.bar import bar
from sidelong.cli.day_strip import Making, Span, strips, time_of
from sidelong.errors import InputFault
from sidelong.picture.blurmap import blur_map
from sidelong.picture.develop import MIDDLE_GREY_TIMES_ISO
from sidelong.picture.files import write_exr, write_png
from sidelong.picture.make import make_picture
from sidelong.picture.overlay import KINDS, overlaid
from sidelong.picture.values import DRAFT, FULL, Exposure, Picture, Quality
from sidelong.plan.predict import plan_shot
from sidelong.plan.values import ShotPlan
from sidelong.sheet.captions import overlay_points, settings_of
from sidelong.shoot.values import Shoot, Shot
from sidelong.trace.quality import DRAFT_SAMPLES, READING_SAMPLES
from sidelong.trace.values import Progress, View

SMALLEST, LARGEST = 16, 6000
"""What a side of a picture may have. [px]"""
MOST_SAMPLES = 65536
PLANNING = 0.1
"""Share of the time that planning a shot takes, for the progress told. [-]"""


@dataclass(frozen=True)
class Options:
    """How the pictures are made."""

    draft: bool = False
    """A quick small picture."""
    size: str | None = None
    """Pixels, such as 1500x1000, in the film's shape; a single number is the width."""
    samples: int | None = None
    """Light paths for each pixel, in place of the usual number."""
    seed: int = 0
    """Another number gives other grain."""
    out: Path | None = None
    """Where the pictures go; the folder "out" in the shoot when left out."""
    overlay: str = ""
    """What to draw over a second copy: rings, stops, names, separated by commas."""
    exr: bool = False
    """Also write an EXR: each light by itself, depth, blur, who is where."""
    day: bool = False
    """The shot through the day in place of one picture: a strip and its frames."""
    first: str | None = None
    """When the day begins, such as 8:00; that when left out."""
    last: str | None = None
    """When it ends, such as 20:00; at dusk when left out."""
    every: float | None = None
    """Minutes from frame to frame; 60 when left out."""
    anew: bool = False
    """Expose each frame of the day anew, with the shutter."""


def picture(
    shoot: Path,
    /,
    *,
    shot: str | None = None,
    options: Annotated[Options, Parameter(name="*")] = Options(),
    json: bool = False,
) -> None:
    """Make the predicted photograph of one shot, or of all.

    Parameters
    ----------
    shoot
        The shoot's folder, or its file.
    shot
        The id of one shot; all of them when left out.
    json
        Print one JSON object.
    """
    quality, overlays = quality_of(options), overlays_of(options.overlay)
    size = size_of(options.size, options.draft)
    span = span_of(options)
    opened = open_shoot(shoot)
    folder = options.out or opened.folder / "out"
    if span is not None:
        making = Making(span, folder, quality, lambda view: sized(view, size), options.seed)
        strips(opened, chosen_shots(opened, shot), making, json)
        return
    answers = []
    for one in chosen_shots(opened, shot):
        with bar(one.id) as progress:
            plan, made = _make(opened, one, size, quality, options.seed, progress)
            files = _write(plan, made, folder, overlays, options.exr)
        for notice in made.notices:
            talk(f"{one.id}: {notice.text}")
        answers.append(_answer(plan, made, files))
        if not json:
            for path in files.values():
                say(str(path))
    if json:
        json_answer("picture", shoot_head(opened), answers)


def quality_of(options: Options) -> Quality:
    """The work that goes into the pictures.

    Raises
    ------
    InputFault
        A number of samples or a seed that cannot be.
    """
    if options.seed < 0:
        raise InputFault(f"--seed: found {options.seed}; expected a whole number from 0 up")
    quality = DRAFT if options.draft else FULL
    if options.exr and quality.noise == "quick":
        # the file gives each light by itself, so each has its noise taken out
        quality = replace(quality, noise=FULL.noise)
    if options.samples is None:
        return quality
    if not 1 <= options.samples <= MOST_SAMPLES:
        raise InputFault(f"--samples: found {options.samples}; expected a number from 1 to {MOST_SAMPLES}")
    return replace(quality, tracing=replace(quality.tracing, samples=options.samples))


def span_of(options: Options) -> Span | None:
    """The part of the day that a strip is asked for; None where a single picture is.

    Raises
    ------
    InputFault
        What cannot go together, or is no time of day.
    """
    asked = {"--first": options.first, "--last": options.last, "--every": options.every, "--anew": options.anew}
    if not options.day:
        alone = next((name for name, value in asked.items() if value), None)
        if alone is not None:
            raise InputFault(f"{alone}: found without --day; expected --day with it")
        return None
    if options.overlay or options.exr:
        name = "--overlay" if options.overlay else "--exr"
        raise InputFault(f"{name}: found with --day; expected one or the other: a strip has neither overlays nor EXR")
    every = 60.0 if options.every is None else options.every
    return Span(time_of(options.first, "--first"), time_of(options.last, "--last"), every, options.anew)


def overlays_of(words: str) -> tuple[str, ...]:
    """The overlays named, each once.

    Raises
    ------
    InputFault
        A name that is none.
    """
    kinds = tuple(dict.fromkeys(kind.strip() for kind in words.split(",") if kind.strip()))
    for kind in kinds:
        if kind not in KINDS:
            raise InputFault(f'--overlay: found "{kind}"; expected some of {", ".join(KINDS)}, separated by commas')
    return kinds


def size_of(words: str | None, draft: bool) -> tuple[int, int]:
    """Width and height asked for [px]; a height of 0 follows the film, a width of 0 is the usual one.

    Raises
    ------
    InputFault
        The words are no size.
    """
    if words is None:
        return (DRAFT.tracing.width, 0) if draft else (FULL.tracing.width, 0)
    found = re.fullmatch(r"\s*(\d{1,6})\s*(?:[x×X]\s*(\d{1,6}))?\s*", words)
    numbers = [int(n) for n in found.groups() if n] if found else []
    if not numbers or not all(SMALLEST <= n <= LARGEST for n in numbers):
        raise InputFault(
            f'--size: found "{words:.40}"; expected pixels such as 1500x1000, each from {SMALLEST} to {LARGEST}'
        )
    return numbers[0], numbers[1] if len(numbers) == 2 else 0


def sized(view: View, size: tuple[int, int]) -> View:
    """The view at a size [px]; a height of 0 follows the film.

    Raises
    ------
    InputFault
        The size has another shape than the film.
    """
    width, height = size
    fitting = view.of_width(width)
    if height and abs(height - fitting.height) > max(1, fitting.height // 100):
        film = f"{view.film.width * 1e3:g} x {view.film.height * 1e3:g} mm"
        raise InputFault(
            f"--size: found {width}x{height}; expected the shape of the film ({film}): {width}x{fitting.height}"
        )
    return replace(fitting, height=height or fitting.height)


def _make(
    opened: Shoot, shot: Shot, size: tuple[int, int], quality: Quality, seed: int, progress: Progress
) -> tuple[ShotPlan, Picture]:
    progress(0.0)
    plan = plan_shot(opened, shot, DRAFT_SAMPLES if quality.tracing.name == DRAFT.tracing.name else READING_SAMPLES)
    progress(PLANNING)
    exposure = Exposure(plan.light.shutter, plan.light.speed, shot.balance)
    view = sized(plan.view, size)
    made = make_picture(
        plan.stage, view, exposure, quality, lambda done: progress(PLANNING + (1.0 - PLANNING) * done), seed
    )
    return plan, made


def _write(plan: ShotPlan, made: Picture, folder: Path, overlays: tuple[str, ...], exr: bool) -> dict[str, Path]:
    """Write what was asked for; the paths by what they are."""
    title, settings = f"{plan.shoot.title}: {plan.shot.id}", settings_of(plan)
    files = {"picture": folder / f"{plan.shot.id}.png"}
    write_png(files["picture"], made.srgb, title, settings)
    if overlays:
        files["overlay"] = folder / f"{plan.shot.id}-{'-'.join(overlays)}.png"
        with resources.as_file(resources.files("sidelong.sheet") / "fonts" / "SourceSans3-Regular.ttf") as font:
            marked = overlaid(made, overlay_points(plan), overlays, font)
        write_png(files["overlay"], marked, title, {**settings, "Overlay": ", ".join(overlays)})
    if exr:
        files["exr"] = folder / f"{plan.shot.id}.exr"
        people = tuple(person.name for person in plan.stage.people)
        write_exr(files["exr"], made, blur_map(made.view, made.layers.depth) * 1e6, title, settings, people)
    return files


def _answer(plan: ShotPlan, made: Picture, files: dict[str, Path]) -> dict[str, Any]:
    return {
        "id": plan.shot.id,
        "files": {what: str(path) for what, path in files.items()},
        "width_px": made.view.width,
        "height_px": made.view.height,
        "samples": made.samples,
        "made_in_s": made.seconds,
        "mean_exposure_lxs": made.mean_exposure,
        "middle_grey_lxs": MIDDLE_GREY_TIMES_ISO / made.exposure.iso,
        "lights": list(made.layers.names),
        "settings": settings_of(plan),
        "notices": [notice.text for notice in made.notices],
    }

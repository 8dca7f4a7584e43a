"""`sidelong picture`: the predicted photograph of each shot."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sidelong.cli.answer import chosen_shots, json_answer, open_shoot, say, shoot_head, talk
from sidelong.errors import InputFault

if TYPE_CHECKING:
    from sidelong.picture.values import Picture, Quality
    from sidelong.plan.values import ShotPlan
    from sidelong.trace.values import Progress, View

LARGEST = 12000
"""Pixels that a side may have. [px]"""


@dataclass(frozen=True)
class _Asked:
    """What the command line asks for."""

    folder: Path
    quality: Quality
    size: tuple[int, int] | None
    overlays: tuple[str, ...]
    exr: bool
    seed: int


def picture(
    shoot: Path,
    /,
    *,
    shot: str | None = None,
    draft: bool = False,
    out: Path | None = None,
    overlay: str | None = None,
    size: str | None = None,
    samples: int | None = None,
    exr: bool = False,
    seed: int = 0,
    json: bool = False,
) -> None:
    """Make the predicted photograph of one shot or of all.

    Parameters
    ----------
    shoot
        The shoot's folder, or its file.
    shot
        The id of one shot; all of them when left out.
    draft
        A quick small picture, 480 x 320.
    out
        Where the pictures go; the shoot's own folder "out" when left out.
    overlay
        What to draw over a second copy, separated by commas: rings, stops, names.
    size
        Pixels, such as 1500x1000, in the film's shape; a single number is the width.
    samples
        Light paths for each pixel, in place of the usual number.
    exr
        Also write an EXR with a layer for each light, depth, blur and who is where.
    seed
        Another number gives other grain.
    json
        Print one JSON object.
    """
    opened = open_shoot(shoot)
    shots = chosen_shots(opened, shot)
    asked = _asked(out or opened.folder / "out", draft, overlay, size, samples, exr, seed)
    answers = []
    for one in shots:
        with bar(one.id) as progress:
            plan, made = _planned_and_made(opened, one, asked, progress)
        for notice in made.notices:
            talk(f"{one.id}: {notice.text}")
        files = _write(plan, made, asked)
        answers.append(_answer(plan, made, files))
        if not json:
            for path in files.values():
                say(str(path))
    if json:
        json_answer("picture", shoot_head(opened), answers)


def _asked(
    folder: Path, draft: bool, overlay: str | None, size: str | None, samples: int | None, exr: bool, seed: int
) -> _Asked:
    from sidelong.picture.overlay import KINDS
    from sidelong.picture.values import DRAFT, FULL

    kinds = tuple(dict.fromkeys(kind.strip() for kind in (overlay or "").split(",") if kind.strip()))
    for kind in kinds:
        if kind not in KINDS:
            raise InputFault(f'--overlay: found "{kind}"; expected some of {", ".join(KINDS)}, separated by commas')
    quality = DRAFT if draft else FULL
    if samples is not None:
        if not 1 <= samples <= 65536:
            raise InputFault(f"--samples: found {samples}; expected a number from 1 to 65536")
        quality = replace(quality, tracing=replace(quality.tracing, samples=samples))
    if seed < 0:
        raise InputFault(f"--seed: found {seed}; expected a whole number from 0 up")
    pixels = None if size is None else _pixels(size)
    if pixels is None and draft:
        pixels = (quality.tracing.width, 0)
    return _Asked(folder, quality, pixels, kinds, exr, seed)


def _pixels(size: str) -> tuple[int, int]:
    """Width and height asked for; height 0 where only the width is given.

    Raises InputFault for what is no size.
    """
    found = re.fullmatch(r"\s*(\d{1,6})\s*(?:[x×X]\s*(\d{1,6}))?\s*", size)
    numbers = [int(n) for n in found.groups() if n] if found else []
    if not numbers or not all(16 <= n <= LARGEST for n in numbers):
        raise InputFault(f'--size: found "{size}"; expected pixels such as 1500x1000, each from 16 to {LARGEST}')
    return numbers[0], numbers[1] if len(numbers) == 2 else 0


def sized(view: View, size: tuple[int, int] | None) -> View:
    """The view at a size in pixels; a height of 0 follows the film.

    Raises
    ------
    InputFault
        The size has another shape than the film.
    """
    if size is None:
        return view
    width, height = size
    fitting = round(width * view.film.height / view.film.width)
    if height and abs(height - fitting) > max(1, fitting // 100):
        film = f"{view.film.width * 1e3:g} x {view.film.height * 1e3:g} mm"
        raise InputFault(f"--size: found {width}x{height}; expected the shape of the film, {film}: {width}x{fitting}")
    return replace(view, width=width, height=height or fitting)


def _planned_and_made(opened: Any, shot: Any, asked: _Asked, progress: Progress) -> tuple[ShotPlan, Picture]:
    from sidelong.picture.make import make_picture  # late: slow import
    from sidelong.picture.values import Exposure
    from sidelong.plan.predict import plan_shot  # late: slow import

    progress(0.0)
    plan = plan_shot(opened, shot)
    planned = 0.1
    progress(planned)
    made = make_picture(
        plan.stage,
        sized(plan.view, asked.size),
        Exposure(plan.light.shutter, plan.light.iso, shot.balance),
        asked.quality,
        lambda done: progress(planned + (1.0 - planned) * done),
        asked.seed,
    )
    return plan, made


def _write(plan: ShotPlan, made: Picture, asked: _Asked) -> dict[str, Path]:
    from sidelong.picture.blurmap import blur_map
    from sidelong.picture.files import write_exr, write_png
    from sidelong.picture.overlay import overlaid

    title, settings = _title(plan), settings_of(plan)
    files = {"picture": asked.folder / f"{plan.shot.id}.png"}
    write_png(files["picture"], made.srgb, title, settings)
    if asked.overlays:
        files["marked"] = asked.folder / f"{plan.shot.id}.{'-'.join(asked.overlays)}.png"
        with resources.as_file(resources.files("sidelong.sheet") / "fonts" / "SourceSans3-Regular.ttf") as font:
            marked = overlaid(made, overlay_points(plan), asked.overlays, font)
        write_png(files["marked"], marked, title, {**settings, "Overlays": ", ".join(asked.overlays)})
    if asked.exr:
        files["exr"] = asked.folder / f"{plan.shot.id}.exr"
        people = tuple(person.name for person in plan.stage.people)
        write_exr(files["exr"], made, blur_map(made.view, made.layers.depth) * 1e6, title, settings, people)
    return files


def overlay_points(plan: ShotPlan) -> list[Any]:
    """Everyone in the picture, as the overlays draw them; marks have no face."""
    from sidelong.picture.values import OverlayPoint

    stops = {point.name: point.total_stops for point in plan.light.points}
    glass = plan.focus
    points = []
    for point in glass.points:
        if point.image is None or not point.in_picture:
            continue
        depth = float(glass.frame.to_body(point.at)[2] - glass.principal_point[2])
        face = FACE_WIDTH * glass.film_distance / depth if point.kind == "person" and depth > 0 else None
        points.append(
            OverlayPoint(
                point.name,
                point.image,
                point.blur_major,
                point.blur_minor,
                point.blur_angle or 0.0,
                stops.get(point.name),
                face,
            )
        )
    return points


FACE_WIDTH = 0.15
"""Breadth of a head, from memory of common body measures. [m]"""


def settings_of(plan: ShotPlan) -> dict[str, str]:
    """What the picture's metadata says of the shot, in the words that stand on the camera, the lens and the packs."""
    from sidelong.plan.words import movement_in_words, rotation_in_words
    from sidelong.units import f_mark, iso_mark, metres_in_words, shutter_mark

    focus, light, shot = plan.focus, plan.light, plan.shot
    ring = "infinity" if focus.ring is None else metres_in_words(focus.ring, plan.shoot.imperial)
    lens = focus.setting.lens
    words = {
        "Lens": f"{lens.id}, {lens.focal_length * 1e3:g} mm",
        "Stop": f"f/{f_mark(focus.setting.f_number)}",
        "Shutter": f"{shutter_mark(light.shutter)} s",
        "ISO": str(iso_mark(light.iso)),
        "Balance": f"{shot.balance:.0f} K",
        "Movement": movement_in_words(focus.setting.movement),
        "Mount": rotation_in_words(focus.setting.movement),
        "Ring": ring,
        "When": shot.when.isoformat(sep=" ", timespec="minutes"),
    }
    for head in light.heads:
        words[f"Strobe {head.name}"] = f"{_fraction(head.power)}, {head.power_stops:+.1f} stops, {head.energy:.0f} J"
    return words


def _fraction(power: float) -> str:
    return "off" if power <= 0 else "full" if power >= 0.995 else f"1/{1 / power:.3g}"


def _title(plan: ShotPlan) -> str:
    return f"{plan.shoot.title}: {plan.shot.id}"


def _answer(plan: ShotPlan, made: Picture, files: dict[str, Path]) -> dict[str, Any]:
    return {
        "id": plan.shot.id,
        "files": {name: str(path) for name, path in files.items()},
        "width_px": made.view.width,
        "height_px": made.view.height,
        "seconds_s": made.seconds,
        "samples": made.samples,
        "mean_exposure_lxs": made.mean_exposure,
        "middle_grey_lxs": 10.0 / made.exposure.iso,
        "lights": list(made.layers.names),
        "notices": [notice.text for notice in made.notices],
    }


@contextmanager
def bar(what: str) -> Iterator[Progress]:
    """A bar on standard error, that a fraction from 0 to 1 moves; nothing where standard error is no terminal."""
    from rich.console import Console  # late: slow import
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn  # late: slow import

    columns = (TextColumn("{task.description}", markup=False), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        task = shown.add_task(what, total=1.0)
        yield lambda done: shown.update(task, completed=done)


__all__: Sequence[str] = ("bar", "overlay_points", "picture", "settings_of", "sized")

"""`sidelong demo`: a whole shoot, from its file to pictures and the printed book."""

from __future__ import annotations

import math
import shutil
import sys
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from rich.table import Table

from sidelong.cli.answer import open_shoot, say, show, table, talk
from sidelong.cli.bar import bar
from sidelong.cli.picture import sized
from sidelong.cli.sheet import print_book
from sidelong.errors import InputFault, Missing
from sidelong.picture.files import write_png
from sidelong.picture.make import make_picture
from sidelong.picture.values import DRAFT, FULL, Exposure, Quality
from sidelong.plan.predict import plan_shot, plan_without_light
from sidelong.plan.values import ShotPlan
from sidelong.plan.words import movement_to_set
from sidelong.sheet.captions import settings_of
from sidelong.shoot.values import Shoot
from sidelong.units import f_mark, iso_mark, metres_in_words, shutter_mark

NAME = "net-loft"
"""The shoot that is shown unless another is named."""
TIME_FOR_PICTURES = 330.0
"""What all pictures of the demo may take, so that a first run with its set-up stays under ten minutes. [s]"""


def demo(folder: Path | None = None, /, *, draft: bool = False) -> None:
    """Plan a whole shoot, predict its pictures and print its book: what Sidelong does, on a shoot of its own.

    Parameters
    ----------
    folder
        Where the demo shoot lies, or shall be put if nothing is there yet. Left out: in a checkout its own
        demo/net-loft, otherwise the folder net-loft here.
    draft
        Quick small pictures.
    """
    began = time.monotonic()
    opened = open_shoot(demo_shoot(folder))
    talk(f"{opened.title}: no fault; {len(opened.shots)} shots, {len(opened.people)} people")
    plans, whole = _planned(opened)
    show(_summary(plans))
    out = opened.folder / "out"
    pictures = _pictured_all(plans, DRAFT if draft else FULL, out) if whole else []
    with bar("printing the book"):
        book = print_book(opened, plans, out, out / "book.pdf")
    _say_what_next(opened, pictures, book, time.monotonic() - began)


def demo_shoot(folder: Path | None) -> Path:
    """The demo shoot's folder; where it is not there yet, a copy of the one that came with the package.

    Raises
    ------
    InputFault
        The folder holds something else, or the package came without its demo.
    """
    checkout = Path(__file__).resolve().parents[3] / "demo" / NAME
    if folder is None and (checkout / "shoot.toml").is_file():
        return checkout
    target = Path(NAME) if folder is None else folder
    if (target / "shoot.toml").is_file():
        return target
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise InputFault(f"{target} holds something else; name an empty folder or one that is not there yet")
    shipped = Path(__file__).resolve().parents[1] / "demo" / NAME
    source = next((place for place in (checkout, shipped) if (place / "shoot.toml").is_file()), None)
    if source is None:
        raise InputFault(
            "this installation came without its demo shoot; get it from a checkout, folder demo/net-loft"
        )
    beside = target.with_name(target.name + ".part")
    shutil.rmtree(beside, ignore_errors=True)
    shutil.copytree(source, beside, ignore=shutil.ignore_patterns("out"))
    if target.exists():
        target.rmdir()
    beside.rename(target)
    talk(f"The demo shoot is now in {target}")
    return target


def _planned(shoot: Shoot) -> tuple[list[ShotPlan], bool]:
    """Every shot, planned, and whether light could be traced here; without it focus and drawings are still had."""
    plans: list[ShotPlan] = []
    traced = True
    with bar("planning") as progress:
        for number, shot in enumerate(shoot.shots, 1):
            try:
                plans.append(plan_shot(shoot, shot) if traced else plan_without_light(shoot, shot))
            except Missing as missing:
                talk(f"no light readings and no pictures: {missing}")
                traced = False
                plans.append(plan_without_light(shoot, shot))
            progress(number / len(shoot.shots))
    return plans, traced


def _summary(plans: Sequence[ShotPlan]) -> Table:
    rows = []
    for plan in plans:
        focus, light = plan.focus, plan.light
        ring = "infinity" if focus.ring is None else metres_in_words(focus.ring, plan.shoot.imperial)
        stop, shutter = f_mark(focus.setting.f_number), shutter_mark(light.shutter)
        rows.append(
            (
                plan.shot.id,
                f"{focus.setting.lens.focal_length * 1e3:g} mm",
                movement_to_set(focus.setting),
                ring,
                f"f/{stop}, {shutter} s, ISO {iso_mark(light.iso)}",
                ", ".join(plan.shot.sharp),
            )
        )
    return table("", ("shot", "lens", "movement", "ring", "exposure", "sharp"), rows)


def fitting_width(width: int, took: float, left: float, pictures: int) -> int:
    """How wide the next pictures may be: as before if that fits, else smaller, at least a draft's width. [px]

    `took`: what the last one of `width` took, `left`: the time left for all `pictures` to come. [s]
    """
    share = max(left, 0.0) / (pictures * max(took, 1e-9))
    return width if share > 0.9 else min(width, max(DRAFT.tracing.width, round(width * math.sqrt(share))))


def _pictured_all(plans: Sequence[ShotPlan], quality: Quality, out: Path) -> list[Path]:
    """Every shot's picture; smaller ones once it shows that the machine is too slow for full ones in good time."""
    end = time.monotonic() + TIME_FOR_PICTURES
    paths: list[Path] = []
    for plan in plans:
        began = time.monotonic()
        paths.append(_pictured(plan, quality, out))
        now = time.monotonic()
        if len(paths) < len(plans):
            width = fitting_width(quality.tracing.width, now - began, end - now, len(plans) - len(paths))
            if width < quality.tracing.width:
                talk(f"{width} pixels wide from here on, to end in good time; sidelong picture makes full ones")
            quality = replace(quality, tracing=replace(quality.tracing, width=width))
    return paths


def _pictured(plan: ShotPlan, quality: Quality, out: Path) -> Path:
    """Make and write one shot's picture; its path."""
    exposure = Exposure(plan.light.shutter, plan.light.speed, plan.shot.balance)
    view = sized(plan.view, (quality.tracing.width, 0))
    with bar(f"picture of {plan.shot.id}") as progress:
        made = make_picture(plan.stage, view, exposure, quality, progress)
    path = out / f"{plan.shot.id}.png"
    write_png(path, made.srgb, f"{plan.shoot.title}: {plan.shot.id}", settings_of(plan))
    for notice in made.notices:
        talk(f"{plan.shot.id}: {notice.text}")
    talk(f"picture of {plan.shot.id}: {made.seconds:.0f} s")
    return path


def _say_what_next(shoot: Shoot, pictures: Sequence[Path], book: Path, seconds: float) -> None:
    """Where everything lies, and what to try, in words that can be pasted as they are."""
    here = _shown(shoot.folder)
    command = "sidelong" if shutil.which("sidelong") else _shown(Path(sys.argv[0]))
    tries = (
        (f"{command} focus {here}", "the card for the set, shot by shot"),
        (f"{command} picture {here} --shot {shoot.shots[0].id} --draft --overlay rings,names", "one shot, quick"),
        (f"{command} check {here}", f"after changing something in {here}/shoot.toml"),
        (f"{command} new my-shoot", "a shoot of your own"),
    )
    say(f"\nDone in {int(seconds) // 60} min {int(seconds) % 60} s.")
    for path in pictures:
        say(f"  picture  {_shown(path)}")
    say(f"  book     {_shown(book)}")
    say("\nTry next:")
    for line, why in tries:
        say(f"  {line}\n      {why}")


def _shown(path: Path) -> str:
    """A path as short as it can be said from where we are."""
    path = path.resolve()
    return str(path.relative_to(Path.cwd())) if path.is_relative_to(Path.cwd()) else str(path)

"""`sidelong sheet`: the printed book of a shoot."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from PIL import Image

from sidelong.cli.answer import chosen_shots, json_answer, open_shoot, say, shoot_head, talk
from sidelong.cli.bar import bar
from sidelong.day.cautions import cautions
from sidelong.day.kit import is_needed, packing
from sidelong.errors import FileFault, InputFault
from sidelong.plan.in_picture import in_picture
from sidelong.plan.in_picture_answer import in_picture_in_words
from sidelong.plan.meters import spot_readings
from sidelong.plan.predict import plan_shot, plan_without_light
from sidelong.plan.teacher import Teacher
from sidelong.plan.values import ShotPlan
from sidelong.sheet.book import book, write_whole
from sidelong.sheet.values import PAPERS, Extras, KitRow, Notice, Paper
from sidelong.shoot.values import Shoot
from sidelong.sources import SOURCES

_LARGEST_PICTURE = 200_000_000
"""Of a picture file that is put into the book. [bytes]"""


def sheet(
    shoot: Path,
    /,
    *,
    paper: str = "a4",
    out: Path | None = None,
    pictures: Path | None = None,
    draft: bool = False,
    json: bool = False,
) -> None:
    """Print the book: cover, plan and elevation, a leaf and a meter page for each shot, kit, cautions, as one PDF.

    Parameters
    ----------
    shoot
        The shoot's folder, or its file.
    paper
        a4 or letter.
    out
        The PDF to write; out/TITLE.pdf in the shoot's folder when left out.
    pictures
        Where the predicted pictures lie, one SHOT.png each; the folder "out" in the shoot when left out.
    draft
        Leave out the metering of the light, and with it the light and colour tables: quick.
    json
        Print one JSON object.

    Raises
    ------
    FileFault
        `out` names a folder.
    """
    size = paper_of(paper)
    if out is not None and out.is_dir():
        raise FileFault(f"--out: found the folder {out}; expected the name of a file, such as {out / 'book.pdf'}")
    opened = open_shoot(shoot)
    plans = _planned(opened, draft)
    path = print_book(opened, plans, pictures or opened.folder / "out", out, size)
    if json:
        shots = [{"id": plan.shot.id} for plan in plans]
        json_answer("sheet", shoot_head(opened), shots, {"files": {"book": str(path)}, "paper": size.name})
    else:
        say(str(path))


def print_book(
    shoot: Shoot, plans: Sequence[ShotPlan], pictures: Path, out: Path | None, paper: Paper = PAPERS["a4"]
) -> Path:
    """Put the book together and write it; the path of the PDF. Pictures that cannot be used are said on standard
    error.

    Raises
    ------
    FileFault
        The PDF cannot be written there.
    Missing
        The PDF engine is not installed.
    """
    found, words = pictures_for(shoot, plans, pictures)
    for sentence in words:
        talk(sentence)
    path = out or shoot.folder / "out" / f"{slug(shoot.title)}.pdf"
    content = book(shoot, plans, extras_of(shoot, plans, found), paper)
    try:
        write_whole(path, content)
    except OSError as fault:
        raise FileFault(
            f"{path}: the book cannot be written there ({fault.strerror}); name another file with --out"
        ) from fault
    return path


def extras_of(shoot: Shoot, plans: Sequence[ShotPlan], pictures: dict[str, Path]) -> Extras:
    """Cautions and kit of the day as the sheet prints them; of metered shots meters, what gets into the picture."""
    notices = tuple(
        Notice(c.title, c.text, c.why, tuple(SOURCES.get(key, key) for key in c.sources))
        for c in cautions(shoot, plans)
    )
    rows = tuple(
        KitRow(p.kind, p.id, p.shots, is_needed(p), p.owned.owned, p.owned.rent_per_day, p.owned.weight)
        for p in packing(replace(shoot, shots=tuple(plan.shot for plan in plans))).pieces
    )
    metered = [plan for plan in plans if plan.light.points]
    return Extras(
        pictures,
        notices,
        rows,
        "No predicted picture yet; sidelong picture makes one.",
        {plan.shot.id: spot_readings(plan) for plan in metered},
        {plan.shot.id: in_picture_in_words(in_picture(plan), plan.shot.body.film) for plan in metered},
    )


def pictures_for(shoot: Shoot, plans: Sequence[ShotPlan], folder: Path) -> tuple[dict[str, Path], list[str]]:
    """The pictures that can be used, by shot id, and a sentence for each that cannot.

    A picture older than the shoot file shows another shoot, and is left out.
    """
    file = shoot.folder / "shoot.toml"
    changed = file.stat().st_mtime if file.is_file() else 0.0
    found: dict[str, Path] = {}
    words = []
    for plan in plans:
        path = folder / f"{plan.shot.id}.png"
        if not path.is_file():
            words.append(f"{plan.shot.id}: no picture {path.name} in {folder}; printed without")
        elif path.stat().st_mtime < changed:
            words.append(
                f"{plan.shot.id}: {path.name} is older than the shoot file; printed without (sidelong "
                "picture makes a new one)"
            )
        elif not _is_png(path):
            words.append(f"{plan.shot.id}: {path} is no PNG picture that can be read; printed without")
        else:
            found[plan.shot.id] = path
    return found, words


def _is_png(path: Path) -> bool:
    if path.stat().st_size > _LARGEST_PICTURE:
        return False
    try:
        with Image.open(path, formats=("PNG",)) as picture:
            picture.load()
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return False
    return True


def paper_of(name: str) -> Paper:
    """The paper of a name.

    Raises
    ------
    InputFault
        A name that is none.
    """
    if name.lower() not in PAPERS:
        raise InputFault(f'--paper: found "{name:.40}"; expected one of {", ".join(PAPERS)}')
    return PAPERS[name.lower()]


def slug(title: str) -> str:
    """A file's name from a title: ``the-net-loft``; ``shoot`` when nothing is left."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60].strip("-") or "shoot"


def _planned(shoot: Shoot, draft: bool) -> list[ShotPlan]:
    teacher = Teacher(shoot)
    shots = chosen_shots(shoot, None)
    plans: list[ShotPlan] = []
    with bar("planning") as progress:
        for shot in shots:
            plans.append(plan_without_light(shoot, shot) if draft else plan_shot(shoot, shot, teacher=teacher))
            progress(len(plans) / len(shots))
    return plans

"""The printed book of a shoot: cover, place, a leaf and a meter page for each shot, kit, cautions; one PDF."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from importlib import resources
from pathlib import Path

from sidelong.plan.values import ShotPlan
from sidelong.sheet.contents import contents
from sidelong.sheet.fonts import FOLDER
from sidelong.sheet.typeset import FIXED_TIME, typeset
from sidelong.sheet.values import A4, Extras, Paper
from sidelong.shoot.values import Shoot


def book(shoot: Shoot, plans: Sequence[ShotPlan], extras: Extras, paper: Paper = A4) -> bytes:
    """The book as the bytes of a PDF; the same input gives the same bytes.

    Raises
    ------
    Missing
        The PDF engine is not installed.
    """
    data, files = contents(shoot, plans, extras, paper)
    when = min((plan.shot.when for plan in plans), default=FIXED_TIME)
    template = resources.files("sidelong.sheet").joinpath("book.typ").read_text(encoding="utf-8")
    return typeset(template, data, files, FOLDER, when)


def write_whole(path: Path, content: bytes) -> None:
    """Write a file whole or not at all: a temporary file beside it, flushed to disk, then renamed.

    The folder is made when it is not there.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.stem[:40]}-", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, 0o644)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise

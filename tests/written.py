"""A shoot file of a test, written and read."""

from __future__ import annotations

from pathlib import Path

from sidelong.shoot.check import load
from sidelong.shoot.values import Shoot


def shoot_of(folder: Path, text: str) -> Shoot:
    """The shoot that `text` describes, as its file in a folder; faults are raised."""
    (folder / "shoot.toml").write_text(text, encoding="utf-8")
    return load(folder)

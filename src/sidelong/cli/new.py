"""`sidelong new`: start a shoot."""

from __future__ import annotations

from pathlib import Path

from sidelong.cli.answer import say, talk
from sidelong.shoot.starter import start


def new(folder: Path, /) -> None:
    """Make a folder with a commented shoot.toml to begin from; nothing that is there is overwritten.

    Parameters
    ----------
    folder
        Where the shoot shall lie; made if it is not there.
    """
    made = start(folder)
    say(str(made))
    talk(f"Open it in any editor, then: sidelong check {folder}")

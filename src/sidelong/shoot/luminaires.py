"""Luminaire files of a shoot: read from its folder, bounded in size, each once."""

from __future__ import annotations

import os
from pathlib import Path

from sidelong.errors import FileFault
from sidelong.light.luminaire_file import read_luminaire
from sidelong.light.luminaire_lines import LARGEST_FILE
from sidelong.light.values import Distribution


def load_luminaire(folder: Path, file: str) -> Distribution:
    """The distribution of a file in a shoot's folder; the path is taken as already checked to lie inside.

    Raises
    ------
    FileFault
        It cannot be opened, is larger than LARGEST_FILE bytes, or (LuminaireFault) is not what its ending says.
    """
    try:
        with open(folder / file, "rb", opener=lambda p, f: os.open(p, f | getattr(os, "O_NONBLOCK", 0))) as opened:
            content = opened.read(LARGEST_FILE + 1)
    except OSError as fault:
        raise FileFault(
            f'the luminaire file "{file}" cannot be opened ({fault.strerror}); put it into the shoot\'s folder'
        ) from fault
    if len(content) > LARGEST_FILE:
        raise FileFault(f'the luminaire file "{file}" has more than {LARGEST_FILE / 1e6:.0f} MB')
    return read_luminaire(file, content.decode("utf-8", errors="replace"))

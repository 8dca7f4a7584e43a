"""Files that come in through the desk: scans of the place and luminaires of the kit, read before they are kept."""

from __future__ import annotations

import os
import re
import tempfile
from pathlib import Path, PurePosixPath, PureWindowsPath

from sidelong.errors import FileFault, InputFault
from sidelong.light.luminaire_file import ENDINGS
from sidelong.place.meshes import KINDS_OF_FILE, read_mesh
from sidelong.place.values import MeshFile
from sidelong.shoot.luminaires import load_luminaire

FOLDER = "files"
"""Of a shoot's folder, where they are put."""
KINDS = (*KINDS_OF_FILE, *ENDINGS)
LONGEST_NAME = 80
MOST_ALIKE = 1000
"""Files of one name, told apart by a number."""


def keep_file(folder: Path, name: str, content: bytes) -> str:
    """Keep a file in a shoot's folder; its path from there, as the shoot file names it.

    It is read as the shoot will read it, and kept whole or not at all. Nothing is written over: where another file
    has the name, this one gets a number; the same file is kept once.

    Parameters
    ----------
    folder
        The shoot's.
    name
        What it was called where it comes from; folders before it do not count.
    content
        Its bytes.

    Raises
    ------
    InputFault
        It has another ending than meshes and luminaires have, or a name that is none.
    FileFault
        It is not what its ending says, is too large, or cannot be written.
    """
    called = _name_of(name)
    place = folder / FOLDER
    if place.is_symlink():
        raise FileFault(f'"{FOLDER}" is a link; the desk keeps to the shoot\'s folder: take the link away')
    try:
        place.mkdir(exist_ok=True)
        with tempfile.TemporaryDirectory(dir=place, prefix=".coming-") as coming:
            part = Path(coming) / called.name
            with part.open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            _read(part)
            return f"{FOLDER}/{_put(part, place, called, content)}"
    except OSError as fault:
        raise FileFault(f'"{called.name}" cannot be kept in "{FOLDER}" ({fault.strerror})') from fault


def _name_of(name: str) -> PurePosixPath:
    """The last part of a path of either kind, without what does not belong into a name."""
    last = PurePosixPath(PureWindowsPath(name).name)
    if last.suffix.lower() not in KINDS:
        raise InputFault(f"found the ending {last.suffix or 'of no kind'}; expected one of {', '.join(KINDS)}")
    stem = re.sub(r"[^\w +()-]+", "-", last.stem).strip(" -")[: LONGEST_NAME - 8]
    if not stem:
        raise InputFault(f'found the name "{name[:LONGEST_NAME]}"; expected letters or figures before the ending')
    return PurePosixPath(stem + last.suffix.lower())


def _read(path: Path) -> None:
    """Read it as the shoot will. Raises FileFault (LuminaireFault) where that fails."""
    if path.suffix in KINDS_OF_FILE:
        read_mesh(MeshFile(path.stem, str(path)))
    else:
        load_luminaire(path.parent, path.name)


def _put(part: Path, place: Path, called: PurePosixPath, content: bytes) -> str:
    """Give it the first name that is free, or that the same file has already."""
    for number in range(1, MOST_ALIKE + 1):
        name = called.name if number == 1 else f"{called.stem} {number}{called.suffix}"
        target = place / name
        try:
            os.link(part, target)
        except FileExistsError:
            if target.is_symlink() or not target.is_file():
                continue
            if target.stat().st_size == len(content) and target.read_bytes() == content:
                return name
        else:
            return name
    raise FileFault(f'"{FOLDER}" holds {MOST_ALIKE} files called "{called.name}"; take some away')

"""A first shoot to begin from."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from sidelong.errors import FileFault, InputFault
from sidelong.shoot.document import FILE_NAME, shown_name


def starter_text() -> str:
    """The commented shoot file that `start` writes."""
    return files("sidelong.shoot").joinpath("starter.toml").read_text(encoding="utf-8")


def start(folder: Path) -> Path:
    """Write the starter into a folder, made if need be, and give the path of its shoot file.

    Raises
    ------
    InputFault
        There is a shoot file already, or the folder's name is taken by a file.
    FileFault
        The folder cannot be made or written.
    """
    path = folder / FILE_NAME
    name = shown_name(str(path))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        # exclusive creation: another shoot is never overwritten, even one made a moment ago
        with open(path, "x", encoding="utf-8", newline="\n") as file:
            file.write(starter_text())
    except FileExistsError:
        what = "a shoot already" if folder.is_dir() else "a file where the folder should be"
        raise InputFault(f"found {what} at {name}; expected a new folder; choose another name") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "not a path"
        raise FileFault(f"{name} could not be written ({reason}); choose another folder") from error
    return path

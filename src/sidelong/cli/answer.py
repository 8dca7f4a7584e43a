"""How every command answers: data on standard output, talk on standard error, one place for exit codes."""

from __future__ import annotations

import io
import json
import math
import os
import sys
import traceback
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sidelong.errors import InputFault, ShootFault, SidelongError

if TYPE_CHECKING:
    from rich.table import Table

    from sidelong.shoot.values import Shoot, Shot

STOPPED = 130
OUR_FAILURE = 1
TRACE = "SIDELONG_TRACE"
"""Set to 1 in the environment, it shows where a failure of ours came from."""


def answer_in_utf8() -> None:
    """Make both streams take every character: UTF-8 into files and pipes, on a terminal what it has."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper) and stream.encoding.lower() not in ("utf-8", "utf8"):
            if stream.isatty():
                stream.reconfigure(errors="replace")
            else:
                stream.reconfigure(encoding="utf-8", errors="backslashreplace")


def talk(text: str) -> None:
    """Say something to the person, on standard error."""
    print(text, file=sys.stderr, flush=True)


def say(text: str) -> None:
    """Put out data, on standard output."""
    print(text)


def json_answer(
    command: str, shoot: Mapping[str, Any], shots: Sequence[Mapping[str, Any]], more: Mapping[str, Any] | None = None
) -> None:
    """Print the one object that a command gives to machines.

    Parameters
    ----------
    command : str
        The verb; the format is ``sidelong.<command>/1``.
    shoot : mapping
        What concerns the whole shoot; `shoot_head` makes the usual one.
    shots : sequence of mappings
        One for each shot. Keys carry their unit; numpy's numbers and arrays are taken; what is not finite
        becomes null.
    more : mapping, optional
        Further keys beside ``shots``.
    """
    answer = {"format": f"sidelong.{command}/1", "shoot": dict(shoot), "shots": list(shots), **(more or {})}
    say(json.dumps(_plain(answer), ensure_ascii=False, indent=2, allow_nan=False))


def shoot_head(shoot: Shoot) -> dict[str, Any]:
    """What every JSON answer says about the shoot."""
    return {"title": shoot.title, "client": shoot.client, "folder": str(shoot.folder)}


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if value is None or isinstance(value, (bool, int, str)):
        return value
    if hasattr(value, "tolist"):
        return _plain(value.tolist())
    if hasattr(value, "isoformat"):
        return value.isoformat()
    if isinstance(value, Iterable):
        return [_plain(v) for v in value]
    return str(value)


def table(title: str, columns: Sequence[str], rows: Iterable[Sequence[str]], right: Sequence[int] = ()) -> Table:
    """A table for people; `right` are the positions of columns of figures."""
    from rich.markup import escape  # late: slow import
    from rich.table import Table  # late: slow import

    made = Table(title=escape(title) or None, title_justify="left", title_style="bold", header_style="bold")
    for position, column in enumerate(columns):
        made.add_column(escape(column), justify="right" if position in right else "left")
    for row in rows:
        made.add_row(*(escape(cell) for cell in row))
    return made


def show(thing: Any) -> None:
    """Print a table or any other of rich's things on standard output, without colour where that is no terminal."""
    from rich.console import Console  # late: slow import

    to_terminal = sys.stdout.isatty()
    Console(file=sys.stdout, width=None if to_terminal else 118, no_color=not to_terminal, highlight=False).print(
        thing
    )


def open_shoot(shoot: str | Path, beyond: bool = False) -> Shoot:
    """The composed shoot of a folder or file; its doubts are said on standard error.

    `beyond`: one that is well written and only asks for more than the kit or the optics give is opened too, for
    commands that say what comes nearest.

    Raises
    ------
    ShootFault
        With every fault of the file.
    """
    from sidelong.shoot.check import check  # late: slow import

    checked = check(Path(shoot))
    if checked.shoot is None and beyond and checked.asked is not None:
        for fault in checked.faults:
            talk(str(fault))
        return checked.asked
    if checked.shoot is None:
        raise ShootFault(checked.faults)
    for doubt in checked.doubts:
        talk(f"doubt: {doubt}")
    return checked.shoot


def chosen_shots(shoot: Shoot, shot: str | None) -> tuple[Shot, ...]:
    """All shots, or the one of an id.

    Raises
    ------
    InputFault
        No shot has that id, or there is none at all.
    """
    if not shoot.shots:
        raise InputFault("found no shot in the shoot; expected at least one [[shots]]")
    if shot is None:
        return shoot.shots
    some = tuple(s for s in shoot.shots if s.id == shot)
    if not some:
        ids = ", ".join(s.id for s in shoot.shots)
        raise InputFault(f'found no shot "{shot}"; expected one of {ids}')
    return some


def ending(run: Callable[[], object]) -> int:
    """Run a command and give the exit code; every error becomes words on standard error here and nowhere else."""
    try:
        run()
        sys.stdout.flush()
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else OUR_FAILURE if end.code else 0
    except SidelongError as error:
        talk(str(error))
        return error.exit_code
    except KeyboardInterrupt:
        talk("stopped; nothing half-written is left behind")
        return STOPPED
    except BrokenPipeError:
        # whoever read our output has left; point it at nothing, so that the last flush is quiet too
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as error:
        return _our_failure(error)
    return 0


def _our_failure(error: Exception) -> int:
    talk(f"sidelong failed, and the fault is ours, not your shoot's: {type(error).__name__}: {str(error)[:300]}")
    if os.environ.get(TRACE) == "1":
        traceback.print_exception(error)
    else:
        talk(f"Run it again with {TRACE}=1 to see where, and send that with the shoot file.")
    return OUR_FAILURE

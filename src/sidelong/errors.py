"""Every error Sidelong raises on purpose.

::

    SidelongError                 one base; str() is a message fit for the photographer
    |-- InputFault                the input is at fault                            exit code 2
    |   |-- ShootFault            the shoot file: carries a list of faults, each with file, line, column
    |   `-- FileFault             a mesh, a font, a picture: missing, too big, not what it says
    |       `-- LuminaireFault    a luminaire file: carries the fault with its line
    |-- Impossible                asked for what cannot be; carries the nearest    exit code 3
    |   |-- NoPlaneOfFocus        the film plane holds the principal point
    |   |-- OutOfReach            a point cannot be focused on with this lens and movement
    |   |-- BeyondMovement        more movement, shift or rotation than the lens has
    |   |-- OutOfPower            a light cannot give what is asked within its range
    |   `-- NoBalance             the wishes for a shot's light cannot all be met
    `-- Missing                   something this machine lacks (an LLVM library)   exit code 1

A message says what was found, what was expected, where, and what to do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass


class SidelongError(Exception):
    """Base of every error raised on purpose; `exit_code` is what the command line returns for it."""

    exit_code = 1


class InputFault(SidelongError):
    """The input is at fault."""

    exit_code = 2


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong in one place of an input file (line and column count from 1; 0 if unknown)."""

    file: str
    line: int
    column: int
    found: str
    expected: str
    hint: str = ""
    source_line: str = ""
    beyond: bool = False
    """Well written, but beyond the kit or the optics: a plan says what comes nearest."""

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        text = f"{where}: found {self.found}; expected {self.expected}"
        if self.hint:
            text += f"; {self.hint}"
        if self.source_line:
            text += f"\n    {self.source_line}\n    {' ' * (self.column - 1)}^"
        return text


class ShootFault(InputFault):
    """The shoot file is at fault; `faults` lists all that was found at once."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(f) for f in self.faults))


class FileFault(InputFault):
    """A file that the shoot refers to is missing, too big, or not what it says it is."""


class LuminaireFault(FileFault):
    """A luminaire file is not what its standard says; `fault` tells what was found in which line."""

    def __init__(self, fault: Fault) -> None:
        self.fault = fault
        super().__init__(str(fault))


class Impossible(SidelongError):
    """Asked for what physics or the kit forbids; `figures` carries the numbers, `nearest` what can be had."""

    exit_code = 3

    def __init__(self, message: str, figures: Mapping[str, float] | None = None, nearest: str = "") -> None:
        self.figures = dict(figures or {})
        self.nearest = nearest
        super().__init__(f"{message}; {nearest}" if nearest else message)


class NoPlaneOfFocus(Impossible):
    """The film plane holds the principal point, so that no plane in front of the lens is imaged on it."""


class OutOfReach(Impossible):
    """A point cannot be focused on with this lens and movement."""


class BeyondMovement(Impossible):
    """More movement, shift or rotation was asked for than the lens has."""


class OutOfPower(Impossible):
    """A light cannot give what is asked for within its range of power."""


class NoBalance(Impossible):
    """The wishes for a shot's light cannot all be met with this kit; the nearest settings are found all the same."""


class Missing(SidelongError):
    """Something this machine lacks; the message says what still works and how to get the rest."""

"""The lines and numbers of a luminaire file, each known by its line so that a fault can name it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import Fault, LuminaireFault

LARGEST_FILE = 4_000_000
"""[characters]"""
MOST_ANGLES = 1000
"""In each direction; finer than any goniometer's table."""
HIGHEST = 1e9
"""More candelas than any lamp has. [cd]"""


class Lines:
    """A file by its `name` and the lines of its text, counted from 1."""

    def __init__(self, name: str, text: str) -> None:
        self.name, self.rows = name, text.splitlines()

    def fault(self, line: int, found: str, expected: str) -> LuminaireFault:
        """What is wrong in a line (0: in the file as a whole), to be raised."""
        row = self.rows[line - 1][:120] if 0 < line <= len(self.rows) else ""
        return LuminaireFault(Fault(self.name, line, 1 if line else 0, found, expected, "", row))

    def text(self, line: int, what: str) -> str:
        """A line's text without blanks at its ends.

        Raises
        ------
        LuminaireFault
            The file has ended before it.
        """
        if line > len(self.rows):
            raise self.fault(len(self.rows), "the end of the file", what)
        return self.rows[line - 1].strip()

    def number(self, line: int, word: str, what: str) -> float:
        """A finite number from a word of a line.

        Raises
        ------
        LuminaireFault
            It is no number, or not finite.
        """
        try:
            value = float(word.replace(",", "."))
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            raise self.fault(line, f'"{word[:40]}"', what)
        return value

    def count(self, line: int, word: str, what: str, most: int) -> int:
        """A whole number from 1 to `most`.

        Raises
        ------
        LuminaireFault
            It is none.
        """
        value = self.number(line, word, what)
        if value != int(value) or not 1 <= value <= most:
            raise self.fault(line, f"{value:g}", f"{what}, a whole number from 1 to {most}")
        return int(value)

    def ascending(self, line: int, degrees: Sequence[float], what: str) -> NDArray[np.float64]:
        """Angles (N,) that grow from one to the next, in radians from degrees. [rad]

        Raises
        ------
        LuminaireFault
            They do not.
        """
        angles = np.asarray(degrees, float)
        if np.any(np.diff(angles) <= 0):
            bad = int(np.argmax(np.diff(angles) <= 0)) + 1
            raise self.fault(line, f"{angles[bad]:g} after {angles[bad - 1]:g}", f"{what} that grow")
        return np.asarray(np.radians(angles))

    def intensities(self, line: int, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Intensities, none of them negative, not all of them nothing. [cd]

        Raises
        ------
        LuminaireFault
            One is negative or beyond HIGHEST, or the table gives no light.
        """
        if values.min() < 0 or values.max() > HIGHEST:
            worst = values.min() if values.min() < 0 else values.max()
            raise self.fault(line, f"an intensity of {worst:g}", f"intensities from 0 to {HIGHEST:g} cd")
        if values.max() <= 0:
            raise self.fault(line, "a table without any light", "an intensity above 0")
        return values

"""LM-63 files (.ies), type C photometry, of any edition from 1986 to 2019.

Label lines, then ``TILT=``, then numbers: lamps, lumens of each (-1: absolute), a factor, how many vertical and
horizontal angles, photometric type, units, width, length, height of what shines; ballast factor, a field for later
use (an edition's type of file), watts; then the angles and the candelas, plane by plane. What the tilt says of a
lamp that burns dimmer aslant is not used. Width lies across the plane of 0 degrees, length along it; a negative
width is a disc's diameter.

Source
------
ieslm63
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sidelong.light.distribution import completed
from sidelong.light.luminaire_lines import MOST_ANGLES, Lines
from sidelong.light.values import Distribution

_FEET = 0.3048
_TYPES = {2: "B", 3: "A"}
_MOST_PAIRS = 500


class _Numbers:
    """The numbers of a file in turn, wherever its lines break."""

    def __init__(self, lines: Lines, first: int) -> None:
        self.lines, self.line = lines, first - 1
        self.words: list[str] = []

    def take(self, what: str) -> float:
        while not self.words:
            self.line += 1
            self.words = self.lines.text(self.line, what).replace(",", " ").split()[::-1]
        return self.lines.number(self.line, self.words.pop(), what)

    def many(self, count: int, what: str) -> list[float]:
        return [self.take(what) for _ in range(count)]

    def count(self, what: str, most: int = MOST_ANGLES) -> int:
        return self.lines.count(self.line, f"{self.take(what):g}", what, most)


def read_lm63(lines: Lines) -> Distribution:
    """The distribution of an LM-63 file.

    Raises
    ------
    LuminaireFault
        Not the lines and numbers of LM-63, photometry of type A or B, or angles that span no known symmetry.
    """
    numbers = _after_tilt(lines)
    lamps = numbers.count("the number of lamps", 10_000)
    lumens = numbers.take("the lumens of a lamp, or -1")
    factor = numbers.take("the candela multiplier")
    verticals, horizontals = (numbers.count(f"the number of {way} angles") for way in ("vertical", "horizontal"))
    kind = numbers.count("1 for photometry of type C", 3)
    if kind != 1:
        raise lines.fault(numbers.line, f"photometry of type {_TYPES[kind]}", "type C, written as 1")
    metre = _FEET if numbers.count("1 for feet or 2 for metres", 2) == 1 else 1.0
    width, length, _ = numbers.many(3, "width, length and height of what shines")
    ballast, _, _ = numbers.many(3, "ballast factor, a number for later use, watts")
    if not (factor > 0 and ballast > 0):
        raise lines.fault(numbers.line, f"a factor of {min(factor, ballast):g}", "factors above 0")
    angles = numbers.many(verticals, "a vertical angle")
    vertical = _from_pole(lines, numbers.line, angles)
    planes = numbers.many(horizontals, "a horizontal angle")
    horizontal = lines.ascending(numbers.line, planes, "horizontal angles")
    line = numbers.line
    table = np.array(numbers.many(verticals * horizontals, "a candela value")).reshape(horizontals, verticals)
    candela = lines.intensities(line + 1, table * factor * ballast)
    try:
        vertical, horizontal, candela = completed(vertical, horizontal, candela)
    except ValueError as fault:
        raise lines.fault(line, "horizontal angles of no symmetry", str(fault)) from fault
    size = (abs(length) * metre, abs(width) * metre)
    lamp_flux = lamps * lumens if lumens > 0 else None
    return Distribution(lines.name, vertical, horizontal, candela, size, width <= 0 or length <= 0, lamp_flux)


def _after_tilt(lines: Lines) -> _Numbers:
    """The numbers that follow TILT, and what it includes."""
    parted = [row.strip().upper().partition("=") for row in lines.rows]
    line = next((n for n, (key, _, _) in enumerate(parted, 1) if key.strip() == "TILT"), None)
    if line is None:
        raise lines.fault(0, "no line that begins with TILT=", "one of TILT=NONE, TILT=INCLUDE, TILT= and a file")
    numbers = _Numbers(lines, line + 1)
    if parted[line - 1][2].strip() == "INCLUDE":
        numbers.take("how the lamp lies in the luminaire")
        pairs = numbers.count("the number of angles of tilt", _MOST_PAIRS)
        numbers.many(2 * pairs, "an angle of tilt or its factor")
    return numbers


def _from_pole(lines: Lines, line: int, degrees: list[float]) -> NDArray[np.float64]:
    """Vertical angles that run from 0 or 90 to 90 or 180 degrees. [rad]"""
    vertical = lines.ascending(line, degrees, "vertical angles")
    ends = (round(degrees[0], 3), round(degrees[-1], 3))
    if len(degrees) < 2 or ends not in ((0, 90), (0, 180), (90, 180)):
        found = f"vertical angles from {degrees[0]:g} to {degrees[-1]:g}"
        raise lines.fault(line, found, "0 to 90, 0 to 180 or 90 to 180 degrees")
    return vertical

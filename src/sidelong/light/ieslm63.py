"""LM-63 files (.ies) of any edition from 1986 to 2019, photometry of types A, B and C.

Label lines, then ``TILT=``, then numbers: lamps, lumens of each (-1: absolute), a factor, how many vertical and
horizontal angles, photometric type, units, width, length, height of what shines; ballast factor, a field for later
use (an edition's type of file), watts; then the angles and the candelas, plane by plane. An included tilt says how
bright the lamp burns aslant. Width lies across the plane of 0 degrees, length along it; a negative width is a disc's
diameter. Type C planes share the light's axis; type A planes an upright one, type B planes a level one, both square
to it: their vertical angles go up from the axis, their horizontal ones clockwise seen from above, to the right of
whoever stands behind the light.

Source
------
ieslm63
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sidelong.light.distribution import completed, of_type_a, of_type_b
from sidelong.light.luminaire_lines import MOST_ANGLES, Lines
from sidelong.light.values import Distribution

_FEET = 0.3048
_TYPE_B, _TYPE_A = 2, 3
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
        Not the lines and numbers of LM-63, or angles that span no known symmetry.
    """
    numbers, tilt = _after_tilt(lines)
    lamps = numbers.count("the number of lamps", 10_000)
    lumens = numbers.take("the lumens of a lamp, or -1")
    factor = numbers.take("the candela multiplier")
    verticals, horizontals = (numbers.count(f"the number of {way} angles") for way in ("vertical", "horizontal"))
    kind = numbers.count("1, 2 or 3 for photometry of type C, B or A", 3)
    metre = _FEET if numbers.count("1 for feet or 2 for metres", 2) == 1 else 1.0
    width, length, _ = numbers.many(3, "width, length and height of what shines")
    ballast, _, _ = numbers.many(3, "ballast factor, a number for later use, watts")
    if not (factor > 0 and ballast > 0):
        raise lines.fault(numbers.line, f"a factor of {min(factor, ballast):g}", "factors above 0")
    angles = numbers.many(verticals, "a vertical angle")
    vertical = _from_pole(lines, numbers.line, angles) if kind == 1 else _from_axis(lines, numbers.line, angles)
    planes = numbers.many(horizontals, "a horizontal angle")
    horizontal = (
        lines.ascending(numbers.line, planes, "horizontal angles")
        if kind == 1
        else _from_axis(lines, numbers.line, planes)
    )
    line = numbers.line
    table = np.array(numbers.many(verticals * horizontals, "a candela value")).reshape(horizontals, verticals)
    candela = lines.intensities(line + 1, table * factor * ballast)
    whole = {_TYPE_A: of_type_a, _TYPE_B: of_type_b}.get(kind, completed)
    try:
        vertical, horizontal, candela = whole(vertical, horizontal, candela)
    except ValueError as fault:
        raise lines.fault(line, "horizontal angles of no symmetry", str(fault)) from fault
    # the plane of 0 degrees lies level for type C here, upright for the others
    size = (abs(length) * metre, abs(width) * metre) if kind == 1 else (abs(width) * metre, abs(length) * metre)
    lamp_flux = lamps * lumens if lumens > 0 else None
    return Distribution(
        lines.name, vertical, horizontal, candela, size, width <= 0 or length <= 0, lamp_flux,
        tilt=tilt, measured_level=kind == _TYPE_A,
    )  # fmt: skip


def _after_tilt(lines: Lines) -> tuple[_Numbers, tuple[tuple[float, float], ...]]:
    """The numbers that follow TILT, and what it includes: angles of tilt and their factors. [rad, -]"""
    parted = [row.strip().upper().partition("=") for row in lines.rows]
    line = next((n for n, (key, _, _) in enumerate(parted, 1) if key.strip() == "TILT"), None)
    if line is None:
        raise lines.fault(0, "no line that begins with TILT=", "one of TILT=NONE, TILT=INCLUDE, TILT= and a file")
    numbers = _Numbers(lines, line + 1)
    if parted[line - 1][2].strip() == "INCLUDE":
        numbers.take("how the lamp lies in the luminaire")
        pairs = numbers.count("the number of angles of tilt", _MOST_PAIRS)
        angles = numbers.many(pairs, "an angle of tilt")
        turned = lines.ascending(numbers.line, angles, "angles of tilt")
        factors = numbers.many(pairs, "a factor of tilt")
        if min(factors) < 0:
            raise lines.fault(numbers.line, f"a factor of {min(factors):g}", "factors of 0 and more")
        return numbers, tuple(zip(map(float, turned), factors, strict=True))
    return numbers, ()


def _from_axis(lines: Lines, line: int, degrees: list[float]) -> NDArray[np.float64]:
    """Angles of type A or B, either way from the axis as far, or from 0 on for both sides alike. [rad]"""
    angles = lines.ascending(line, degrees, "angles")
    first, last = round(degrees[0], 3), round(degrees[-1], 3)
    if len(degrees) < 2 or last > 90 or first not in (0.0, -last):
        found = f"angles of type A or B from {degrees[0]:g} to {degrees[-1]:g}"
        raise lines.fault(line, found, "-90 to 90 or 0 to 90 degrees, or less far on both sides alike")
    return angles


def _from_pole(lines: Lines, line: int, degrees: list[float]) -> NDArray[np.float64]:
    """Vertical angles that run from 0 or 90 to 90 or 180 degrees. [rad]"""
    vertical = lines.ascending(line, degrees, "vertical angles")
    ends = (round(degrees[0], 3), round(degrees[-1], 3))
    if len(degrees) < 2 or ends not in ((0, 90), (0, 180), (90, 180)):
        found = f"vertical angles from {degrees[0]:g} to {degrees[-1]:g}"
        raise lines.fault(line, found, "0 to 90, 0 to 180 or 90 to 180 degrees")
    return vertical

"""EULUMDAT files (.ldt): one value a line, in a fixed order, intensities in candelas per 1000 lumens of its lamps.

Line 3 is the symmetry: 0 none, 1 about the axis, 2 to the plane C0-C180, 3 to C90-C270, 4 to both; 4 the number of
C planes, 6 of angles in each, 13 to 15 the luminaire's and 16 to 17 the luminous area's size in millimetres (length
along C90-C270, width across; width 0: a disc of that diameter), 23 the light output ratio in per cent, 24 a factor
for all intensities, 26 the number of sets of lamps, then six blocks of one line a set (number, type, lumens, colour,
rendering, watts), ten direct ratios, the C angles, the G angles, and the intensities of the planes that the symmetry
leaves.

Source
------
eulumdat
"""

from __future__ import annotations

import math

import numpy as np

from sidelong.light.distribution import around, completed
from sidelong.light.luminaire_lines import MOST_ANGLES, Lines
from sidelong.light.values import Distribution

_LAMPS = 26
_MOST_SETS = 20


def read_eulumdat(lines: Lines) -> Distribution:
    """The distribution of an EULUMDAT file.

    Raises
    ------
    LuminaireFault
        Not the lines of EULUMDAT in their order, or numbers of planes and angles that do not fit its symmetry.
    """
    symmetry = lines.count(3, f"{_value(lines, 3, 'the symmetry') + 1:g}", "the symmetry, 0 to 4, plus 1", 5) - 1
    planes = lines.count(4, lines.text(4, "the number of C planes"), "the number of C planes", MOST_ANGLES)
    angles = lines.count(6, lines.text(6, "the number of angles"), "the number of angles of a plane", MOST_ANGLES)
    first, last = _stored(lines, symmetry, planes)
    sets = lines.count(_LAMPS, lines.text(_LAMPS, "the sets of lamps"), "the number of sets of lamps", _MOST_SETS)
    flux = _lamp_flux(lines, sets)
    start = _LAMPS + 6 * sets + 11
    horizontal = lines.ascending(start, _column(lines, start, planes, "a C angle"), "C angles")
    start += planes
    vertical = lines.ascending(start, _column(lines, start, angles, "a G angle"), "G angles")
    start += angles
    count = last - first
    values = np.array(_column(lines, start, count * angles, "an intensity")).reshape(count, angles)
    factor = _value(lines, 24, "the factor of the intensities")
    candela = lines.intensities(start, values * (factor if factor > 0 else 1.0) * flux / 1000.0)
    if symmetry == 0:
        horizontal, candela = around(horizontal, candela)
    else:
        kept = np.take(horizontal, np.arange(first, last), mode="wrap")
        kept = np.where(np.arange(first, last) >= planes, kept + 2 * math.pi, kept)
        try:
            vertical, horizontal, candela = completed(vertical, kept, candela)
        except ValueError as fault:
            raise lines.fault(start, "C angles that do not fit the symmetry", str(fault)) from fault
    length, width = (_value(lines, k, "a size in millimetres") / 1000.0 for k in (16, 17))
    size = (length, length) if width == 0 else (width, length)
    ratio = _value(lines, 23, "the light output ratio") / 100.0
    return Distribution(
        lines.name, vertical, horizontal, candela, (abs(size[0]), abs(size[1])), width == 0, flux, ratio or None
    )


def _value(lines: Lines, line: int, what: str) -> float:
    return lines.number(line, lines.text(line, what), what)


def _column(lines: Lines, start: int, count: int, what: str) -> list[float]:
    return [_value(lines, start + k, what) for k in range(count)]


def _stored(lines: Lines, symmetry: int, planes: int) -> tuple[int, int]:
    """First and last position, the last not included, of the planes whose intensities the file holds; positions
    beyond the last plane go on from the first."""
    divisor = {0: 1, 1: 1, 2: 2, 3: 4, 4: 4}[symmetry]
    if planes % divisor or (symmetry == 0 and planes < 2):
        raise lines.fault(4, f"{planes} C planes", f"a number that the symmetry {symmetry} can divide")
    starts = {0: 0, 1: 0, 2: 0, 3: 3 * planes // 4, 4: 0}
    counts = {0: planes, 1: 1, 2: planes // 2 + 1, 3: planes // 2 + 1, 4: planes // 4 + 1}
    return starts[symmetry], starts[symmetry] + counts[symmetry]


def _lamp_flux(lines: Lines, sets: int) -> float:
    """Flux of the first set of lamps, the one that the intensities are of. [lm]"""
    line = _LAMPS + 2 * sets + 1
    flux = _value(lines, line, "the lumens of the lamps")
    if not flux > 0:
        raise lines.fault(line, f"{flux:g} lumens", "the lumens of the lamps, above 0")
    return flux

"""Marked and true values, lengths as people write them, and how each is printed again.

A mark engraved or displayed stands for a true value on the exact third-of-a-stop scale: f/5 is 2^(14/6),
1/200 s is 2^(-23/3) s, ISO 160 is 100 x 2^(2/3). Everything computes with true values and prints marks.

Source
------
iso2720, apex_exif (the scales of thirds); the marks themselves are common practice, no source.
"""

from __future__ import annotations

import math
import re

INCH = 0.0254
FOOT = 12 * INCH

_UNITS_OF_LENGTH = {
    "m": 1.0, "cm": 0.01, "mm": 0.001, "ft": FOOT, "foot": FOOT, "feet": FOOT, "'": FOOT, "′": FOOT,
    "in": INCH, "inch": INCH, "inches": INCH, '"': INCH, "″": INCH,
}  # fmt: skip
_NUMBER = r"[+-]?\d+(?:\.\d+)?(?:\s+\d+/\d+|/\d+)?"
_TERM = re.compile(rf"\s*({_NUMBER})\s*([a-z]+|['\"′″])\s*", re.IGNORECASE)

# sixths of a stop (log2 N = k/6) for the f-numbers that lenses and cameras mark
_F_MARKS = {
    "0.95": -0.44, "1": 0, "1.0": 0, "1.1": 1, "1.2": 1.6, "1.3": 2, "1.4": 3, "1.6": 4, "1.7": 4.5, "1.8": 5,
    "2": 6, "2.0": 6, "2.2": 7, "2.4": 7.5, "2.5": 8, "2.8": 9, "3.2": 10, "3.3": 10.5, "3.5": 11, "4": 12,
    "4.0": 12, "4.5": 13, "4.8": 13.5, "5": 14, "5.0": 14, "5.6": 15, "6.3": 16, "6.7": 16.5, "7.1": 17,
    "8": 18, "8.0": 18, "9": 19, "9.5": 19.5, "10": 20, "11": 21, "13": 22, "14": 23, "16": 24, "18": 25,
    "19": 25.5, "20": 26, "22": 27, "25": 28, "27": 28.5, "29": 29, "32": 30, "36": 31, "38": 31.5, "40": 32,
    "45": 33, "51": 34, "57": 35, "64": 36, "72": 37, "80": 38, "90": 39,
}  # fmt: skip
F_THIRDS = (
    "1", "1.1", "1.3", "1.4", "1.6", "1.8", "2", "2.2", "2.5", "2.8", "3.2", "3.5", "4", "4.5", "5", "5.6",
    "6.3", "7.1", "8", "9", "10", "11", "13", "14", "16", "18", "20", "22", "25", "29", "32", "36", "40", "45",
    "51", "57", "64", "72", "80", "90",
)  # fmt: skip

# thirds of a stop (log2 t = k/3) for the shutter times that cameras mark
SHUTTER_MARKS = {
    "1/8000": -39, "1/6400": -38, "1/5000": -37, "1/4000": -36, "1/3200": -35, "1/2500": -34, "1/2000": -33,
    "1/1600": -32, "1/1250": -31, "1/1000": -30, "1/800": -29, "1/640": -28, "1/500": -27, "1/400": -26,
    "1/320": -25, "1/250": -24, "1/200": -23, "1/160": -22, "1/125": -21, "1/100": -20, "1/80": -19,
    "1/60": -18, "1/50": -17, "1/40": -16, "1/30": -15, "1/25": -14, "1/20": -13, "1/15": -12, "1/13": -11,
    "1/10": -10, "1/8": -9, "1/6": -8, "1/5": -7, "1/4": -6, "0.3": -5, "0.4": -4, "0.5": -3, "0.6": -2,
    "0.8": -1, "1": 0, "1.3": 1, "1.6": 2, "2": 3, "2.5": 4, "3.2": 5, "4": 6, "5": 7, "6": 8, "8": 9,
    "10": 10, "13": 11, "15": 12, "20": 13, "25": 14, "30": 15,
}  # fmt: skip
_SHUTTER_SYNONYMS = {"1/3": "0.3", "1/2": "0.5", "1/180": None, "1/90": None, "1/45": None}
_HALF_STOP_SHUTTERS = {
    "1/180": -7.5,
    "1/90": -6.5,
    "1/45": -5.5,
    "1/350": -8.5,
    "1/750": -9.5,
    "1/1500": -10.5,
}

ISO_MARKS = {
    50: -3, 64: -2, 80: -1, 100: 0, 125: 1, 160: 2, 200: 3, 250: 4, 320: 5, 400: 6, 500: 7, 640: 8, 800: 9,
    1000: 10, 1250: 11, 1600: 12, 2000: 13, 2500: 14, 3200: 15, 4000: 16, 5000: 17, 6400: 18, 8000: 19,
    10000: 20, 12800: 21, 16000: 22, 20000: 23, 25600: 24, 32000: 25, 40000: 26, 51200: 27,
}  # fmt: skip


def length(value: float | str, bare: float = 1.0) -> float:
    """A length in metres from a number or from words such as ``8 ft 2 in``, ``90 mm``, ``2' 6 1/2"``.

    Parameters
    ----------
    value : float or str
        A bare number counts in `bare` metres.
    bare : float
        Size of the unit of a bare number. [m]

    Returns
    -------
    float
        [m]

    Raises
    ------
    ValueError
        The words are not a length; the message says what was expected.
    """
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return float(value) * bare
    text = str(value).strip()
    if len(text) > 60:
        raise ValueError("a length in fewer than 60 characters was expected")
    if re.fullmatch(_NUMBER, text):
        return _number(text) * bare
    total, position, sign = 0.0, 0, -1.0 if text.startswith("-") else 1.0
    while position < len(text):
        term = _TERM.match(text, position)
        if term is None or term.group(2).lower() not in _UNITS_OF_LENGTH:
            raise ValueError(f'a length such as 2.5, "90 mm" or "8 ft 2 in" was expected, not "{text}"')
        part = _number(term.group(1)) * _UNITS_OF_LENGTH[term.group(2).lower()]
        total += part if position == 0 else sign * part
        position = term.end()
    return total


def _number(text: str) -> float:
    whole, _, fraction = text.strip().rpartition(" ")
    if "/" in fraction:
        top, bottom = fraction.split("/")
        if float(bottom) == 0:
            raise ValueError(f'"{text}" divides by nothing')
        magnitude = abs(float(top) / float(bottom)) + (abs(float(whole)) if whole else 0.0)
        return -magnitude if text.strip().startswith("-") else magnitude
    return float(text)


def true_f_number(marked: float | str) -> float:
    """True f-number of a marked one (5 gives 5.0397); a number that is no mark is taken as it is. [-]"""
    text = str(marked).removeprefix("f/").strip()
    if text in _F_MARKS:
        return 2 ** (_F_MARKS[text] / 6)
    number = float(text)
    key = f"{number:g}"
    return 2 ** (_F_MARKS[key] / 6) if key in _F_MARKS else number


def f_mark(true: float) -> str:
    """The mark nearest a true f-number on the scale of thirds, ``5`` for 5.0397."""
    if true in _TRUE_TO_MARK:
        return _TRUE_TO_MARK[true]
    return min(F_THIRDS, key=lambda m: abs(math.log2(true_f_number(m) / true)))


def f_marks(widest: float, smallest: float) -> tuple[float, ...]:
    """The true f-numbers of every third-stop mark between two true f-numbers, both ends included. [-]"""
    inside = [true_f_number(m) for m in F_THIRDS]
    marks = {n for n in inside if widest * 0.999 < n < smallest * 1.001}
    ends = {n for n in (widest, smallest) if all(abs(math.log2(n / m)) > 0.01 for m in marks)}
    return tuple(sorted(marks | ends))


_TRUE_TO_MARK = {2 ** (k / 6): m for m, k in reversed(list(_F_MARKS.items()))}


def true_shutter(marked: float | str) -> float:
    """True time of a marked shutter speed: ``"1/200"`` (or 0.005) gives 1/203.19 s. [s]

    Raises
    ------
    ValueError
        Not a positive time.
    """
    text = str(marked).removesuffix("s").strip()
    text = _SHUTTER_SYNONYMS.get(text) or text
    if text in _HALF_STOP_SHUTTERS:
        return 2 ** _HALF_STOP_SHUTTERS[text]
    if text in SHUTTER_MARKS:
        return 2 ** (SHUTTER_MARKS[text] / 3)
    seconds = _number(text)
    if not (math.isfinite(seconds) and seconds > 0):
        raise ValueError(f'a shutter time such as "1/125" or 0.5 was expected, not "{marked}"')
    for mark, thirds in SHUTTER_MARKS.items():
        if abs(_number(mark) / seconds - 1) < 1e-3:
            return 2 ** (thirds / 3)
    return seconds


def shutter_mark(true: float) -> str:
    """The marked shutter speed nearest a true time, ``1/200`` for 1/203.19 s."""
    return min(SHUTTER_MARKS, key=lambda m: abs(SHUTTER_MARKS[m] / 3 - math.log2(true)))


def true_iso(marked: float) -> float:
    """True speed of a marked ISO: 160 gives 158.74; a number that is no mark is taken as it is. [-]"""
    thirds = ISO_MARKS.get(int(marked)) if float(marked).is_integer() else None
    return float(marked) if thirds is None else 100.0 * 2 ** (thirds / 3)


def iso_mark(true: float) -> int:
    """The marked ISO nearest a true speed."""
    return min(ISO_MARKS, key=lambda m: abs(ISO_MARKS[m] / 3 - math.log2(true / 100)))


def metres_in_words(metres: float, imperial: bool = False) -> str:
    """A length as it is said on a set: ``2.35 m``, or ``7 ft 8 1/2 in`` when `imperial`."""
    if not math.isfinite(metres):
        return "infinity"
    if not imperial:
        return f"{metres:.2f} m"
    halves = round(abs(metres) / INCH * 2)
    feet, rest = divmod(halves, 24)
    whole, half = divmod(rest, 2)
    inches = f"{whole}{' 1/2' if half else ''} in" if whole or not half else "1/2 in"
    return ("-" if metres < 0 and halves else "") + (f"{feet} ft {inches}" if feet else inches)

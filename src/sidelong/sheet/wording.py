"""How numbers and names are written on the sheet."""

from __future__ import annotations

import math
import re
from datetime import datetime

from sidelong.sheet.fonts import shortened

MINUS = "\u2212"
DASH = "\u2013"

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def signed(value: float, digits: int = 1) -> str:
    """A number with its sign, a true minus; a dash for what is not there. ``+0.3``"""
    if not math.isfinite(value):
        return DASH
    rounded = round(value, digits)
    if rounded == 0:
        return f"{0:.{digits}f}"
    return f"{'+' if rounded > 0 else MINUS}{abs(rounded):.{digits}f}"


def true_minus(words: str) -> str:
    """Words in which the sign before a number is a true minus; a hyphen between words or figures stays."""
    return re.sub(r"(?<![\w.])-(?=\d)", MINUS, words)


def micrometres(metres: float | None) -> str:
    """``29``, or ``4.1`` under ten, a dash where there is none. [um out]"""
    if metres is None or not math.isfinite(metres):
        return DASH
    um = metres * 1e6
    return f"{um:.1f}" if um < 10 else f"{um:.0f}"


def millimetres(metres: float | None) -> str:
    """``0.4``, or ``12`` from ten up, a dash where there is none. [mm out]"""
    if metres is None or not math.isfinite(metres):
        return DASH
    mm = metres * 1e3
    return f"{mm:.2f}" if mm < 1 else f"{mm:.1f}" if mm < 10 else f"{mm:.0f}"


def day_in_words(when: datetime) -> str:
    """``Friday 14 March 2025``, whatever the machine's language."""
    return f"{_DAYS[when.weekday()]} {when.day} {_MONTHS[when.month - 1]} {when.year}"


def illuminance(lux: float) -> str:
    """``61 000 lx``, to two figures that matter on a day. [lx]"""
    if not math.isfinite(lux) or lux <= 0:
        return "none"
    digits = max(0, math.floor(math.log10(lux)) - 1)
    return f"{int(round(lux, -digits)):,} lx".replace(",", "\u2009") if lux >= 10 else f"{lux:.1f} lx"


def name(words: str, longest: int = 44) -> str:
    """A name fit for a table: one line's worth, long runs breakable."""
    return breakable(shortened(words, longest))


def breakable(words: str) -> str:
    """Words in which a run of more than 22 signs without a space may be broken; control signs taken out."""
    safe = "".join(c if c.isprintable() or c in "\n\t" else "\ufffd" for c in words)
    return re.sub(r"\S{22}(?=\S)", lambda run: run.group() + "\u200b", safe)

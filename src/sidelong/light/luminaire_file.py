"""Luminaire files: a text and its name in, a distribution out; what is wrong with it is told with its line.

Source
------
ieslm63 (.ies), eulumdat (.ldt)
"""

from __future__ import annotations

from sidelong.light.eulumdat import read_eulumdat
from sidelong.light.ieslm63 import read_lm63
from sidelong.light.luminaire_lines import LARGEST_FILE, Lines
from sidelong.light.values import Distribution

ENDINGS = (".ies", ".ldt")


def read_luminaire(name: str, text: str) -> Distribution:
    """The distribution of a luminaire file, by the ending of its name.

    Raises
    ------
    LuminaireFault
        Another ending, too long, or not what the standard of its ending says.
    """
    lines = Lines(name, text)
    if len(text) > LARGEST_FILE:
        raise lines.fault(0, f"{len(text) / 1e6:.1f} MB", f"at most {LARGEST_FILE / 1e6:.0f} MB")
    if name.lower().endswith(".ies"):
        return read_lm63(lines)
    if name.lower().endswith(".ldt"):
        return read_eulumdat(lines)
    raise lines.fault(0, "a file of another kind", f"a luminaire file that ends in {' or '.join(ENDINGS)}")

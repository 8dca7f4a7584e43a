"""What people are called on drawings and in tables: by name, or by number where there are many."""

from __future__ import annotations

from sidelong.sheet.fonts import shortened
from sidelong.sheet.wording import name
from sidelong.shoot.values import Shoot

MOST_BY_NAME = 12
"""People who are named on a drawing; from one more on, all get numbers that the tables explain."""
_LONGEST = 20


def on_drawing(shoot: Shoot, who: str, wanted: str = "free") -> str:
    """What is written beside someone or a mark: ``Maja, sharp``, or ``3, sharp`` where there are many."""
    words = shortened(who, _LONGEST)
    if len(shoot.people) > MOST_BY_NAME:
        words = next((str(k) for k, p in enumerate(shoot.people, 1) if p.name == who), words)
    return words if wanted == "free" else f"{words}, {wanted}"


def in_table(shoot: Shoot, who: str, longest: int = 28) -> str:
    """A person or mark in a table, with the number that the drawings use where there are many."""
    if len(shoot.people) > MOST_BY_NAME:
        for k, person in enumerate(shoot.people, 1):
            if person.name == who:
                return f"{k}\u2002{name(who, longest)}"
    return name(who, longest)

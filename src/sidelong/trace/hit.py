"""Where rays meet the scene."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

from sidelong.trace.engine import load

mi, dr = load()

NOTHING = 1023
"""Marks no finish, person or light in a packed face."""


@dataclass
class Hit:
    """Where rays meet the scene: `finish`, `person` and `light` numbers (NOTHING where none), normals as made."""

    valid: Any
    distance: Any
    point: Any
    geometric: Any
    shading: Any
    finish: Any
    person: Any
    light: Any

    def unless(self, condition: Any, other: Hit) -> Hit:
        """This, but the other where the condition holds."""
        both = ((getattr(other, f.name), getattr(self, f.name)) for f in fields(self))
        return Hit(*(dr.select(condition, new, old) for new, old in both))

    def taken(self, row: Any) -> Hit:
        """The hits of some rows."""
        return Hit(*(dr.gather(type(getattr(self, f.name)), getattr(self, f.name), row) for f in fields(self)))

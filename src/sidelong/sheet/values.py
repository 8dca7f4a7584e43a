"""What the book prints besides the plan of each shot: cautions, kit, pictures, the paper. Plain values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from sidelong.plan.meters import SpotReading


@dataclass(frozen=True)
class Paper:
    """A sheet of paper. [mm]"""

    name: str
    width: float
    height: float


A4 = Paper("A4", 210.0, 297.0)
LETTER = Paper("letter", 215.9, 279.4)
PAPERS = {"a4": A4, "letter": LETTER}


@dataclass(frozen=True)
class Notice:
    """A caution as it is printed: what to mind, why it is printed for this shoot, and whose word it is."""

    title: str
    text: str
    why: str
    sources: tuple[str, ...] = ()


@dataclass(frozen=True)
class KitRow:
    """One piece of kit: `shots` counts from 1; `needed` when it goes along, else it is a spare; rent in the
    shoot's own currency a day, weight [kg]."""

    kind: str
    name: str
    shots: tuple[int, ...]
    needed: bool
    owned: bool
    rent_per_day: float
    weight: float


@dataclass(frozen=True)
class Extras:
    """What others worked out for the book. `pictures` by shot id; a shot without one gets a frame with words. By shot
    id too: what `meters` show at everyone, and sentences on what gets `in_picture` that should not."""

    pictures: dict[str, Path]
    notices: tuple[Notice, ...] = ()
    kit: tuple[KitRow, ...] = ()
    without_picture: str = "No predicted picture yet."
    meters: Mapping[str, tuple[SpotReading, ...]] = field(default_factory=dict)
    in_picture: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

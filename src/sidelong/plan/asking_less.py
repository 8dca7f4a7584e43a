"""Asking less of a shot's sharp and soft ones: what is tried, and the same as the shoot file would say it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from sidelong.shoot.values import Shot

SHARES = (0.9, 0.75, 0.5, 0.35, 0.25, 0.15, 0.1, 0.05)
"""How much of the least blurs is tried. [-]"""

Asked = tuple[Shot, str, dict[str, Any]]
"""The shot that asks less; in words; the changes to the shot's keys in the shoot file."""


def as_written(shot: Shot, names: Iterable[str]) -> list[str | dict[str, Any]]:
    """The entries of `sharp` or `soft` in the shoot file for names of a shot: a name, or a table with part and least
    blur in micrometres."""
    entries: list[str | dict[str, Any]] = []
    for name in names:
        part, least = shot.parts.get(name, "eyes"), shot.least.get(name, 0.0)
        more = ({} if part == "eyes" else {"part": part}) | ({"least": round(least * 1e6, 3)} if least else {})
        entries.append({"who": str(name), **more} if more else str(name))
    return entries


def less_blur_for_soft(shot: Shot) -> Iterator[Asked]:
    """Smaller least blurs for the soft ones that state one, all by the same share; at last none."""
    if not shot.least:
        return
    for share in SHARES:
        asked = replace(shot, least={name: round(least * share, 9) for name, least in shot.least.items()})
        told = ", ".join(f"{name} {least * 1e6:.0f}" for name, least in asked.least.items())
        words = f"ask for less blur of the soft ones: {told} micrometres at the least"
        yield asked, words, {"soft": as_written(asked, shot.soft)}
    asked = replace(shot, least={})
    yield asked, "ask the soft ones to be as soft as can be", {"soft": as_written(asked, shot.soft)}


def eyes_alone(shot: Shot) -> Iterator[Asked]:
    """The eyes in place of the face or the figure, for each sharp one of whom more is asked."""
    for name in shot.sharp:
        part = shot.parts.get(name, "eyes")
        if part != "eyes":
            asked = replace(shot, parts={who: p for who, p in shot.parts.items() if who != name})
            yield asked, f"ask for {name}'s eyes, not the whole {part}", {"sharp": as_written(asked, shot.sharp)}

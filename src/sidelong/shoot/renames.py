"""What refers to a name or id of a shoot file: the paths that change when it is renamed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from sidelong.shoot.lines import Path

ANY = "*"
_POINTS = (
    "people.*.facing", "shots.*.sharp", "shots.*.soft", "shots.*.sharp.*.who", "shots.*.soft.*.who",
    "shots.*.camera.aim", "shots.*.movement.focus_on",
    "shots.*.lights.*.aim", "shots.*.lights.*.target.who", "shots.*.lights.*.bounce.at",
    "shots.*.lights.*.bounce.to", "shots.*.sheets.*.to", "shots.*.wishes.*.who", "readings.*.who",
)  # fmt: skip
_MODIFIERS = (
    "shots.*.lights.*.modifier", "shots.*.lights.*.bounce", "shots.*.lights.*.bounce.panel",
    "shots.*.lights.*.bounce.surface", "kit.strobes.*.guide_modifier", "kit.strobes.*.reading.modifier",
    "kit.lamps.*.reading.modifier", "place.rooms.*.openings.*.cover", "shots.*.sheets.*.of",
)  # fmt: skip
REFERENCES: dict[str, tuple[str, ...]] = {
    "people.*.name": _POINTS,
    "marks.*.name": _POINTS,
    "shots.*.id": ("readings.*.shot",),
    "kit.bodies.*.id": ("shots.*.body",),
    "kit.lenses.*.id": ("shots.*.lens",),
    "kit.strobes.*.id": ("shots.*.lights.*.strobe",),
    "kit.lamps.*.id": ("shots.*.lights.*.lamp",),
    "kit.filters.*.id": ("shots.*.filters",),
    "kit.power.*.id": ("kit.strobes.*.fed_by", "kit.lamps.*.fed_by"),
    "place.rooms.*.openings.*.name": ("shots.*.wishes.*.who", "place.air.plume.to"),
    "kit.modifiers.*.id": _MODIFIERS,
    "kit.gels.*.id": ("shots.*.lights.*.gel", "place.rooms.*.openings.*.cover", "shots.*.sheets.*.of"),
    "kit.haze.*.id": ("place.air.plume.machine",),
    "place.blocks.*.name": ("shots.*.wishes.*.who",),
}
"""What is renamed -> what refers to it, a name or a list of names."""
_HEADS = ("readings.*.light", "shots.*.wishes.*.light")
_SURFACES = ("shots.*.lights.*.bounce", "shots.*.lights.*.bounce.surface")


def references(data: Any, path: Path, old: str, new: str) -> Iterator[tuple[Path, Any]]:
    """Every path that names what is renamed, with its new value.

    `path` is that of the name itself. A head is named by its strobe's id, or by that and a number; a surface by its
    room's name and the face.
    """
    pattern = ".".join(ANY if isinstance(step, int) else step for step in path)
    for target in REFERENCES.get(pattern, ()):
        for where, value in _at(data, tuple(target.split("."))):
            if value == old:
                yield where, new
            elif isinstance(value, list) and where[-1] != "facing" and old in value:
                for k, item in enumerate(value):
                    if item == old:
                        yield (*where, k), new
    if pattern in ("kit.strobes.*.id", "kit.lamps.*.id"):
        numbered = re.compile(rf"{re.escape(old)}( \d+)?")
        for where, value in _every(data, _HEADS):
            if isinstance(value, str) and numbered.fullmatch(value):
                yield where, new + value[len(old) :]
    if pattern == "place.rooms.*.name":
        for where, value in _every(data, _SURFACES):
            if isinstance(value, str) and value.startswith(f"{old} "):
                yield where, new + value[len(old) :]


def _every(data: Any, targets: tuple[str, ...]) -> Iterator[tuple[Path, Any]]:
    for target in targets:
        yield from _at(data, tuple(target.split(".")))


def _at(data: Any, steps: tuple[str, ...], here: Path = ()) -> Iterator[tuple[Path, Any]]:
    if not steps:
        yield here, data
    elif steps[0] == ANY:
        for k, item in enumerate(data if isinstance(data, list) else ()):
            yield from _at(item, steps[1:], (*here, k))
    elif isinstance(data, dict) and steps[0] in data:
        yield from _at(data[steps[0]], steps[1:], (*here, steps[0]))

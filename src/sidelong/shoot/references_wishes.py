"""Faults between a shot's wishes and what there is: lights, people and marks, windows and blocks, how many heads."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterator

from sidelong.shoot.compose_place import opening_name
from sidelong.shoot.document import shown
from sidelong.shoot.lines import Path as KeyPath
from sidelong.shoot.model import ShootFile
from sidelong.shoot.model_shot import ShotTable, WishTable
from sidelong.shoot.report import Report

DAYLIGHT = ("sun", "sky")
Known = Callable[[KeyPath, str, Collection[str], str], bool]
"""Whether a name at a path is among the known; notes the fault if not, with what was expected."""


def check_wishes(path: KeyPath, shot: ShotTable, model: ShootFile, report: Report, known: Known) -> None:
    """Note every fault of a shot's wishes, its filters, and of heads that are not there so often."""
    filters = [f.id for f in model.kit.filters]
    for i, name in enumerate(shot.filters):
        known((*path, "filters", i), name, filters, "the id of a filter in the kit")
    heads = list(_heads_of(shot))
    points = {*(p.name for p in model.people), *(m.name for m in model.marks)}
    seen = set(names_of_what_is_seen(model)) - points
    for i, wish in enumerate(shot.wishes):
        _wish((*path, "wishes", i), wish, (heads, points, seen), report, known)
    _how_many(path, shot, model, report)


def names_of_what_is_seen(model: ShootFile) -> Iterator[str]:
    """The names of windows, doors, holes and blocks, as they are composed."""
    for room in model.place.rooms:
        for number, opening in enumerate(room.openings, 1):
            yield opening_name(opening, number)
    for number, block in enumerate(model.place.blocks, 1):
        yield block.name or f"{block.kind} {number}"


def _wish(
    path: KeyPath,
    wish: WishTable,
    names: tuple[Collection[str], Collection[str], Collection[str]],
    report: Report,
    known: Known,
) -> None:
    heads, points, seen = names
    given = [k for k in ("stops", "at_most", "at_least", "kelvin") if getattr(wish, k) is not None]
    if len(given) != 1:
        found = " and ".join(given) or "a wish without a value"
        report.fault(path, found, "one of stops, at_most, at_least, kelvin")
    if wish.kelvin is not None:
        known((*path, "light"), wish.light, heads, "the strobe or lamp whose light shall have that colour")
        return
    if wish.who is None and not points:
        report.fault(path, "a wish for nobody", "who = the name of a person, a mark, a window or a block")
    elif wish.who is not None:
        what = "the name of a person, a mark, a window or a block"
        known((*path, "who"), wish.who, [*points, *seen], what)
    lights = ["all", "flash", "ambient", *heads, *DAYLIGHT]
    known((*path, "light"), wish.light, lights, '"all", "flash", "ambient", "sun", "sky" or a head of the shot')


def _heads_of(shot: ShotTable) -> Iterator[str]:
    """The names of a shot's heads: a strobe's id, numbered from the second use on."""
    for head, most in Counter(light.source for light in shot.lights).items():
        yield from (head if n == 1 else f"{head} {n}" for n in range(1, most + 1))


def _how_many(path: KeyPath, shot: ShotTable, model: ShootFile, report: Report) -> None:
    kit = model.kit
    there = {**{s.id: s.count for s in kit.strobes}, **{lamp.id: lamp.count for lamp in kit.lamps}}
    used: Counter[str] = Counter()
    for i, light in enumerate(shot.lights):
        used[light.source] += 1
        count = there.get(light.source)
        if count is not None and used[light.source] > count:
            key = "strobe" if light.strobe else "lamp"
            expected = f"at most {count} of it in a shot, as many as the kit has"
            report.fault((*path, "lights", i, key), f"{shown(light.source)} once more", expected)

"""Edits made on one version of the file, brought to a newer one: what clashes, and where each path now leads."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sidelong.desk.messages import Conflict
from sidelong.errors import InputFault
from sidelong.shoot.edit_values import AddEdit, Edit, Named, SetEdit, Step
from sidelong.shoot.edits import ABSENT, resolved, same, steps_of, value_at
from sidelong.shoot.toml_text import from_json, to_json


def conflicts_of(edits: Sequence[Edit], base: dict[str, Any], now: dict[str, Any]) -> list[Conflict]:
    """What others changed since `base` at the very paths that edits touch, to something else than they want."""
    if base is now:
        return []
    found = []
    for edit in edits:
        theirs, was = _looked_up(now, moved_path(edit.path, base, now)), _looked_up(base, edit.path)
        if isinstance(edit, AddEdit) or _alike(theirs, was):
            continue
        wanted = from_json(getattr(edit, "value", None), _last_key(edit.path))
        if wanted is not None and _alike(theirs, wanted):
            continue
        yours = to_json(wanted) if isinstance(edit, SetEdit) or wanted is not None else None
        found.append(
            Conflict(path=list(edit.path), theirs=None if theirs is ABSENT else to_json(theirs), yours=yours)
        )
    return found


def rebased(edit: Edit, base: dict[str, Any], now: dict[str, Any]) -> Edit:
    """The edit with its path as it leads in the newer version."""
    return edit if base is now else edit.model_copy(update={"path": moved_path(edit.path, base, now)})


def moved_path(steps: Sequence[Step], base: dict[str, Any], now: dict[str, Any]) -> list[Step]:
    """Steps made on `base`, positions turned into those that the same items have now; as they are where that is not
    known, which is so for what earlier edits of the same batch made."""
    moved: list[Step] = []
    there: Any = base
    here: Any = now
    for step in steps:
        new = step
        if isinstance(step, int) and isinstance(there, list) and isinstance(here, list) and step < len(there):
            new = _position_now(step, there, here)
        moved.append(new)
        there, here = _looked_up(there, [step]), _looked_up(here, [new])
    return moved


def _position_now(position: int, there: list[Any], here: list[Any]) -> Step:
    named = steps_of(there, (position,))[0]
    if isinstance(named, Named):
        return named
    alike = [k for k, item in enumerate(here) if same(item, there[position])]
    if position in alike or len(alike) != 1:
        return position
    return alike[0]


def _looked_up(data: Any, steps: Sequence[Step]) -> Any:
    try:
        return value_at(data, resolved(data, steps))
    except InputFault:
        return ABSENT


def _alike(one: Any, other: Any) -> bool:
    if one is ABSENT or other is ABSENT:
        return one is other
    return same(one, other)


def _last_key(path: Sequence[Step]) -> str | int | None:
    return path[-1] if isinstance(path[-1], str) else None

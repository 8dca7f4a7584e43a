"""Edits of a shoot file: what they make of its tables and of its text, and the edits that take them back.

The tables are changed as plain values and the text by splicing; the text is then read again and must say the same,
so that no edit can leave a file that means anything else.
"""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from sidelong.errors import InputFault
from sidelong.shoot.edit_values import AddEdit, Edit, MoveEdit, Named, RemoveEdit, RenameEdit, SetEdit, Step
from sidelong.shoot.lines import Path
from sidelong.shoot.renames import references
from sidelong.shoot.splice import Splicer, means
from sidelong.shoot.toml_text import from_json, to_json, value_text

ABSENT: Any = object()
"""What stands at a path where nothing does."""
LISTS = ("sharp", "soft", "gel", "filters", "cover", "of")
"""Lists of names that may be written as one name."""


@dataclass(frozen=True)
class Edited:
    """A file after edits: its text, its tables, and the edits that take them back, to be made in their order."""

    text: str
    data: dict[str, Any]
    inverse: tuple[Edit, ...]


def apply_edits(text: str, data: dict[str, Any], edits: Sequence[Edit]) -> Edited:
    """A file's text and tables after edits, one after another.

    Raises
    ------
    InputFault
        An edit leads nowhere, or would not leave a file that says what was meant.
    """
    worker = _Worker(text, copy.deepcopy(data))
    for edit in edits:
        worker.edit(edit)
    return Edited(worker.text, worker.data, tuple(reversed(worker.inverse)))


def resolved(data: Any, steps: Sequence[Step]) -> Path:
    """The path of keys and positions that steps lead to; the last may be new.

    Raises
    ------
    InputFault
        A list has no item of a name, or a step before the last leads nowhere.
    """
    here = data
    path: Path = ()
    for k, step in enumerate(steps):
        if isinstance(step, Named):
            step = _position_of(here, step.name, path)
        path = (*path, step)
        here = _inside(here, step)
        if here is ABSENT and k < len(steps) - 1 and not all(isinstance(s, str) for s in steps[k + 1 :]):
            raise InputFault(f"found nothing at {in_words(path)}; expected a table or list of the file")
    return path


def value_at(data: Any, path: Path) -> Any:
    """The value at a path, `ABSENT` where there is none."""
    for step in path:
        data = _inside(data, step)
    return data


def in_words(path: Sequence[Any]) -> str:
    """A path as a message says it."""
    return ".".join(str(s.name if isinstance(s, Named) else s) for s in path) or "the file"


def steps_of(data: Any, path: Path) -> list[Step]:
    """Steps that lead to a path, by names where an item has one that no other of its list has."""
    steps: list[Step] = []
    here = data
    for step in path:
        name = _name_of(_inside(here, step)) if isinstance(step, int) else None
        alone = name is not None and sum(_name_of(i) == name for i in here) == 1
        steps.append(Named(name=name) if alone and name else step)
        here = _inside(here, step)
    return steps


def _name_of(item: Any) -> str | None:
    if not isinstance(item, dict):
        return None
    name = item.get("name", item.get("id"))
    return name if isinstance(name, str) and 0 < len(name) <= 200 else None


def _position_of(items: Any, name: str, path: Path) -> int:
    listed = items if isinstance(items, list) else []
    found = [k for k, item in enumerate(listed) if _name_of(item) == name or item == name]
    if not found and path == ("shots",) and name.isdecimal() and 1 <= int(name) <= len(listed):
        found = [int(name) - 1]  # a shot without an id goes by its number
    if len(found) != 1:
        what = "no" if not found else f"{len(found)} items with the"
        raise InputFault(f'found {what} name "{name:.80}" in {in_words(path)}; expected the name of one of its items')
    return found[0]


def _inside(holder: Any, step: Any) -> Any:
    if isinstance(holder, dict) and isinstance(step, str):
        return holder.get(step, ABSENT)
    if isinstance(holder, list) and isinstance(step, int) and 0 <= step < len(holder):
        return holder[step]
    return ABSENT


class _Worker:
    """A file while it is edited: text and tables, held equal after every step."""

    def __init__(self, text: str, data: dict[str, Any]) -> None:
        self.text, self.data = text, data
        self.inverse: list[Edit] = []

    def edit(self, edit: Edit) -> None:
        if isinstance(edit, SetEdit):
            self._set(resolved(self.data, edit.path), edit.value, edit.written)
        elif isinstance(edit, AddEdit):
            self._add(resolved(self.data, edit.path), edit.value, edit.at)
        elif isinstance(edit, RemoveEdit):
            self._remove(resolved(self.data, edit.path))
        elif isinstance(edit, MoveEdit):
            self._move(resolved(self.data, edit.path), edit.to)
        else:
            self._rename(edit)

    def _set(self, path: Path, given: Any, written: str | None = None) -> None:
        if given is None:
            if value_at(self.data, path) is not ABSENT:
                self._remove(path)
            return
        value = from_json(given, path[-1])
        old = value_at(self.data, path)
        if old is not ABSENT and same(old, value):
            return
        spelled = written if written is not None and means(written, value) else None
        if old is ABSENT:
            self._new_key(path, value, spelled)
        elif isinstance(old, dict) and isinstance(value, dict):
            self._set_table(path, old, value)
        elif isinstance(old, list) and isinstance(value, list) and spelled is None:
            self._set_list(path, old, value)
        else:
            self._replace(path, old, value, spelled)

    def _replace(self, path: Path, old: Any, value: Any, spelled: str | None) -> None:
        splicer = Splicer(self.text)
        before = splicer.written(path)
        if before is None:
            position = path[-1]
            self._remove(path)
            if isinstance(position, int):
                self._add(path[:-1], value, position)
            else:
                self._new_key(path, value, spelled)
            return
        self._accept(splicer.replaced(path, spelled or value_text(value)), path, value)
        self.inverse.append(SetEdit(path=steps_of(self.data, path), value=to_json(old), written=before))

    def _set_table(self, path: Path, old: dict[str, Any], value: dict[str, Any]) -> None:
        for key in [k for k in old if k not in value]:
            self._remove((*path, key))
        for key, item in value.items():
            self._set((*path, key), to_json(item))

    def _set_list(self, path: Path, old: list[Any], value: list[Any]) -> None:
        """Item by item, so that what stays keeps its spelling: between the items that begin and end both, the end of
        the longer is added or taken away."""
        shorter = min(len(old), len(value))
        first = next((k for k in range(shorter) if not same(old[k], value[k])), shorter)
        room = shorter - first
        last = next((k for k in range(room) if not same(old[-1 - k], value[-1 - k])), room)
        ends, wanted = len(old) - last, value[first : len(value) - last]
        for k in range(ends - 1, first + len(wanted) - 1, -1):
            self._remove((*path, k), keep_empty=bool(value))
        for k, item in enumerate(wanted, first):
            if k >= ends:
                self._add(path, to_json(item), k)
            else:
                self._set((*path, k), to_json(item))

    def _new_key(self, path: Path, value: Any, spelled: str | None) -> None:
        key = path[-1]
        if not isinstance(key, str):
            raise InputFault(f"found no item {in_words(path)}; expected a position that the list has, or an add")
        top = len(path) - 1
        while top and value_at(self.data, path[:top]) is ABSENT:
            top -= 1
        holder = value_at(self.data, path[:top])
        if not isinstance(holder, dict):
            raise InputFault(f"found no table at {in_words(path[:top])}; expected one for {in_words(path[top:])}")
        for step in reversed(path[top + 1 :]):
            value, spelled = {step: value}, None
        first = path[top]
        assert isinstance(first, str)
        if value in ({}, []) and spelled is None:
            spelled = "{}" if value == {} else "[]"
        self._accept(Splicer(self.text).with_key(path[:top], first, value, spelled), (*path[:top], first), value)
        self.inverse.append(RemoveEdit(path=steps_of(self.data, (*path[:top], first))))

    def _add(self, path: Path, given: Any, at: int | None) -> None:
        value, items = from_json(given), value_at(self.data, path)
        if isinstance(items, str) and path[-1] in LISTS:
            self._set(path, [items])
            items = value_at(self.data, path)
        if items is ABSENT:
            self._new_key(path, [value], None)
            return
        if not isinstance(items, list):
            raise InputFault(f"found no list at {in_words(path)}; expected one to add to")
        position = len(items) if at is None else min(at, len(items))
        splicer = Splicer(self.text)
        in_line = path in splicer.index.ends
        if not in_line and not isinstance(value, dict):
            raise InputFault(f"found no table to add to {in_words(path)}; expected one")
        text = splicer.with_item(path, position, value, len(items))
        changed = [*items[:position], value, *items[position:]]
        self._accept(text, path, changed)
        self.inverse.append(RemoveEdit(path=steps_of(self.data, (*path, position))))

    def _remove(self, path: Path, keep_empty: bool = False) -> None:
        old, holder, last = value_at(self.data, path), path[:-1], path[-1]
        if old is ABSENT:
            raise InputFault(f"found nothing at {in_words(path)} to take away; expected what the file has")
        items = value_at(self.data, holder)
        splicer = Splicer(self.text)
        before = splicer.written(path)
        many = isinstance(items, list) and (holder in splicer.index.ends or len(items) > 1 or keep_empty)
        text = splicer.without(path)
        if many:
            self._accept(text, holder, [*items[: int(last)], *items[int(last) + 1 :]])
        else:
            # a list of tables that has none left is not written at all
            self._accept(text, _gone(text, holder if isinstance(items, list) else path), ABSENT)
        steps = steps_of(self.data, holder)
        if isinstance(last, int):
            self.inverse.append(AddEdit(path=steps, value=to_json(old), at=last))
        else:
            self.inverse.append(SetEdit(path=[*steps, last], value=to_json(old), written=before))

    def _move(self, path: Path, to: int) -> None:
        holder, old = path[:-1], path[-1]
        items = value_at(self.data, holder)
        if not isinstance(items, list) or not isinstance(old, int) or old >= len(items):
            raise InputFault(f"found no list item at {in_words(path)} to move; expected one")
        position = min(to, len(items) - 1)
        if position == old:
            return
        changed = [*items[:old], *items[old + 1 :]]
        changed.insert(position, items[old])
        self._accept(Splicer(self.text).moved(path, position, len(items)), holder, changed)
        self.inverse.append(MoveEdit(path=steps_of(self.data, (*holder, position)), to=old))

    def _rename(self, edit: RenameEdit) -> None:
        path = resolved(self.data, edit.path)
        old = value_at(self.data, path)
        if old is ABSENT and len(path) == 3 and path[0] == "shots" and path[2] == "id":
            old = str(int(path[1]) + 1)
        if not isinstance(old, (str, int)) or isinstance(old, bool) or path[-1] not in ("name", "id"):
            raise InputFault(f"found no name at {in_words(path)}; expected the path of a name or id")
        changes = list(references(self.data, path, str(old), edit.value))
        self._set(path, edit.value)
        for where, value in changes:
            self._set(where, value)

    def _accept(self, text: str, path: Path, value: Any) -> None:
        """Take a text that changes what stands at a path to a value, and nothing else.

        Raises
        ------
        InputFault
            It says something else.
        """
        meant = changed(self.data, path, value)
        try:
            said = tomllib.loads(text)
        except (tomllib.TOMLDecodeError, ValueError, RecursionError):
            said = None
        if said is None or not same(said, meant):
            raise InputFault(
                f"{in_words(path)} cannot be changed where it stands, as the file is written; change it in the file"
            )
        self.text, self.data = text, said


def _gone(text: str, path: Path) -> Path:
    """What a text lacks once a key is taken away: the key, or the table above it that nothing but the key wrote."""
    with suppress(tomllib.TOMLDecodeError, ValueError, RecursionError):
        said = tomllib.loads(text)
        while len(path) > 1 and isinstance(path[-2], str) and value_at(said, path[:-1]) is ABSENT:
            path = path[:-1]
    return path


def changed(data: Any, path: Path, value: Any) -> Any:
    """Tables with another value at a path, made where they are absent; `ABSENT` takes it away."""
    if not path:
        return value
    step, rest = path[0], path[1:]
    if isinstance(step, int):
        items = list(data)
        items[step] = changed(items[step], rest, value)
        return items
    table = dict(data) if isinstance(data, dict) else {}
    inner = changed(table.get(step, {}), rest, value) if rest else value
    if inner is ABSENT:
        table.pop(step, None)
    else:
        table[step] = inner
    return table


def same(one: Any, other: Any) -> bool:
    """Whether two values of a file are the same: numbers by their value, true and 1 apart."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[k], other[k]) for k in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    return isinstance(one, bool) == isinstance(other, bool) and bool(one == other)


def tables_after(data: dict[str, Any], edits: Sequence[Edit]) -> tuple[dict[str, Any], list[Path]]:
    """The tables alone after edits, and the paths that they touched: quick, for what is not saved.

    Raises
    ------
    InputFault
        An edit leads nowhere, or is a rename.
    """
    touched = []
    for edit in edits:
        path = resolved(data, edit.path)
        old = value_at(data, path)
        if isinstance(edit, SetEdit):
            value = ABSENT if edit.value is None else from_json(edit.value, path[-1])
            data = changed(data, _holder_checked(data, path), value)
        elif isinstance(edit, AddEdit):
            items = [old] if isinstance(old, str) else [] if old is ABSENT else old
            if not isinstance(items, list):
                raise InputFault(f"found no list at {in_words(path)}; expected one to add to")
            at = len(items) if edit.at is None else min(edit.at, len(items))
            data = changed(data, path, [*items[:at], from_json(edit.value), *items[at:]])
        elif isinstance(edit, RemoveEdit):
            if old is ABSENT:
                raise InputFault(f"found nothing at {in_words(path)} to take away; expected what the file has")
            data = _without(data, path)
        else:
            raise InputFault(f"found a {edit.op} that is not saved; expected set, add or remove")
        touched.append(path)
    return data, touched


def _holder_checked(data: Any, path: Path) -> Path:
    """The path, if every step before the last leads into a table or list, or into nothing yet."""
    here = data
    for k, step in enumerate(path[:-1]):
        here = _inside(here, step)
        if here is ABSENT:
            break
        if not isinstance(here, (dict, list)):
            raise InputFault(
                f"found no table at {in_words(path[: k + 1])}; expected one for {in_words(path[k + 1 :])}"
            )
    else:
        if isinstance(here, list) and not (isinstance(path[-1], int) and path[-1] < len(here)):
            raise InputFault(f"found no item {in_words(path)}; expected one that the list has")
    return path


def _without(data: Any, path: Path) -> dict[str, Any]:
    holder = value_at(data, path[:-1])
    last = path[-1]
    left: Any = (
        [item for k, item in enumerate(holder) if k != last]
        if isinstance(holder, list)
        else {key: item for key, item in holder.items() if key != last}
    )
    made: dict[str, Any] = changed(data, path[:-1], left)
    return made

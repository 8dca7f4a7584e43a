"""A way out applied to a shoot as its file's tables, and the tables as TOML again."""

from __future__ import annotations

import copy
from typing import Any


def applied(tables: dict[str, Any], shot: str, change: dict[str, Any]) -> dict[str, Any]:
    """The same tables with keys of a shot set, or left out where None; a dot leads into a table of the shot."""
    changed = copy.deepcopy(tables)
    (table,) = (one for one in changed["shots"] if one["id"] == shot)
    for dotted, value in change.items():
        inside, *path = reversed(dotted.split("."))
        where = table
        for key in reversed(path):
            where = where.setdefault(key, {})
        if value is None:
            where.pop(inside, None)
        else:
            where[inside] = value
    return changed


def toml(tables: dict[str, Any]) -> str:
    """Tables of plain values as TOML."""
    return "\n".join(_lines(tables, ())) + "\n"


def _lines(table: dict[str, Any], path: tuple[str, ...]) -> list[str]:
    plain = {k: v for k, v in table.items() if not _is_table(v) and not _are_tables(v)}
    lines = [f"{key} = {_value(value)}" for key, value in plain.items()]
    for key, value in table.items():
        name = ".".join((*path, key))
        if _is_table(value):
            lines += [f"[{name}]", *_lines(value, (*path, key))]
        elif _are_tables(value):
            for one in value:
                lines += [f"[[{name}]]", *_lines(one, (*path, key))]
    return lines


def _is_table(value: Any) -> bool:
    return isinstance(value, dict)


def _are_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(v, dict) for v in value)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, list):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    return repr(value)

"""Stand-ins for what is wrong, so that the rest of a faulty file can still be checked and every fault told at once.

The patched model is for looking at names only: it is never composed, and nothing is reported under what was patched.
"""

from __future__ import annotations

import copy
from typing import Any

from pydantic import ValidationError

from sidelong.shoot.document import Document
from sidelong.shoot.lines import Path
from sidelong.shoot.model import ShootFile

ROUNDS = 6
_STAND_INS: dict[str, Any] = {
    "at": [0.0, 0.0, 0.0],
    "camera": {"at": [0.0, 0.0, 1.5], "aim": [0.0, 5.0, 1.5]},
    "size": [1.0, 1.0, 1.0],
    "focal": 50,
    "energy": 100,
    "distance": 1.0,
    "wall": "near",
    "kind": "flag",
    "file": "absent",
}
"""For each key that a table cannot do without. Names and ids get one that nobody would write."""


def patched(document: Document) -> tuple[ShootFile | None, frozenset[Path]]:
    """A model of a faulty document with stand-ins, and the paths patched; None where patching does not help."""
    data = copy.deepcopy(document.data)
    paths: set[Path] = set()
    for _ in range(ROUNDS):
        try:
            return ShootFile.model_validate(data), frozenset(paths)
        except ValidationError as error:
            for detail in error.errors(include_url=False, include_context=False)[:1000]:
                path: Path = tuple(detail["loc"])
                paths.add(path)
                if not _patch(data, path, detail["type"] == "missing"):
                    return None, frozenset()
    return None, frozenset()


def _patch(data: dict[str, Any], path: Path, missing: bool) -> bool:
    """Put a stand-in at a path, or take away what is there; whether that could be done."""
    holder: Any = data
    for step in path[:-1]:
        try:
            holder = holder[step]
        except (KeyError, IndexError, TypeError):
            return False
    last = path[-1] if path else None
    if isinstance(holder, dict) and isinstance(last, str):
        if last in holder:
            del holder[last]
        elif missing:
            holder[last] = _STAND_INS.get(last, f"\u2014 {'.'.join(map(str, path))}"[:90])
        return True
    if isinstance(holder, list) and isinstance(last, int) and last < len(holder):
        holder[last] = {}
        return True
    return False


def spoken_names(document: Document) -> set[str]:
    """Every name and id that the raw tables give, whatever else is wrong with them."""
    tables = [document.data.get(key) for key in ("people", "marks", "shots")]
    kit = document.data.get("kit")
    tables += list(kit.values()) if isinstance(kit, dict) else []
    entries = [entry for table in tables if isinstance(table, list) for entry in table if isinstance(entry, dict)]
    return {str(entry[key]) for entry in entries for key in ("name", "id") if isinstance(entry.get(key), (str, int))}

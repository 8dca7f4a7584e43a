"""What was worked out, by what it rests on: each worked out once, the longest unused let go."""

from __future__ import annotations

import hashlib
import json
from collections import OrderedDict
from collections.abc import Callable
from threading import Lock
from typing import Any, Generic, TypeVar

from sidelong.shoot.toml_text import to_json

T = TypeVar("T")


class Kept(Generic[T]):
    """Values by their key. Whoever asks for one that is being worked out waits for it."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._lock = Lock()
        self._values: OrderedDict[str, T] = OrderedDict()
        self._making: dict[str, Lock] = {}

    def of(self, key: str, make: Callable[[], T]) -> T:
        """The value of a key, made where there is none."""
        with self._lock:
            if key in self._values:
                self._values.move_to_end(key)
                return self._values[key]
            making = self._making.setdefault(key, Lock())
        with making:
            with self._lock:
                if key in self._values:
                    return self._values[key]
            try:
                made = make()
            finally:
                with self._lock:
                    self._making.pop(key, None)
            with self._lock:
                self._values[key] = made
                while len(self._values) > self._most:
                    self._values.popitem(last=False)
            return made


def key_of(*tables: Any) -> str:
    """A name for tables of the file that changes whenever they do."""
    text = json.dumps(to_json(list(tables)), sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def shot_table(data: dict[str, Any], id_: str) -> dict[str, Any]:
    """A shot's table among the file's, by its id or number; empty where there is none."""
    for number, table in enumerate(data.get("shots", []), 1):
        if str(table.get("id", number)) == id_:
            return dict(table)
    return {}


def focus_key(data: dict[str, Any], id_: str) -> str:
    """What the focus of a shot rests on: its table, people, marks, bodies, lenses, and the place it is cut in."""
    kit, place = data.get("kit", {}), data.get("place", {})
    parts = [data.get("people"), data.get("marks"), kit.get("bodies"), kit.get("lenses"), data.get("units")]
    room = [place.get("rooms"), place.get("blocks"), place.get("timezone")]
    return key_of(shot_table(data, id_), id_, parts, room)


def light_key(data: dict[str, Any], id_: str) -> str:
    """What the light of a shot rests on: all but titles and its brief; of other shots the cameras, or all of them."""
    shots = data.get("shots", [])
    # readings of one shot teach the light of all, by what that shot had set
    others = shots if data.get("readings") else [shot.get("camera") for shot in shots]
    rest = [data.get(k) for k in ("place", "marks", "people", "kit", "readings")]
    table = {k: v for k, v in shot_table(data, id_).items() if k != "brief"}
    return key_of(table, id_, others, rest)

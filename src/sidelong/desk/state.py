"""The shoot's state as the page gets it, made once for each version."""

from __future__ import annotations

from collections.abc import Sequence
from threading import Lock

from sidelong.desk.drawn import drawn
from sidelong.desk.messages import FaultOf, ShootState
from sidelong.desk.messages_drawn import Drawn
from sidelong.desk.store import Now, ShootStore
from sidelong.errors import Fault
from sidelong.shoot.document import Document
from sidelong.shoot.report import Doubt
from sidelong.shoot.toml_text import to_json


class ShownState:
    """The state of a store's newest version."""

    def __init__(self, store: ShootStore) -> None:
        self.store = store
        self._lock = Lock()
        self._made: tuple[int, bytes] = (0, b"")
        self._drawn: tuple[int, Drawn] | None = None

    def as_json(self) -> bytes:
        """The state, as JSON."""
        with self._lock:
            now, good = self.store.now(), self.store.good()
            if self._made[0] != now.revision:
                self._made = (now.revision, self._state(now, good).model_dump_json().encode())
            return self._made[1]

    def _state(self, now: Now, good: Now | None) -> ShootState:
        return ShootState(
            revision=now.revision,
            folder=self.store.folder.name,
            file=to_json(now.data),
            faults=faults_of(now.checked.faults, now.checked.document),
            doubts=[_doubt(d) for d in now.checked.doubts],
            drawn=self._drawn_of(good),
            stale=good is not None and good.revision != now.revision,
        )

    def _drawn_of(self, good: Now | None) -> Drawn | None:
        if good is None or good.checked.asked is None or good.checked.model is None:
            return None
        if self._drawn is None or self._drawn[0] != good.revision:
            self._drawn = (good.revision, drawn(good.checked.asked, good.checked.model))
        return self._drawn[1]


def _doubt(doubt: Doubt) -> str:
    return f"line {doubt.line}: {doubt.text}" if doubt.line else doubt.text


def faults_of(faults: Sequence[Fault], document: Document | None) -> list[FaultOf]:
    """Faults as the page gets them, each with the path that stands where it is."""
    return [
        FaultOf(
            line=fault.line,
            column=fault.column,
            found=fault.found,
            expected=fault.expected,
            hint=fault.hint,
            path=[] if document is None else _path_at(document, fault.line, fault.column),
        )
        for fault in faults
    ]


def _path_at(document: Document, line: int, column: int) -> list[str | int]:
    """The longest path whose key or value stands at a line and column."""
    if not line:
        return []
    best: tuple[str | int, ...] = ()
    for path, spot in document.lines.spots.items():
        if len(path) > len(best) and (line, column) in (
            document.lines.position(spot.key),
            document.lines.position(spot.value),
        ):
            best = path
    return list(best)

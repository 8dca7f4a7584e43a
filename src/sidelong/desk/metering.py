"""The light of shots, metered when asked for, in a process of its own, kept as long as what it rests on stays."""

from __future__ import annotations

import base64
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock
from typing import Any

from sidelong.desk.events import Events
from sidelong.desk.kept import light_key
from sidelong.desk.messages import MeteringEvent
from sidelong.desk.one_by_one import OneByOne
from sidelong.desk.store import Now
from sidelong.desk.worker_process import Failed, Stopped, WorkerProcess

MOST_KEPT = 200


@dataclass
class _Metered:
    """The light of one shot by its key; `number` tells apart what was asked for twice."""

    shot: str
    key: str
    number: int
    state: str = "metering"
    fraction: float = 0.0
    table: Any = None
    words: str | None = None
    wanted: bool = True

    @property
    def job(self) -> str:
        return f"{self.number} {self.key}"


class Metering:
    """What is metered and what waits for it. Every method may be called from any thread.

    Nothing is metered unless it is asked for. What is under way for a shot goes on when the shot is edited: it is
    then of before the edit, and told so; asking for the shot as it is now lets it go.
    """

    def __init__(self, good: Callable[[], Now], path: str, events: Events, queue: OneByOne) -> None:
        self._good, self._path, self._events, self._queue = good, path, events, queue
        self._worker = WorkerProcess()
        self._lock = Lock()
        self._known: OrderedDict[str, _Metered] = OrderedDict()
        self._under_way: dict[str, _Metered] = {}
        self._last: dict[str, Any] = {}
        self._number = 0

    def answer(self, shot: str) -> dict[str, Any]:
        """The light of a shot as far as it is known, as the page gets it."""
        key = light_key(self._good().data, shot)
        with self._lock:
            return self._answer(shot, key)

    def ask(self, shot: str) -> dict[str, Any]:
        """Have the light of a shot metered as the file now has it, unless it is known or on its way."""
        now = self._good()
        key = light_key(now.data, shot)
        with self._lock:
            known = self._known.get(key)
            if known is None or known.state == "failed":
                self._let_go(shot)
                self._number += 1
                one = self._known[key] = self._under_way[shot] = _Metered(shot, key, self._number)
                while len(self._known) > MOST_KEPT:
                    self._known.popitem(last=False)
                job = {"what": "light", "text": now.text, "path": self._path, "shot": shot}
                self._queue.put(one.job, lambda: self._meter(one, job))
            return self._answer(shot, key)

    def cancel(self, shot: str) -> dict[str, Any]:
        """Let go what is metered of a shot, or waits for it; what was known stays."""
        key = light_key(self._good().data, shot)
        with self._lock:
            self._let_go(shot)
            answer = self._answer(shot, key)
        self._events.tell(MeteringEvent(shot=shot, state=answer["state"], fraction=answer["fraction"]))
        return answer

    def end(self) -> None:
        """End what is under way."""
        self._queue.end()
        self._worker.stop()

    def _answer(self, shot: str, key: str) -> dict[str, Any]:
        known, busy = self._known.get(key), self._under_way.get(shot)
        ready = known is not None and known.state == "ready"
        one = busy if busy is not None and not ready else known
        return {
            "state": "none" if one is None else one.state,
            "fraction": 0.0 if one is None else one.fraction,
            "stage_key": key,
            "table": known.table if known is not None and ready else self._last.get(shot),
            "of_now": ready,
            "words": None if one is None else one.words,
        }

    def _let_go(self, shot: str) -> None:
        one = self._under_way.pop(shot, None)
        if one is None:
            return
        one.wanted = False
        if self._known.get(one.key) is one:
            del self._known[one.key]
        if not self._queue.withdraw(one.job) and self._queue.is_running(one.job):
            self._worker.stop()

    def _meter(self, one: _Metered, job: dict[str, Any]) -> None:
        def hear(message: dict[str, Any]) -> None:
            self._note(one, "metering", fraction=max(one.fraction, float(message.get("fraction", 0.0))))

        try:
            table = self._worker.run(job, hear, lambda: one.wanted)
        except Stopped:
            return
        except Failed as failed:
            self._note(one, "failed", words=str(failed))
        else:
            self._note(one, "ready", fraction=1.0, table=table)

    def _note(
        self, one: _Metered, state: str, fraction: float | None = None, table: Any = None, words: str | None = None
    ) -> None:
        with self._lock:
            if not one.wanted:
                return
            one.state, one.table, one.words = state, table, words
            one.fraction = one.fraction if fraction is None else fraction
            if state != "metering":
                self._under_way.pop(one.shot, None)
            if state == "ready":
                self._last[one.shot] = table
        self._events.tell(MeteringEvent(shot=one.shot, state=state, fraction=one.fraction))


class Shades:
    """How open the scene's corners are, worked out in a process of its own and kept for the last places."""

    def __init__(self, path: str) -> None:
        self._path = path
        self._worker = WorkerProcess()
        self._lock = Lock()
        self._kept: OrderedDict[str, bytes] = OrderedDict()

    def of(self, text: str, key: str) -> bytes:
        """The shades of the file's scene; waits for them. Raises Failed, Stopped."""
        with self._lock:
            if key not in self._kept:
                job = {"what": "shade", "text": text, "path": self._path, "shot": ""}
                self._kept[key] = base64.b64decode(self._worker.run(job, lambda message: None))
                while len(self._kept) > 4:
                    self._kept.popitem(last=False)
            return self._kept[key]

    def end(self) -> None:
        """End what is under way."""
        self._worker.stop()

"""The light of shots, metered in a process of its own and kept for as long as what it rests on stays."""

from __future__ import annotations

import base64
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Condition, Lock, Thread
from typing import Any

from sidelong.desk.events import Events
from sidelong.desk.kept import light_key
from sidelong.desk.messages import MeteringEvent
from sidelong.desk.store import Now
from sidelong.desk.worker_process import Failed, Stopped, WorkerProcess

MOST_KEPT = 200


@dataclass
class _Metered:
    """The light of one shot by its key."""

    shot: str
    key: str
    job: dict[str, Any]
    state: str = "metering"
    fraction: float = 0.0
    table: Any = None
    words: str | None = None
    wanted: bool = field(default=True)

    def answer(self, last: Any) -> dict[str, Any]:
        """As the page gets it; `last` is the table known before."""
        table = self.table if self.state == "ready" else last
        return {
            "state": self.state,
            "fraction": self.fraction,
            "stage_key": self.key,
            "table": table,
            "words": self.words,
        }


class Metering:
    """What is metered and what waits for it. Every method may be called from any thread."""

    def __init__(self, good: Callable[[], Now], path: str, events: Events) -> None:
        self._good, self._path, self._events = good, path, events
        self._worker = WorkerProcess()
        self._lock = Lock()
        self._more = Condition(self._lock)
        self._known: OrderedDict[str, _Metered] = OrderedDict()
        self._waiting: list[_Metered] = []
        self._running: _Metered | None = None
        self._last: dict[str, Any] = {}
        self._ended = False
        self._thread: Thread | None = None

    def answer(self, shot: str, afresh: bool = False) -> dict[str, Any]:
        """The light of a shot as far as it is known; metering begins where it is not, or is wanted afresh."""
        now = self._good()
        key = light_key(now.data, shot)
        with self._lock:
            known = self._known.get(key)
            if known is None or (afresh and known.state != "metering"):
                known = _Metered(shot, key, {"what": "light", "text": now.text, "path": self._path, "shot": shot})
                self._known[key] = known
                while len(self._known) > MOST_KEPT:
                    self._known.popitem(last=False)
                self._ask(known)
            return known.answer(self._last.get(shot))

    def end(self) -> None:
        """End what is under way."""
        with self._lock:
            self._ended = True
            self._waiting.clear()
            self._more.notify_all()
        self._worker.stop()

    def _ask(self, wanted: _Metered) -> None:
        """Put a job in; what waits or runs for an older state of the same shot is let go."""
        for old in [m for m in self._waiting if m.shot == wanted.shot]:
            self._waiting.remove(old)
            self._known.pop(old.key, None)
        if self._running is not None and self._running.shot == wanted.shot:
            self._running.wanted = False
            self._worker.stop()
        self._waiting.append(wanted)
        if self._thread is None:
            self._thread = Thread(target=self._work, name="metering", daemon=True)
            self._thread.start()
        self._more.notify_all()

    def _work(self) -> None:
        while True:
            with self._lock:
                self._running = None
                while not self._waiting and not self._ended:
                    self._more.wait()
                if self._ended:
                    return
                self._running = one = self._waiting.pop(0)
            self._meter(one)

    def _meter(self, one: _Metered) -> None:
        def hear(message: dict[str, Any]) -> None:
            self._note(one, "metering", fraction=float(message.get("fraction", one.fraction)))

        try:
            table = self._worker.run(one.job, hear)
        except Stopped:
            with self._lock:
                if self._known.get(one.key) is one:
                    del self._known[one.key]
        except Failed as failed:
            self._note(one, "failed", words=str(failed))
        else:
            with self._lock:
                self._last[one.shot] = table
            self._note(one, "ready", fraction=1.0, table=table)

    def _note(
        self, one: _Metered, state: str, fraction: float | None = None, table: Any = None, words: str | None = None
    ) -> None:
        with self._lock:
            one.state, one.table, one.words = state, table, words
            one.fraction = one.fraction if fraction is None else fraction
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

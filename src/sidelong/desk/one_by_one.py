"""Work that is done one piece after another, in the order in which it was asked for, by a thread of its own."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from threading import Condition, Thread

Do = Callable[[], None]


class OneByOne:
    """A queue with one worker, begun when the first piece comes. Every method may be called from any thread; what is
    done tells what goes wrong itself."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._more = Condition()
        self._waiting: OrderedDict[str, Do] = OrderedDict()
        self._running: str | None = None
        self._ended = False
        self._thread: Thread | None = None

    @property
    def waiting(self) -> int:
        """How many pieces wait."""
        with self._more:
            return len(self._waiting)

    def put(self, key: str, do: Do) -> None:
        """Have something done once all that was asked for before is; `key` names it. After the end it is let go."""
        with self._more:
            if self._ended:
                return
            self._waiting[key] = do
            if self._thread is None:
                self._thread = Thread(target=self._work, name=self._name, daemon=True)
                self._thread.start()
            self._more.notify_all()

    def withdraw(self, key: str) -> bool:
        """Take out a piece that waits; False where it does not wait: it is being done, or unknown."""
        with self._more:
            return self._waiting.pop(key, None) is not None

    def is_running(self, key: str) -> bool:
        """Whether a piece is being done now."""
        with self._more:
            return self._running == key

    def end(self) -> None:
        """Begin nothing more."""
        with self._more:
            self._ended = True
            self._waiting.clear()
            self._more.notify_all()

    def _work(self) -> None:
        while True:
            with self._more:
                self._running = None
                while not self._waiting and not self._ended:
                    self._more.wait()
                if self._ended:
                    return
                self._running, do = self._waiting.popitem(last=False)
            do()

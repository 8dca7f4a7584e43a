"""What happens at the desk, told to every page that listens, as server-sent events."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from dataclasses import dataclass, field

from sidelong.desk.access import Session
from sidelong.desk.messages import Event

STILL_THERE = 15.0
"""A line goes out at least so often, so that a page that has left is noticed. [s]"""
LONGEST_QUEUE = 500
"""Events that a page may be behind; one that falls further behind is let go and connects anew."""


@dataclass(eq=False)
class _Listener:
    queue: asyncio.Queue[str | None] = field(default_factory=lambda: asyncio.Queue(LONGEST_QUEUE))

    def put(self, text: str | None) -> None:
        if self.queue.full():
            while not self.queue.empty():
                self.queue.get_nowait()
            text = None
        self.queue.put_nowait(text)


class Events:
    """The one place that events are told to; `tell` may be called from any thread."""

    def __init__(self) -> None:
        self._loop: asyncio.AbstractEventLoop | None = None
        self._listeners: set[_Listener] = set()
        self._ended = False

    def begin(self, loop: asyncio.AbstractEventLoop) -> None:
        """Tell the loop in which pages are served."""
        self._loop = loop

    def end(self) -> None:
        """Let every listener go."""
        self._ended = True
        for listener in list(self._listeners):
            listener.put(None)

    def tell(self, event: Event) -> None:
        """Tell every page that listens."""
        loop, text = self._loop, event.model_dump_json()
        if loop is not None and not loop.is_closed():
            loop.call_soon_threadsafe(self._spread, text)

    def _spread(self, text: str) -> None:
        for listener in list(self._listeners):
            listener.put(text)

    async def stream(self, session: Session) -> AsyncIterator[str]:
        """The events from now on, until the page leaves or its session is shut."""
        listener = _Listener()
        loop = asyncio.get_running_loop()

        def close() -> None:
            loop.call_soon_threadsafe(listener.put, None)

        self._listeners.add(listener)
        session.closers.add(close)
        try:
            yield ": listening\n\n"
            while not session.shut and not self._ended:
                try:
                    text = await asyncio.wait_for(listener.queue.get(), STILL_THERE)
                except TimeoutError:
                    yield ": still there\n\n"
                    continue
                if text is None:
                    return
                yield f"data: {text}\n\n"
        finally:
            self._listeners.discard(listener)
            session.closers.discard(close)

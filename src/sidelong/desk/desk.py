"""The desk of one shoot: who may see it, and, loaded once the page is out, what computes for it."""

from __future__ import annotations

import asyncio
import threading
from pathlib import Path
from typing import TYPE_CHECKING

from fastapi import Request, WebSocket

from sidelong.desk.access import Access
from sidelong.desk.events import Events
from sidelong.desk.messages import PlainEvent
from sidelong.desk.page_files import PageFile
from sidelong.desk.sharing import Sharing
from sidelong.errors import SidelongError
from sidelong.shoot.document import locate

if TYPE_CHECKING:
    from sidelong.desk.works import Works


class Desk:
    """One shoot on the desk. Raises ShootFault where there is none."""

    def __init__(self, shoot: Path, page: dict[str, PageFile]) -> None:
        self.shoot_path, self.page = locate(shoot), page
        self.access = Access()
        self.events = Events()
        self.sharing = Sharing(self.access, lambda: self.events.tell(PlainEvent(kind="devices")))
        self._loading = threading.Lock()
        self._works: Works | None = None

    @property
    def works(self) -> Works:
        """What computes; whoever asks first loads it, all others wait.

        Raises
        ------
        ShootFault
            The file has gone, or is not a plain file.
        """
        with self._loading:
            if self._works is None:
                from sidelong.desk.works import Works  # late: slow import

                self._works = Works(self.shoot_path, self.events)
            return self._works

    def load(self) -> None:
        """Load what computes; what goes wrong comes again to whoever asks for it."""
        try:
            self.works.warm()
        except SidelongError:
            return

    async def watch(self, stop: asyncio.Event) -> None:
        """Look at the folder whenever something in it changes, until told to stop."""
        works = await asyncio.to_thread(lambda: self.works)
        await works.watch(stop)

    def end(self) -> None:
        """Let every listener go and end what is under way."""
        self.events.end()
        if self._works is not None:
            self._works.end()


def desk_of(connection: Request | WebSocket) -> Desk:
    """The desk that a request or websocket came to."""
    desk: Desk = connection.app.state.desk
    return desk


def works_of(connection: Request | WebSocket) -> Works:
    """What computes at that desk."""
    return desk_of(connection).works

"""Serving a desk: the listener on this machine, the second one while sharing, an orderly end."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
import socket
import threading
from collections.abc import Callable
from pathlib import Path

import uvicorn

from sidelong.desk.app import desk_app
from sidelong.desk.desk import Desk
from sidelong.desk.guard import App, Guard
from sidelong.desk.messages_work import ShareAsked
from sidelong.desk.page_files import page_files
from sidelong.desk.routes_share import join_router
from sidelong.errors import InputFault

PAGE = Path(__file__).parent / "page"
LOOPBACK = "127.0.0.1"
MOST_OPEN = 200
"""Connections at once, of either listener."""


class _Listener(uvicorn.Server):
    """One of several servers in a process: signals are the process's business."""

    @contextlib.contextmanager
    def capture_signals(self):  # type: ignore[no-untyped-def]
        """Leave signals alone."""
        yield


class DeskServer:
    """A desk on the air."""

    def __init__(self, shoot: Path, port: int = 0) -> None:
        self.desk = Desk(shoot, page_files(PAGE))
        self._socket = _bound(LOOPBACK, port)
        self.host = f"{LOOPBACK}:{self._socket.getsockname()[1]}"
        self._shared: tuple[_Listener, asyncio.Task[None]] | None = None
        self._app: App | None = None
        self._stop: asyncio.Event | None = None

    @property
    def address(self) -> str:
        """The address that lets a browser in; it holds the secret."""
        return f"http://{self.host}/?key={self.desk.access.secret}"

    def address_for_once(self) -> str:
        """An address that lets one browser in, once."""
        return f"http://{self.host}/?key={self.desk.access.key_for_once()}"

    async def serve(self, ready: Callable[[], None], share: bool = False) -> None:
        """Serve until `stop` is called or the process is asked to end; `ready` is called once it answers."""
        loop = asyncio.get_running_loop()
        self._stop = asyncio.Event()
        self.desk.events.begin(loop)
        app = desk_app(self.desk)
        app.router.routes[:0] = list(join_router.routes)
        self._app = app
        self.desk.sharing.connect(self._open_shared, self._close_shared)
        for number in (signal.SIGINT, signal.SIGTERM):
            with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
                loop.add_signal_handler(number, self.stop)
        main = _listener(Guard(self._app, self.desk.access, self.host, shared=False))
        serving = asyncio.create_task(main.serve([self._socket]))
        while not main.started and not serving.done():
            await asyncio.sleep(0.005)
        threading.Thread(target=self.desk.load, name="loading", daemon=True).start()
        watching = asyncio.create_task(self.desk.watch(self._stop))
        if share:
            await self.desk.sharing.switch(ShareAsked(on=True))
        ready()
        await self._stop.wait()
        self.desk.end()
        await self._close_shared()
        main.should_exit = main.force_exit = True
        await asyncio.gather(serving, watching, return_exceptions=True)

    def stop(self) -> None:
        """End serving; from the loop's own thread."""
        if self._stop is not None:
            self._stop.set()

    async def _open_shared(self, address: str) -> int:
        assert self._app is not None
        listening = _bound(address, 0)
        port = int(listening.getsockname()[1])
        guard = Guard(self._app, self.desk.access, f"{address}:{port}", shared=True)
        self.desk.sharing.cookies_from(guard.set_cookie)
        server = _listener(guard)
        self._shared = server, asyncio.create_task(server.serve([listening]))
        return port

    async def _close_shared(self) -> None:
        if self._shared is not None:
            server, task = self._shared
            self._shared = None
            server.should_exit = server.force_exit = True
            await asyncio.gather(task, return_exceptions=True)


def _listener(app: App) -> _Listener:
    config = uvicorn.Config(
        app,
        log_config=None,
        access_log=False,
        server_header=False,
        date_header=False,
        lifespan="off",
        proxy_headers=False,
        ws="websockets-sansio",
        ws_max_size=1_000_000,
        ws_max_queue=8,
        limit_concurrency=MOST_OPEN,
        timeout_keep_alive=15,
        timeout_graceful_shutdown=1,
        h11_max_incomplete_event_size=32_768,
    )
    return _Listener(config)


def _bound(host: str, port: int) -> socket.socket:
    """A listening socket.

    Raises
    ------
    InputFault
        The port is taken, or not for us.
    """
    # named a TCP socket, so that small answers go out at once: asyncio looks for that name
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name == "posix":  # elsewhere this would let others listen in the same place
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((host, port))
    except (OSError, OverflowError) as error:
        made.close()
        what = getattr(error, "strerror", None) or "it is no port"
        raise InputFault(f"--port: found {port}, which cannot be had ({what}); expected a free port, or 0") from None
    return made

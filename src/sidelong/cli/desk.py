"""`sidelong desk`: the shoot in a browser, live."""

from __future__ import annotations

import asyncio
import sys
import webbrowser
from pathlib import Path

from sidelong.cli.answer import say, talk
from sidelong.shoot.document import locate


def desk(shoot: Path, /, *, port: int = 0, no_browser: bool = False, share: bool = False) -> None:
    """Open the shoot in a browser on this machine; what is changed there is in the file at once.

    It listens on this machine alone, and only the address printed here lets a browser in.

    Parameters
    ----------
    shoot
        The shoot's folder, or its file.
    port
        The port to listen on; left out, a free one.
    no_browser
        Leave opening the address to you.
    share
        Begin with phones on the same network let in, each by a code; the page under Share does the same.
    """
    locate(shoot)
    from sidelong.desk.server import DeskServer  # late: slow import

    server = DeskServer(shoot, port)

    def ready() -> None:
        say(server.address)
        sys.stdout.flush()
        talk("The desk is open; Ctrl-C closes it. The address above lets a browser of this machine in.")
        state = server.desk.sharing.state()
        if state.on:
            talk(f"Phones join at {state.address} with the code {state.code}; the page under Share shows it to scan.")
        if not no_browser:
            webbrowser.open(server.address_for_once())  # others see it among the processes

    asyncio.run(server.serve(ready, share))

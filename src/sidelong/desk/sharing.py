"""Letting phones on the same network in: a second listener while it is on, a code that holds once, the devices."""

from __future__ import annotations

import io
import socket
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime, timedelta

from sidelong.desk.access import Access
from sidelong.desk.messages_work import Device, JoinAsked, Share, ShareAsked
from sidelong.errors import InputFault


class Sharing:
    """What the routes of sharing answer from; the listener itself is opened and closed by the server."""

    def __init__(self, access: Access, tell: Callable[[], None]) -> None:
        self._access, self._tell = access, tell
        self._open: Callable[[str], Awaitable[int]] | None = None
        self._close: Callable[[], Awaitable[None]] | None = None
        self._address: str | None = None
        self._cookie: Callable[[str], tuple[bytes, bytes]] | None = None

    def connect(self, opener: Callable[[str], Awaitable[int]], closer: Callable[[], Awaitable[None]]) -> None:
        """Tell how the second listener is opened on an address (giving its port), and closed."""
        self._open, self._close = opener, closer

    def cookies_from(self, make: Callable[[str], tuple[bytes, bytes]]) -> None:
        """Tell how a device's cookie is made."""
        self._cookie = make

    async def switch(self, asked: ShareAsked) -> Share:
        """Begin or end sharing.

        Raises
        ------
        InputFault
            This machine is on no network that a phone could reach.
        """
        if not asked.on:
            self._access.share(False, False)
            self._address = None
            if self._close is not None:
                await self._close()
        elif self._address is None and self._open is not None:
            here = network_address()
            port = await self._open(here)
            self._address = f"{here}:{port}"
            self._access.share(True, asked.allow_edits)
        else:
            self._access.share(True, asked.allow_edits)
        self._tell()
        return self.state()

    def state(self) -> Share:
        """Whether the desk is shared, with the code that now holds."""
        held = self._access.code() if self._address is not None else None
        if held is None or self._address is None:
            return Share(on=False, allow_edits=False, address=None, code=None, qr_svg=None, expires=None)
        code, left = held
        address = f"http://{self._address}/join"
        expires = datetime.now(UTC) + timedelta(seconds=left)
        return Share(
            on=True,
            allow_edits=self._access.share_edits,
            address=address,
            code=code,
            qr_svg=_qr(f"{address}#{code}"),
            expires=expires.isoformat(timespec="seconds"),
        )

    def join(self, asked: JoinAsked, address: str) -> tuple[str | None, bool]:
        """The token of a device whose code holds, else None; and whether it may edit. Raises TooFast."""
        token = self._access.admit_device(asked.code, asked.name, address)
        if token is not None:
            self._tell()
        return token, self._access.share_edits

    def cookie(self, token: str) -> tuple[bytes, bytes]:
        """The header that gives a device its token."""
        assert self._cookie is not None
        return self._cookie(token)

    def devices(self) -> list[Device]:
        """The devices that are in."""
        return [
            Device(
                id=s.id,
                name=s.name,
                address=s.address,
                since=s.since.isoformat(timespec="seconds"),
                seen=s.seen.isoformat(timespec="seconds"),
                allow_edits=s.allow_edits,
            )
            for s in self._access.devices()
        ]

    def shut_out(self, id_: str) -> list[Device]:
        """Shut a device out; those that are left.

        Raises
        ------
        InputFault
            There is no such device.
        """
        if not self._access.shut_out(id_):
            raise InputFault(f"found no device {id_}; expected one that is in")
        self._tell()
        return self.devices()

    def allow(self, id_: str, edits: bool) -> list[Device]:
        """Let a device edit, or only look.

        Raises
        ------
        InputFault
            There is no such device.
        """
        if not self._access.allow(id_, edits):
            raise InputFault(f"found no device {id_}; expected one that is in")
        self._tell()
        return self.devices()


def network_address() -> str:
    """This machine's address on its local network.

    Raises
    ------
    InputFault
        It is on no network that a phone could reach.
    """
    # nothing is sent: connecting a datagram socket only asks which of our addresses faces that way
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(("192.0.2.1", 9))
            found = str(asking.getsockname()[0])
        except OSError:
            found = ""
    if not found or found.startswith("127.") or found == "0.0.0.0":
        raise InputFault("this machine is on no network that a phone could reach; join one and share again")
    return found


def _qr(address: str) -> str:
    import segno  # late: slow import

    drawn = io.BytesIO()
    segno.make(address, error="m", micro=False).save(
        drawn, kind="svg", border=4, omitsize=True, xmldecl=False, svgns=True, dark="#000", light="#fff", nl=False
    )
    return drawn.getvalue().decode()

"""Who may come in: the desk's own browser by the secret of its address, phones by a code that holds once."""

from __future__ import annotations

import hmac
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from threading import Lock

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
"""Of a code: none that looks like another."""
CODE_LENGTH = 10
CODE_SECONDS = 300.0
"""How long a code holds. [s]"""
WRONG_CODES = 5
"""Wrong codes after which the right one is void too."""
BETWEEN_CODES = 1.0
"""At least so long between two tries of one address. [s]"""
MOST_DEVICES = 32
MOST_BROWSERS = 64
"""Of the desk's own; the oldest has to come in anew."""
_MOST_TRIES = 20
"""Tries a minute, of all addresses together."""


@dataclass
class Session:
    """A browser that is in. `host` is the desk's own; `id` names it to people, the token that lets it in is kept
    apart."""

    id: str
    host: bool
    name: str
    address: str
    allow_edits: bool
    since: datetime
    seen: datetime
    shut: bool = False
    closers: set[Callable[[], None]] = field(default_factory=set)
    """Called when it is shut out, to end what it holds open."""

    def end(self) -> None:
        """Shut it out, and end what it holds open."""
        self.shut = True
        for close in list(self.closers):
            close()


@dataclass
class _Code:
    text: str
    until: float
    wrong: int = 0


class Access:
    """The secret, the sessions by their tokens, and the code of the day's sharing."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.secret = secrets.token_urlsafe(32)
        self.sharing = False
        self.share_edits = False
        self._clock = clock
        self._lock = Lock()
        self._sessions: dict[str, Session] = {}
        self._code: _Code | None = None
        self._once: str | None = None
        self._tries: list[tuple[float, str]] = []

    def key_for_once(self) -> str:
        """A key that lets one browser in, once: for an address that others may see, as in a list of processes."""
        with self._lock:
            self._once = secrets.token_urlsafe(32)
            return self._once

    def admit_host(self, key: str, address: str) -> str | None:
        """A token for a browser that knows the secret or the key for once; None for any other."""
        given = key.encode("utf-8", "replace")
        with self._lock:
            once = self._once is not None and hmac.compare_digest(given, self._once.encode())
            if once:
                self._once = None
        if not once and not hmac.compare_digest(given, self.secret.encode()):
            return None
        return self._admit(True, "this desk", address, True)

    def session(self, token: str | None) -> Session | None:
        """The session of a token, None if it lets nobody in."""
        if not token:
            return None
        with self._lock:
            session = self._sessions.get(token)
            if session is not None:
                session.seen = datetime.now(UTC)
            return session

    def share(self, on: bool, allow_edits: bool) -> None:
        """Begin or end sharing; ending shuts every device out."""
        with self._lock:
            self.sharing, self.share_edits = on, allow_edits
            self._code = None
            self._tries.clear()
            gone = [] if on else self._drop(lambda s: not s.host)
        for session in gone:
            session.end()

    def code(self) -> tuple[str, float] | None:
        """The code that now holds, and for how long [s]; a new one where there is none. None while not sharing."""
        with self._lock:
            if not self.sharing:
                return None
            now = self._clock()
            if self._code is None or now >= self._code.until or self._code.wrong >= WRONG_CODES:
                text = "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
                self._code = _Code(text, now + CODE_SECONDS)
            return self._code.text, self._code.until - now

    def admit_device(self, code: str, name: str, address: str) -> str | None:
        """A token for a device that knows the code, which then holds no longer; None for any other.

        Raises
        ------
        TooFast
            This address, or all together, tried too often.
        """
        with self._lock:
            now = self._clock()
            self._tries = [(t, a) for t, a in self._tries if now - t < 60.0]
            if len(self._tries) >= _MOST_TRIES or any(
                a == address and now - t < BETWEEN_CODES for t, a in self._tries
            ):
                raise TooFast
            self._tries.append((now, address))
            held = self._code
            if not self.sharing or held is None or now >= held.until or held.wrong >= WRONG_CODES:
                return None
            given = code.strip().upper().replace("-", "").replace(" ", "")
            if not hmac.compare_digest(given.encode("utf-8", "replace"), held.text.encode()):
                held.wrong += 1
                return None
            self._code = None
            if sum(not s.host for s in self._sessions.values()) >= MOST_DEVICES:
                return None
        return self._admit(False, name.strip() or "a device", address, self.share_edits)

    def devices(self) -> list[Session]:
        """Every device that shares the desk, the first to come first."""
        with self._lock:
            return [s for s in self._sessions.values() if not s.host]

    def shut_out(self, id_: str) -> bool:
        """Shut one device out; whether there was one."""
        with self._lock:
            gone = self._drop(lambda s: not s.host and s.id == id_)
        for session in gone:
            session.end()
        return bool(gone)

    def allow(self, id_: str, edits: bool) -> bool:
        """Let one device edit or only look; whether there is one."""
        found = [s for s in self.devices() if s.id == id_]
        for session in found:
            session.allow_edits = edits
        return bool(found)

    def _admit(self, host: bool, name: str, address: str, edits: bool) -> str:
        token, now = secrets.token_urlsafe(32), datetime.now(UTC)
        with self._lock:
            hosts = [t for t, s in self._sessions.items() if s.host]
            if host and len(hosts) >= MOST_BROWSERS:
                del self._sessions[hosts[0]]
            self._sessions[token] = Session(secrets.token_hex(8), host, name[:60], address, edits, now, now)
        return token

    def _drop(self, which: Callable[[Session], bool]) -> list[Session]:
        gone = {token: s for token, s in self._sessions.items() if which(s)}
        for token in gone:
            del self._sessions[token]
        return list(gone.values())


class TooFast(Exception):
    """Codes were tried too often."""

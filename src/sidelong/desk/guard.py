"""The guard before every route: which host, from which page, with whose cookie, how long a body.

Nothing behind it runs unless the request names the very address that the server listens on (so that no other name
can be pointed at it), comes from a page of its own, and carries the cookie that only the secret of the address, or a
code that holds once, gives out.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qs

from sidelong.desk.access import Access, Session
from sidelong.desk.join_page import JOIN_FILES

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]


@dataclass(frozen=True)
class Bounds:
    """Of a body: `longest` [bytes], the `seconds` after which one that is not whole is given up [s], its `kind`."""

    longest: int
    seconds: float
    kind: str
    words: str


MESSAGE = Bounds(1_000_000, 10.0, "application/json", "JSON")
FILE = Bounds(64_000_000, 120.0, "application/octet-stream", "a file")
"""As long as the longest mesh that is read."""
FILES = "/api/files"
READING = ("GET", "HEAD")
ON = b'<!doctype html><meta http-equiv="refresh" content="0;url=/"><title>Sidelong</title><a href="/">To the desk</a>'
HEADERS = (
    ("content-security-policy",
     "default-src 'self'; script-src 'self'; style-src 'self'; style-src-attr 'unsafe-inline'; "
     "img-src 'self' blob: data:; font-src 'self'; connect-src 'self'; worker-src 'self'; object-src 'none'; "
     "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("referrer-policy", "no-referrer"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cross-origin-embedder-policy", "require-corp"),
    ("permissions-policy", "camera=(), microphone=(), geolocation=(), payment=(), usb=()"),
)  # fmt: skip


class Guard:
    """Lets through what may come in, and nothing else; an ASGI application around another."""

    def __init__(self, app: App, access: Access, host: str, shared: bool) -> None:
        self.app, self.access, self.host, self.shared = app, access, host, shared
        self.origin = f"http://{host}"
        self.cookie = f"sidelong_{host.rpartition(':')[2]}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
        elif scope["type"] == "websocket":
            await self._websocket(scope, receive, send)
        elif scope["type"] == "http":
            await self._http(scope, receive, send)

    def _stranger(self, scope: Scope, headers: dict[str, str]) -> str | None:
        """Why a request is not one of ours, in words; None if it is."""
        if headers.get("host") != self.host or headers.get("", "") == "twice":
            return f"this desk answers at {self.origin} only"
        origin = headers.get("origin")
        must = scope["type"] == "websocket" or scope["method"] not in READING
        if (origin is None and must) or origin not in (None, self.origin):
            return "only the desk's own page may ask this"
        if headers.get("sec-fetch-site", "none") not in ("same-origin", "none") and not self._is_way_in(scope):
            return "only the desk's own page may ask this"
        return None

    def _is_way_in(self, scope: Scope) -> bool:
        """Whether a request shows a secret: that may be followed from anywhere, a terminal in a browser or a note."""
        plain = scope["type"] == "http" and scope["method"] == "GET" and scope["path"] == "/"
        return bool(plain and not self.shared and scope["query_string"])

    def _session(self, headers: dict[str, str]) -> Session | None:
        session = self.access.session(_cookie(headers.get("cookie", ""), self.cookie))
        return session if session is not None and (session.host is not self.shared) else None

    async def _websocket(self, scope: Scope, receive: Receive, send: Send) -> None:
        headers = _headers(scope)
        session = self._session(headers)
        if self._stranger(scope, headers) is not None or session is None:
            await receive()
            await send({"type": "websocket.close", "code": 4403, "reason": "not let in"})
            return
        scope["sidelong.session"] = session
        await self.app(scope, receive, send)

    async def _http(self, scope: Scope, receive: Receive, send: Send) -> None:
        headers, send = _headers(scope), _with_headers(send)
        why = self._stranger(scope, headers)
        if why is not None:
            await refuse(send, 403, why)
            return
        if self._is_way_in(scope):
            await self._admit(scope, headers, send)
            return
        if self.shared and _is_joining(scope):
            scope["sidelong.session"] = None
        else:
            session = self._session(headers)
            if session is None:
                await refuse(send, 403, self._way_in())
                return
            if scope["method"] not in READING and not session.allow_edits:
                await refuse(send, 403, "this device may look, not change; whoever runs the desk can allow it")
                return
            if scope["path"] == FILES and not session.host:
                await refuse(send, 403, "only the desk itself takes files in")
                return
            scope["sidelong.session"] = session
        await self._with_body(scope, headers, receive, send)

    def _way_in(self) -> str:
        if self.shared:
            return "scan the code that the desk shows under Share to come in"
        return "open the address that `sidelong desk` printed: it holds the secret that lets you in"

    async def _admit(self, scope: Scope, headers: dict[str, str], send: Send) -> None:
        asked = parse_qs(scope["query_string"].decode("latin-1"))
        address = (scope.get("client") or ("", 0))[0]
        token = self.access.admit_host(asked.get("key", [""])[0], address)
        if token is None:
            await refuse(send, 403, "that is not the secret of this desk: open the address that it printed last")
            return
        status, said = 303, [(b"location", b"/")]
        if headers.get("sec-fetch-site", "none") not in ("same-origin", "none"):
            # followed from another page: a strict cookie goes along only when a page of ours leads on
            status, said = 200, [(b"content-type", b"text/html; charset=utf-8")]
        await send({"type": "http.response.start", "status": status, "headers": [*said, self.set_cookie(token)]})
        await send({"type": "http.response.body", "body": ON if status == 200 else b""})

    def set_cookie(self, token: str) -> tuple[bytes, bytes]:
        """The header that gives a browser its token."""
        return b"set-cookie", f"{self.cookie}={token}; Path=/; HttpOnly; SameSite=Strict".encode()

    async def _with_body(self, scope: Scope, headers: dict[str, str], receive: Receive, send: Send) -> None:
        """Read the body within its bounds before any route sees it."""
        bounds = FILE if scope["path"] == FILES else MESSAGE
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > bounds.longest:
            await refuse(send, 413, f"found a body of {length[:20]} bytes; expected at most {bounds.longest}")
            return
        if scope["method"] in READING:
            await self.app(scope, receive, send)
            return
        try:
            body = await asyncio.wait_for(_whole(receive, bounds.longest), bounds.seconds)
        except TimeoutError:
            await refuse(send, 408, f"the body was not there after {bounds.seconds:.0f} seconds")
            return
        if body is None:
            await refuse(send, 413, f"found a longer body; expected at most {bounds.longest} bytes")
            return
        if body and headers.get("content-type", "").split(";")[0].strip().lower() != bounds.kind:
            await refuse(send, 415, f"expected {bounds.words}, with the content type {bounds.kind}")
            return
        await self.app(scope, _replayed(body, receive), send)


def _headers(scope: Scope) -> dict[str, str]:
    """Header lines by name; a `host` or `origin` that comes twice is told by the name ""."""
    found: dict[str, str] = {}
    for name, value in scope["headers"]:
        key = name.decode("latin-1").lower()
        if key in found and key in ("host", "origin"):
            found[""] = "twice"
        found[key] = (
            f"{found[key]}; {value.decode('latin-1')}"
            if key == "cookie" and key in found
            else value.decode("latin-1")
        )
    return found


def _cookie(line: str, name: str) -> str | None:
    try:
        jar = SimpleCookie(line)
    except CookieError:
        return None
    return jar[name].value if name in jar else None


def _is_joining(scope: Scope) -> bool:
    """Whether a request needs no cookie: the page on which a phone gives its code, and the giving."""
    if scope["method"] in READING:
        return scope["path"] in JOIN_FILES
    return bool(scope["method"] == "POST" and scope["path"] == "/api/join")


async def _whole(receive: Receive, longest: int) -> bytes | None:
    """The whole body; None if it is too long."""
    parts, length = [], 0
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return b""
        parts.append(message.get("body", b""))
        length += len(parts[-1])
        if length > longest:
            return None
        if not message.get("more_body"):
            return b"".join(parts)


def _replayed(body: bytes, receive: Receive) -> Receive:
    given = False

    async def again() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return again


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            present = {name.lower() for name, _ in message["headers"]}
            more = [(n.encode(), v.encode()) for n, v in HEADERS]
            if b"cache-control" not in present:
                more.append((b"cache-control", b"no-store"))
            message["headers"] = [*message["headers"], *more]
        await send(message)

    return sending


async def refuse(send: Send, status: int, words: str) -> None:
    """Answer with an error in words."""
    body = json.dumps({"error": {"words": words, "faults": None, "ways_out": None}}).encode()
    headers = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode())]
    if status in (408, 413):
        headers.append((b"connection", b"close"))
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})

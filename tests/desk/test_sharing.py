"""Phones on the same network: in by a code that holds once, looking only, out when shut out."""

from __future__ import annotations

import re
import socket
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from websockets.exceptions import ConnectionClosed
from websockets.sync.client import connect

from desk_on_air import DeskOnAir
from sidelong.desk.access import BETWEEN_CODES, CODE_SECONDS, WRONG_CODES, Access, TooFast
from sidelong.desk.sharing import network_address
from sidelong.errors import InputFault

EDIT = {"base": 1, "edits": [{"op": "set", "path": ["title"], "value": "mine now"}]}


def on_a_network() -> bool:
    try:
        return bool(network_address())
    except InputFault:
        return False


needs_network = pytest.mark.skipif(not on_a_network(), reason="this machine is on no network to share on")


@pytest.fixture
def shared(inside: httpx.Client) -> Iterator[dict[str, Any]]:
    """Sharing on, as the desk's own page gets it."""
    yield inside.post("/api/share", json={"on": True}).json()
    inside.post("/api/share", json={"on": False})


def phone(share: dict[str, Any]) -> httpx.Client:
    origin = share["address"].removesuffix("/join")
    return httpx.Client(base_url=origin, headers={"origin": origin}, timeout=20)


def join(client: httpx.Client, code: str) -> httpx.Response:
    time.sleep(BETWEEN_CODES)
    return client.post("/api/join", json={"code": code, "name": "test phone"})


def test_it_is_off_until_it_is_switched_on(inside: httpx.Client) -> None:
    assert inside.get("/api/share").json()["on"] is False
    assert inside.get("/api/devices").json() == []
    assert inside.post("/api/join", json={"code": "AAAAAAAAAA"}).status_code in (403, 429)


@needs_network
def test_a_phone_comes_in_looks_and_is_shut_out(
    desk: DeskOnAir, inside: httpx.Client, shared: dict[str, Any]
) -> None:
    assert shared["qr_svg"].startswith("<svg")
    assert "127.0.0.1" not in shared["address"]
    with phone(shared) as client:
        assert client.get("/api/shoot").status_code == 403
        assert "Join the desk" in client.get("/join").text
        joined = join(client, shared["code"].lower())
        assert joined.json() == {"allow_edits": False}
        assert "HttpOnly" in joined.headers["set-cookie"]
        assert client.get("/api/shoot").json()["file"]["title"] == "The ropewalk"
        assert client.get("/api/me").json() == {"host": False, "allow_edits": False, "name": "test phone"}
        # it may look, not change
        for path, body in (
            ("/api/edits", EDIT),
            ("/api/takes", {"shot": "both", "number": 1, "kept": True}),
            ("/api/pictures", {"shot": "both", "quality": "draft"}),
            ("/api/shots/both/light", None),
            ("/api/share", {"on": True, "allow_edits": True}),
        ):
            assert client.post(path, json=body).status_code == 403, path
        device = inside.get("/api/devices").json()[0]
        assert client.patch(f"/api/devices/{device['id']}", json={"allow_edits": True}).status_code == 403
        assert client.delete(f"/api/devices/{device['id']}").status_code == 403
        # where it is allowed, it may; but never share, nor see or shut out others
        inside.patch(f"/api/devices/{device['id']}", json={"allow_edits": True})
        assert client.post("/api/takes", json={"shot": "both", "number": 2, "kept": True}).status_code == 200
        for method, path in (("GET", "/api/share"), ("GET", "/api/devices"), ("POST", "/api/share"),
                             ("DELETE", f"/api/devices/{device['id']}")):  # fmt: skip
            body = {"on": False} if method == "POST" else None
            assert client.request(method, path, json=body).status_code == 403, path
        # shut out, at once, with what it has open
        cookie = "; ".join(f"{c.name}={c.value}" for c in client.cookies.jar)
        origin = str(client.base_url).rstrip("/")
        with connect(
            origin.replace("http", "ws") + "/api/live", additional_headers={"cookie": cookie}, origin=origin
        ) as line:
            assert inside.delete(f"/api/devices/{device['id']}").json() == []
            with pytest.raises(ConnectionClosed):
                line.recv(timeout=10)
        assert client.get("/api/shoot").status_code == 403
        assert client.get("/").status_code == 403


@needs_network
def test_a_code_holds_once(inside: httpx.Client, shared: dict[str, Any]) -> None:
    with phone(shared) as first, phone(shared) as second:
        assert join(first, shared["code"]).status_code == 200
        assert join(second, shared["code"]).status_code == 403
        fresh = inside.get("/api/share").json()["code"]
        assert fresh != shared["code"]
        assert join(second, fresh).status_code == 200


@needs_network
def test_switching_off_shuts_everybody_out(inside: httpx.Client) -> None:
    share = inside.post("/api/share", json={"on": True, "allow_edits": True}).json()
    with phone(share) as client:
        assert join(client, share["code"]).json() == {"allow_edits": True}
        brought = client.post("/api/files", params={"name": "a.obj"}, content=b"v 0 0 0")
        assert brought.status_code == 403  # it may edit, and bring no files in
        assert inside.post("/api/share", json={"on": False}).json()["on"] is False
        with pytest.raises(httpx.TransportError):
            client.get("/api/shoot")
    again = inside.post("/api/share", json={"on": True}).json()
    with phone(again) as client:
        client.cookies.update({"sidelong_x": "x"})
        assert client.get("/api/shoot").status_code == 403
    inside.post("/api/share", json={"on": False})


@needs_network
def test_cookies_and_secrets_of_one_door_open_no_other(
    desk: DeskOnAir, inside: httpx.Client, shared: dict[str, Any]
) -> None:
    secret = desk.way_in.partition("key=")[2]
    with phone(shared) as client:
        port = str(client.base_url).rpartition(":")[2].rstrip("/")
        assert client.get("/", params={"key": secret}).status_code == 403
        host_token = next(iter(inside.cookies.jar)).value or ""
        client.cookies.set(f"sidelong_{port}", host_token)
        assert client.get("/api/shoot").status_code == 403
    with phone(shared) as client:
        join(client, inside.get("/api/share").json()["code"])
        token = next(iter(client.cookies.jar)).value or ""
    own = desk.origin.rpartition(":")[2]
    with desk.stranger(cookies={f"sidelong_{own}": token}) as client:
        assert client.get("/api/shoot").status_code == 403


@needs_network
@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1:{port}", "localhost"])
def test_the_second_door_knows_its_name_too(shared: dict[str, Any], host: str) -> None:
    with phone(shared) as client:
        named = host.format(port=str(client.base_url).rpartition(":")[2].rstrip("/"))
        assert client.get("/join", headers={"host": named}).status_code == 403
        assert client.post("/api/join", json={"code": shared["code"]}, headers={"host": named}).status_code == 403
        elsewhere = {"origin": "http://evil.example"}
        assert client.post("/api/join", json={"code": shared["code"]}, headers=elsewhere).status_code == 403


@needs_network
def test_codes_cannot_be_tried_fast(shared: dict[str, Any]) -> None:
    with phone(shared) as client:
        time.sleep(BETWEEN_CODES)
        told = [client.post("/api/join", json={"code": f"WRONG{k:05}"}).status_code for k in range(20)]
    assert told[0] == 403
    assert 429 in told
    assert 200 not in told


# --- the code itself, by a clock of its own ---


class Clock:
    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def access(clock: Clock) -> Access:
    made = Access(clock)
    made.share(True, False)
    return made


def code_of(access: Access) -> str:
    held = access.code()
    assert held is not None
    return held[0]


def test_a_code_ends_after_five_minutes(access: Access, clock: Clock) -> None:
    code = code_of(access)
    clock.now += CODE_SECONDS
    assert access.admit_device(code, "late", "a") is None
    assert code_of(access) != code


def test_a_code_is_void_after_some_wrong_ones(access: Access, clock: Clock) -> None:
    code = code_of(access)
    for k in range(WRONG_CODES):
        assert access.admit_device("WRONG", "x", f"address {k}") is None
    assert access.admit_device(code, "x", "own") is None
    assert code_of(access) != code


def test_all_together_may_try_twenty_times_a_minute(access: Access, clock: Clock) -> None:
    for k in range(20):
        access.admit_device("WRONG", "x", f"address {k}")
    with pytest.raises(TooFast):
        access.admit_device("WRONG", "x", "another")
    clock.now += 61
    assert access.admit_device(code_of(access), "x", "another") is not None


def test_a_code_is_hard_to_guess(access: Access) -> None:
    """Ten letters of 32: 20 tries a minute find one in a life of five minutes once in ten million million."""
    code = code_of(access)
    assert re.fullmatch("[A-Z2-9]{10}", code)
    assert len({code_of(shared_access()) for _ in range(50)}) == 50


def shared_access() -> Access:
    made = Access()
    made.share(True, False)
    return made


def test_a_slow_phone_does_not_hold_the_desk_up(desk: DeskOnAir, inside: httpx.Client) -> None:
    port = int(desk.origin.rpartition(":")[2])
    lines = [socket.create_connection(("127.0.0.1", port), timeout=5) for _ in range(50)]
    try:
        for line in lines:
            line.sendall(b"GET / HTTP/1.1\r\nHost: ")
        begun = time.monotonic()
        assert inside.get("/api/me").status_code == 200
        assert time.monotonic() - begun < 4.0
    finally:
        for line in lines:
            line.close()


def test_nothing_of_a_shared_desk_is_left_in_the_folder(desk: DeskOnAir) -> None:
    names = {path.name for path in Path(desk.folder).iterdir()}
    assert names <= {"shoot.toml", "shoot.toml.previous", "takes.json", "takes.json.previous"}

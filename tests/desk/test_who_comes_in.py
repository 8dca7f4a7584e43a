"""Every way that somebody else might come in, tried and refused."""

from __future__ import annotations

import json
import socket
import time
from typing import Any

import httpx
import pytest
from websockets.exceptions import InvalidStatus, WebSocketException
from websockets.sync.client import connect

from desk_on_air import DeskOnAir
from sidelong.desk.access import MOST_BROWSERS, Access
from source_tree import ROOT

SCHEMA = json.loads((ROOT / "web" / "src" / "api" / "schema.json").read_text(encoding="utf-8"))
ROUTES = [(method.upper(), path) for path, methods in SCHEMA["paths"].items() for method in methods]
FILES = ["/", "/index.html", "/assets/", "/favicon.ico", "/join", "/join.js", "/nothing"]
EDIT = {"base": 1, "label": "", "edits": [{"op": "set", "path": ["title"], "value": "mine now"}]}


def filled(path: str) -> str:
    return path.replace("{shot}", "both").replace("{id}", "0123456789abcdef")


def refused(answer: httpx.Response) -> bool:
    return answer.status_code == 403 and set(answer.json()) == {"error"} and "ropewalk" not in answer.text


@pytest.mark.parametrize(("method", "path"), [*ROUTES, *(("GET", file) for file in FILES)])
def test_nothing_is_answered_without_the_cookie(desk: DeskOnAir, method: str, path: str) -> None:
    with desk.stranger(headers={"origin": desk.origin}) as client:
        assert refused(client.request(method, filled(path), json={} if method in ("POST", "PATCH") else None))


@pytest.mark.parametrize("key", ["", "x", "0" * 43, "%00", "é" * 43, "null", "*"])
def test_a_wrong_secret_lets_nobody_in(desk: DeskOnAir, key: str) -> None:
    with desk.stranger() as client:
        answer = client.get("/", params={"key": key})
        assert refused(answer)
        assert "set-cookie" not in answer.headers


def test_a_part_of_the_secret_lets_nobody_in(desk: DeskOnAir) -> None:
    secret = desk.way_in.partition("key=")[2]
    assert len(secret) >= 22, "128 bits are 22 letters of base 64"
    with desk.stranger() as client:
        for key in (secret[:-1], secret + "A", secret.swapcase(), secret[::-1]):
            assert refused(client.get("/", params={"key": key}))


def test_the_secret_is_another_each_time(desk: DeskOnAir, folder: Any) -> None:
    from desk_on_air import desk_on_air

    with desk_on_air(folder) as other:
        assert other.way_in.partition("key=")[2] != desk.way_in.partition("key=")[2]
        with other.stranger() as client:
            key = desk.way_in.partition("key=")[2]
            assert refused(client.get("/", params={"key": key}))


def test_the_cookie_is_kept_from_scripts_and_other_sites(desk: DeskOnAir) -> None:
    with desk.stranger() as client:
        answer = client.get(desk.way_in)
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert answer.headers["location"] == "/"
    assert desk.way_in.partition("key=")[2] not in cookie


def test_the_address_may_be_followed_from_another_page(desk: DeskOnAir) -> None:
    """A page of ours leads on then, since a strict cookie does not come along from elsewhere."""
    with desk.stranger(headers={"sec-fetch-site": "cross-site"}) as client:
        answer = client.get(desk.way_in)
        assert answer.status_code == 200
        assert 'content="0;url=/"' in answer.text
        assert "HttpOnly" in answer.headers["set-cookie"]
        assert refused(client.get("/", params={"key": "x"}))
        assert refused(client.get("/api/shoot"))


def test_a_key_for_once_lets_in_once() -> None:
    access = Access()
    key = access.key_for_once()
    assert key != access.secret
    assert access.admit_host(key, "") is not None
    assert access.admit_host(key, "") is None
    assert access.admit_host(access.secret, "") is not None
    older, newer = access.key_for_once(), access.key_for_once()
    assert access.admit_host(older, "") is None
    assert access.admit_host(newer, "") is not None


def test_the_oldest_of_too_many_browsers_comes_in_anew() -> None:
    access = Access()
    tokens = [access.admit_host(access.secret, "") for _ in range(MOST_BROWSERS + 1)]
    assert access.session(tokens[0]) is None
    assert all(access.session(token) for token in tokens[1:])


@pytest.mark.parametrize(
    "host",
    [
        "evil.example", "evil.example:{port}", "localhost", "localhost:{port}", "127.0.0.1", "127.0.0.1:1",
        "[::1]:{port}", "0.0.0.0:{port}", "127.0.0.1:{port}.evil.example", "127.1:{port}", "2130706433:{port}",
        "127.0.0.1:{port}@evil", "127.0.0.1.nip.io:{port}", "",
    ],
)  # fmt: skip
def test_no_other_name_may_point_here(desk: DeskOnAir, inside: httpx.Client, host: str) -> None:
    named = host.format(port=desk.origin.rpartition(":")[2])
    assert inside.get("/api/shoot", headers={"host": named}).status_code in (400, 403)
    assert inside.get("/", headers={"host": named}).status_code in (400, 403)


def test_a_host_named_twice_is_refused(desk: DeskOnAir) -> None:
    host = desk.origin.removeprefix("http://")
    for second in ("evil.example", host):
        said = raw(desk, f"GET / HTTP/1.1\r\nHost: {host}\r\nHost: {second}\r\n\r\n")
        assert said.split(" ")[1] in ("400", "403")


@pytest.mark.parametrize(
    "origin",
    ["http://evil.example", "null", "http://127.0.0.1", "http://127.0.0.1:1", "https://{host}", "http://{host}.evil.example",
     "http://{host}/", "HTTP://{host}", "", "file://"],
)  # fmt: skip
def test_no_other_page_may_ask(desk: DeskOnAir, inside: httpx.Client, origin: str) -> None:
    before = desk.file.read_bytes()
    headers = {"origin": origin.format(host=desk.origin.removeprefix("http://"))}
    assert refused(inside.get("/api/shoot", headers=headers))
    assert refused(inside.post("/api/edits", json=EDIT, headers=headers))
    assert refused(inside.request("OPTIONS", "/api/edits", headers=headers))
    assert desk.file.read_bytes() == before


def test_a_write_must_say_where_it_comes_from(desk: DeskOnAir, inside: httpx.Client) -> None:
    with httpx.Client(base_url=desk.origin, cookies=inside.cookies) as client:
        assert refused(client.post("/api/edits", json=EDIT))
        assert client.get("/api/shoot").status_code == 200


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_page_of_another_port_may_not_even_look(inside: httpx.Client, site: str) -> None:
    headers = {"sec-fetch-site": site, "origin": ""}
    assert refused(inside.get("/api/shoot", headers={**inside.headers, **headers}))


def test_no_leave_is_given_to_other_origins(inside: httpx.Client) -> None:
    answer = inside.get("/api/shoot")
    assert not [name for name in answer.headers if name.startswith("access-control-")]
    assert answer.headers["cross-origin-resource-policy"] == "same-origin"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "no-referrer"
    policy = answer.headers["content-security-policy"]
    assert "default-src 'self'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe-eval" not in policy
    assert "script-src 'self';" in policy
    assert "http" not in policy


def websocket(desk: DeskOnAir, cookie: str | None, origin: str | None, host: str | None = None) -> Any:
    headers = ({"cookie": cookie} if cookie else {}) | ({"host": host} if host else {})
    return connect(desk.origin.replace("http", "ws") + "/api/live", additional_headers=headers, origin=origin)


def cookie_of(client: httpx.Client) -> str:
    return "; ".join(f"{c.name}={c.value}" for c in client.cookies.jar)


def test_the_websocket_needs_cookie_origin_and_host(desk: DeskOnAir, inside: httpx.Client) -> None:
    good = cookie_of(inside)
    name = good.partition("=")[0]
    ours = desk.origin
    tries = [(None, ours), (f"{name}=x", ours), (good, None), (good, "http://evil.example"), (good, "null")]
    for cookie, origin in tries:
        with pytest.raises((InvalidStatus, WebSocketException)):
            websocket(desk, cookie, origin)
    with pytest.raises((InvalidStatus, WebSocketException)):
        websocket(desk, good, ours, "evil.example")
    with websocket(desk, good, ours) as let_in:
        let_in.send(json.dumps({"seq": 1, "shot": "both", "edits": []}))
        assert json.loads(let_in.recv())["focus"]["id"] == "both"


@pytest.mark.parametrize(
    "path",
    [
        "/../shoot.toml", "/assets/../../../desk.py", "/..%2fshoot.toml", "/%2e%2e/%2e%2e/shoot.toml",
        "/%2e%2e%5cshoot.toml", "/assets/%2e%2e/index.html", "//etc/passwd", "/etc/passwd", "/%00",
        "/index.html%00.js", "/assets/..;/index.html", "/api/pictures/..%2f..%2f..%2fshoot.toml/image.png",
        "/api/pictures/%2e%2e/image.png", "/api/pictures/../image.png", "/api/pictures/x/..%2fentry.json",
        "/api/../shoot.toml", "/shoot.toml", "/takes.json", "/desk.py", "/page/index.html", "/./index.html",
        "/assets//", "/%c0%ae%c0%ae/shoot.toml", "/\\..\\shoot.toml",
    ],
)  # fmt: skip
def test_no_path_leaves_the_page_or_the_folder(desk: DeskOnAir, inside: httpx.Client, path: str) -> None:
    """Sent as it stands: no client tidies it up on the way."""
    host = desk.origin.removeprefix("http://")
    said = raw(
        desk, f"GET {path} HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie_of(inside)}\r\nConnection: close\r\n\r\n"
    )
    status = int(said.split(" ")[1])
    assert status in (400, 404, 422), said[:200]
    assert "sidelong = 1" not in said
    assert "root:" not in said


def test_pages_of_the_api_are_not_there(inside: httpx.Client) -> None:
    for path in ("/docs", "/redoc", "/openapi.json"):
        assert inside.get(path).status_code == 404


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", ""])
def test_a_form_of_another_site_could_not_be_taken_for_an_edit(inside: httpx.Client, kind: str) -> None:
    answer = inside.post("/api/edits", content=json.dumps(EDIT), headers={"content-type": kind})
    assert answer.status_code == 415


def test_a_body_too_long_is_refused_at_once(desk: DeskOnAir, inside: httpx.Client) -> None:
    answer = inside.post("/api/edits", content=b" " * 1_000_001, headers={"content-type": "application/json"})
    assert answer.status_code == 413
    host = desk.origin.removeprefix("http://")
    head = f"POST /api/edits HTTP/1.1\r\nHost: {host}\r\nOrigin: {desk.origin}\r\nCookie: {cookie_of(inside)}\r\n"
    for length in ("99999999999", "-1", "1e9", "0x10"):
        said = raw(desk, head + f"Content-Type: application/json\r\nContent-Length: {length}\r\n\r\n")
        assert said.split(" ")[1] in ("400", "413")


def test_a_file_may_be_longer_and_no_longer_than_a_mesh(desk: DeskOnAir, inside: httpx.Client) -> None:
    host = desk.origin.removeprefix("http://")
    head = f"HTTP/1.1\r\nHost: {host}\r\nOrigin: {desk.origin}\r\nCookie: {cookie_of(inside)}\r\n"
    head += "Content-Type: application/octet-stream\r\n"
    for path, length in (("files?name=a.obj", 64_000_001), ("edits", 1_000_001)):
        said = raw(desk, f"POST /api/{path} {head}Content-Length: {length}\r\n\r\n")
        assert said.split(" ")[1] == "413"
    answer = inside.post("/api/files?name=a.obj", content=b"x" * 1_000_001, headers={"content-type": "text/plain"})
    assert answer.status_code == 415


def test_an_endless_body_in_pieces_is_refused(inside: httpx.Client) -> None:
    def pieces() -> Any:
        for _ in range(40):
            yield b"[" * 65536

    answer = inside.post("/api/edits", content=pieces(), headers={"content-type": "application/json"})
    assert answer.status_code == 413


def test_a_body_that_never_comes_is_given_up(desk: DeskOnAir, inside: httpx.Client) -> None:
    """And nobody else waits for it meanwhile."""
    host = desk.origin.removeprefix("http://")
    head = f"POST /api/edits HTTP/1.1\r\nHost: {host}\r\nOrigin: {desk.origin}\r\nCookie: {cookie_of(inside)}\r\n"
    with socket.create_connection(("127.0.0.1", int(host.rpartition(":")[2])), timeout=20) as slow:
        slow.sendall((head + "Content-Type: application/json\r\nContent-Length: 1000\r\n\r\n{").encode())
        begun = time.monotonic()
        assert inside.get("/api/me").status_code == 200
        assert time.monotonic() - begun < 4.0
        said = slow.recv(4096).decode("latin-1")
    assert said.split(" ")[1] == "408"
    assert 5.0 < time.monotonic() - begun < 60.0


@pytest.mark.parametrize(
    "body",
    [b"", b"{", b"[]", b"null", b"7", b'"x"', b"\xff\xfe", b"NaN", b'{"base":1e999,"edits":[]}', b"[" * 100_000,
     b'{"base":1,"edits":[{"op":"set","path":["title"],"value":' + b"[" * 5000 + b"]" * 5000 + b"}]}",
     b'{"base":1,"edits":[{"op":"set","path":["title"],"value":NaN}]}', b'{"base":-1,"edits":[]}',
     b'{"base":1,"edits":[{"op":"eval","path":["title"],"value":1}]}', b'{"base":true,"edits":[]}',
     b'{"base":1,"edits":[{"op":"set","path":[],"value":1}]}', b'{"base":1,"label":"x","edits":[],"more":1}',
     b'{"base":1,"edits":[{"op":"set","path":["title"],"value":"\\ud800"}]}',
     b'{"base":1,"edits":[{"op":"set","path":["title"],"value":123456789012345678901234567890}]}',
     b'{"base":1,"edits":[{"op":"set","path":["title"],"value":' + b"9" * 5000 + b"}]}"],
    ids=lambda body: body[:24].decode("latin-1") + str(len(body)),
)  # fmt: skip
def test_bad_json_is_refused_in_words(desk: DeskOnAir, inside: httpx.Client, body: bytes) -> None:
    before = desk.file.read_bytes()
    answer = inside.post("/api/edits", content=body, headers={"content-type": "application/json"})
    assert 400 <= answer.status_code < 500
    assert answer.json()["error"]["words"]
    assert "Traceback" not in answer.text
    assert desk.file.read_bytes() == before


def test_a_mesh_may_not_be_fetched_from_outside_the_folder(desk: DeskOnAir, inside: httpx.Client) -> None:
    revision = inside.get("/api/shoot").json()["revision"]
    for file in ("../secret.obj", "/etc/passwd", "C:\\secret.obj", "out/../../secret.obj"):
        edit = {"op": "add", "path": ["place", "meshes"], "value": {"file": file}}
        answer = inside.post("/api/edits", json={"base": revision, "edits": [edit]})
        assert answer.status_code == 422, file
        assert answer.json()["error"]["faults"]
    assert "secret" not in desk.file.read_text()


def raw(desk: DeskOnAir, text: str) -> str:
    """What comes back for a request sent as it stands."""
    port = int(desk.origin.rpartition(":")[2])
    with socket.create_connection(("127.0.0.1", port), timeout=10) as line:
        line.sendall(text.encode("latin-1"))
        line.settimeout(3)
        said = b""
        try:
            while part := line.recv(65536):
                said += part
        except TimeoutError:
            pass
    return said.decode("latin-1")


def test_it_listens_on_this_machine_alone(desk: DeskOnAir) -> None:
    port = int(desk.origin.rpartition(":")[2])
    own = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
    for address in own - {"127.0.0.1"}:
        if not address.startswith("127."):
            with pytest.raises(ConnectionRefusedError):
                socket.create_connection((str(address), port), timeout=2).close()

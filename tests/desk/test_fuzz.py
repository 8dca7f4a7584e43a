"""Every route asked with what its own description allows, and what it does not: answered, or refused in words."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import httpx
import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis.generation import GenerationMode
from websockets.sync.client import connect

from desk_on_air import DeskOnAir
from source_tree import ROOT

SCHEMA = json.loads((ROOT / "web" / "src" / "api" / "schema.json").read_text(encoding="utf-8"))
DESCRIBED = schemathesis.openapi.from_dict(SCHEMA)
STREAMS, LONG = {"/api/events"}, {"/api/scene-shade.bin"}
"""What never ends, and what takes a process and some seconds: tried by tests of their own."""
KINDS = {"/api/files": "application/octet-stream"}
"""Of a body, where it is no message."""
OPERATIONS = [found.ok() for found in DESCRIBED.get_all_operations() if found.ok().path not in STREAMS | LONG]
LIMITS = settings(
    max_examples=12,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large],
)


def check(answer: httpx.Response) -> None:
    assert answer.status_code < 500, answer.text[:500]
    assert "Traceback" not in answer.text
    if answer.status_code >= 400 and answer.content and answer.status_code != 409:
        assert answer.json()["error"]["words"]


@pytest.mark.parametrize("mode", list(GenerationMode), ids=lambda mode: str(mode.value))
@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda op: f"{op.method.upper()} {op.path}")
def test_no_request_makes_a_route_fail(inside: httpx.Client, operation: Any, mode: GenerationMode) -> None:
    @LIMITS
    @given(data=st.data())
    def ask(data: st.DataObject) -> None:
        case = data.draw(operation.as_strategy(generation_mode=mode))
        asked = case.as_transport_kwargs(base_url=str(inside.base_url))
        url = asked["url"]
        body = asked.get("json", asked.get("data"))
        text = body if isinstance(body, (bytes, str)) else json.dumps(body)
        try:
            request = inside.build_request(
                operation.method.upper(),
                url,
                params=asked.get("params"),
                content=text if body is not None else None,
                headers={"content-type": KINDS.get(operation.path, "application/json")} if body is not None else {},
            )
        except (httpx.InvalidURL, UnicodeEncodeError, ValueError, TypeError):
            return
        check(inside.send(request))

    try:
        ask()
    except Exception as error:
        if type(error).__name__ in ("Unsatisfiable", "SkipTest", "Skipped"):
            pytest.skip("nothing of this kind can be asked")
        raise


STEPS = st.one_of(
    st.sampled_from(["title", "place", "people", "marks", "kit", "shots", "rooms", "at", "name", "lights", "camera"]),
    st.integers(0, 3),
    st.sampled_from([{"is": "Ada"}, {"is": "both"}, {"is": "walk"}]),
)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**70), 2**70) | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=6,
)  # fmt: skip
PATHS = st.lists(STEPS, min_size=1, max_size=5)


def edit_of(op: str, **more: Any) -> Any:
    return st.fixed_dictionaries({"op": st.just(op), "path": PATHS, **more})


EDIT = st.one_of(
    edit_of("set", value=VALUES),
    edit_of("add", value=VALUES),
    edit_of("remove"),
    edit_of("move", to=st.integers(0, 4)),
    edit_of("rename", value=st.text(min_size=1, max_size=9)),
)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(edits=st.lists(EDIT, min_size=1, max_size=3), allow=st.booleans())
def test_any_edits_of_the_newest_version(
    desk: DeskOnAir, inside: httpx.Client, edits: list[Any], allow: bool
) -> None:
    """Saved whole or refused whole; the file can be read after each, and everything saved can be taken back."""
    state = inside.get("/api/shoot").json()
    text = desk.file.read_text(encoding="utf-8")
    body = json.dumps({"base": state["revision"], "edits": edits, "allow_faults": allow})
    answer = inside.post("/api/edits", content=body, headers={"content-type": "application/json"})
    check(answer)
    if answer.status_code != 200:
        assert desk.file.read_text(encoding="utf-8") == text
        return
    done = answer.json()
    after = inside.get("/api/shoot").json()
    assert after["revision"] == done["revision"]
    for path in ("focus", "card", "light", "scene-light"):
        check(inside.get(f"/api/shots/both/{path}"))
    if done["inverse"]:
        back = {"base": done["revision"], "edits": done["inverse"], "allow_faults": True}
        taken = inside.post("/api/edits", json=back)
        assert taken.status_code == 200, taken.text
        assert desk.file.read_text(encoding="utf-8") == text


@pytest.fixture(scope="module")
def line(desk: DeskOnAir, inside: httpx.Client) -> Iterator[Any]:
    cookie = "; ".join(f"{c.name}={c.value}" for c in inside.cookies.jar)
    address = desk.origin.replace("http", "ws") + "/api/live"
    with connect(address, additional_headers={"cookie": cookie}, origin=desk.origin) as opened:  # type: ignore[arg-type]
        yield opened


@settings(max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(edits=st.lists(EDIT, max_size=3), shot=st.sampled_from(["both", "none", ""]))
def test_any_drag(line: Any, edits: list[Any], shot: str) -> None:
    line.send(json.dumps({"seq": 3, "shot": shot, "edits": edits}))
    answer = json.loads(line.recv(timeout=30))
    assert answer["focus"] or answer["fault"] or answer["impossible"]
    assert "ours" not in (answer["fault"] or "")

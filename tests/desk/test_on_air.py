"""A running desk: edits survive a kill, hands in the file are seen, pages see each other, drags are answered with the
figures of the optics."""

from __future__ import annotations

import json
import signal
import threading
import time
import tomllib
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Any

import httpx
import pytest
from websockets.sync.client import ClientConnection, connect

from desk_on_air import SMALL, DeskOnAir, begin, desk_on_air
from sidelong.cli import main
from sidelong.plan.focus import plan_focus
from sidelong.shoot.check import load


def put(path: list[Any], value: Any) -> dict[str, Any]:
    return {"op": "set", "path": path, "value": value}


def save(client: httpx.Client, *edits: dict[str, Any], base: int | None = None) -> httpx.Response:
    base = client.get("/api/shoot").json()["revision"] if base is None else base
    return client.post("/api/edits", json={"base": base, "label": "", "edits": list(edits)})


@contextmanager
def dragging(desk: DeskOnAir, client: httpx.Client) -> Iterator[ClientConnection]:
    cookie = "; ".join(f"{c.name}={c.value}" for c in client.cookies.jar)
    address = desk.origin.replace("http", "ws") + "/api/live"
    with connect(address, additional_headers={"cookie": cookie}, origin=desk.origin) as socket:  # type: ignore[arg-type]
        yield socket


def drag(socket: ClientConnection, seq: int, *edits: dict[str, Any], shot: str = "both") -> dict[str, Any]:
    socket.send(json.dumps({"seq": seq, "shot": shot, "edits": list(edits)}))
    answer: dict[str, Any] = json.loads(socket.recv(timeout=30))
    return answer


def events_of(client: httpx.Client, found: list[dict[str, Any]], until: threading.Event) -> threading.Thread:
    """A thread that gathers the events that a page gets."""
    ready = threading.Event()

    def listen() -> None:
        # a page that goes may be cut off while it listens
        with suppress(httpx.TransportError), client.stream("GET", "/api/events", timeout=60) as answer:
            for line in answer.iter_lines():
                ready.set()
                if line.startswith("data: "):
                    found.append(json.loads(line[6:]))
                if until.is_set():
                    return

    thread = threading.Thread(target=listen, daemon=True)
    thread.start()
    assert ready.wait(20)
    return thread


def wait_for(what: Any, seconds: float = 10.0) -> None:
    end = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < end, "it did not come"
        time.sleep(0.02)


def test_a_killed_desk_has_lost_no_edit_that_it_acknowledged(folder: Path) -> None:
    """Killed at a moment of its own choosing while edits go on, three times over."""
    answered = -1
    for round_ in range(3):
        desk = begin(folder, SMALL if round_ == 0 else None)
        with closing(desk.browser()) as client:
            revision = client.get("/api/shoot").json()["revision"]
            killer = threading.Timer(0.31 + 0.13 * round_, desk.kill)
            killer.start()
            try:
                for step in range(answered + 1, 10_000):
                    answer = save(client, put(["place", "elevation"], step), base=revision)
                    assert answer.status_code == 200
                    revision, answered = answer.json()["revision"], step
            except httpx.TransportError:
                pass
            killer.join()
        for stream in (desk.process.stdout, desk.process.stderr):
            assert stream is not None
            stream.close()
        there = tomllib.loads((folder / "shoot.toml").read_text(encoding="utf-8"))
        # the one on its way may be in the file too: whole, but not yet answered
        assert there["place"].pop("elevation") in (answered, answered + 1)
        assert there == tomllib.loads(SMALL)
        assert "# carries the strands" in (folder / "shoot.toml").read_text(encoding="utf-8")
    assert answered > 5
    with desk_on_air(folder, None) as again, closing(again.browser()) as client:
        assert client.get("/api/shoot").json()["faults"] == []


def test_two_pages_see_each_other_and_the_editor(folder: Path) -> None:
    with desk_on_air(folder) as desk, closing(desk.browser()) as one, closing(desk.browser()) as other:
        found: list[dict[str, Any]] = []
        done = threading.Event()
        events_of(other, found, done)
        begun = time.monotonic()
        assert save(one, put(["title"], "From one")).json()["revision"] == 2
        wait_for(lambda: {"kind": "shoot", "revision": 2} in found)
        assert time.monotonic() - begun < 5.0
        assert other.get("/api/shoot").json()["file"]["title"] == "From one"
        by_hand = desk.file.read_text().replace("From one", "By hand")
        desk.file.write_text(by_hand)
        wait_for(lambda: {"kind": "shoot", "revision": 3} in found)
        assert one.get("/api/shoot").json()["file"]["title"] == "By hand"
        # one has not looked: another path is merged, the same is told
        assert save(one, put(["client"], "A guild"), base=2).status_code == 200
        clash = save(one, put(["title"], "From one again"), base=2)
        assert clash.status_code == 409
        assert clash.json()["conflicts"] == [{"path": ["title"], "theirs": "By hand", "yours": "From one again"}]
        assert "By hand" in desk.file.read_text()
        done.set()
        save(one, put(["title"], "Last"))


def test_a_file_half_written_by_an_editor_is_told_and_drawn_from_before(folder: Path) -> None:
    with desk_on_air(folder) as desk, closing(desk.browser()) as client:
        drawn = client.get("/api/shoot").json()["drawn"]
        desk.file.write_text(SMALL[: len(SMALL) // 2] + "\n[[")
        state = client.get("/api/shoot").json()
        assert state["faults"][0]["line"] > 1
        assert state["stale"]
        assert state["drawn"] == drawn
        assert save(client, put(["title"], "x")).status_code == 422
        assert client.get("/api/shots/both/focus").status_code == 200
        desk.file.write_text(SMALL)
        state = client.get("/api/shoot").json()
        assert not state["faults"]
        assert not state["stale"]


def test_a_drag_is_answered_with_the_figures_of_the_plan(
    desk: DeskOnAir, inside: httpx.Client, tmp_path: Path
) -> None:
    before = desk.file.read_bytes()
    with dragging(desk, inside) as socket:
        moved = put(["people", {"is": "Ada"}, "at"], [3.25, 2.75])
        swung = put(["shots", {"is": "both"}, "movement", "swing"], -4.5)
        answer = drag(socket, 7, moved, swung)
    assert desk.file.read_bytes() == before
    assert (answer["seq"], answer["shot"], answer["fault"], answer["impossible"]) == (7, "both", None, None)
    (tmp_path / "shoot.toml").write_text(
        SMALL.replace("at = [3.00, 2.40]", "at = [3.25, 2.75]").replace("swing = 3", "swing = -4.5")
    )
    shoot = load(tmp_path)
    planned = plan_focus(shoot, shoot.shots[0])
    focus = answer["focus"]
    assert focus["lens"]["film_distance_mm"] == pytest.approx(planned.film_distance * 1e3, rel=1e-12)
    assert focus["plane"]["normal"] == pytest.approx(list(planned.plane_normal), abs=1e-12)
    for told, point in zip(focus["points"], planned.points, strict=True):
        assert told["name"] == point.name
        assert told["blur_major_um"] == pytest.approx((point.blur_major or 0) * 1e6, rel=1e-9)
    assert next(p["at"] for p in answer["people"] if p["name"] == "Ada") == [3.25, 2.75, 0.0]


def test_a_drag_of_a_shot_whose_movement_is_found(desk: DeskOnAir, inside: httpx.Client) -> None:
    with dragging(desk, inside) as socket:
        answer = drag(socket, 1, put(["shots", 0, "movement"], None), put(["shots", 0, "sharp"], ["Ada", "Bo"]),
                      put(["shots", 0, "soft"], []))  # fmt: skip
    assert answer["focus"]["solved"]
    limit = answer["focus"]["blur_limit_um"]
    sharp = [p["blur_major_um"] for p in answer["focus"]["points"] if p["wanted"] == "sharp"]
    assert len(sharp) == 2
    assert max(sharp) <= limit


def test_what_stands_in_a_drag_s_way_is_told(desk: DeskOnAir, inside: httpx.Client) -> None:
    with dragging(desk, inside) as socket:
        told = drag(socket, 1, put(["people", {"is": "Ada"}, "height"], 9))
        assert "height of a person" in told["fault"]
        told = drag(socket, 2, put(["shots", 0, "movement", "swing"], 45))
        assert "8" in told["impossible"]["words"]
        told = drag(socket, 3, put(["shots", 0, "camera", "aim"], [0.6, 1.0, 9]))
        assert told["fault"]
        told = drag(socket, 4, put(["people", {"is": "Nobody"}, "at"], [1, 1]))
        assert "Nobody" in told["fault"]
        told = drag(socket, 5, shot="none such")
        assert "none such" in told["fault"]
        for text in ("", "{", "[]", "7", '{"seq": 1}', '{"seq": -1, "shot": "both", "edits": []}', "[" * 90_000):
            socket.send(text)
            assert json.loads(socket.recv(timeout=30))["fault"]
        assert drag(socket, 6)["focus"]


def test_only_the_newest_of_many_drags_is_answered(desk: DeskOnAir, inside: httpx.Client) -> None:
    with dragging(desk, inside) as socket:
        drag(socket, 0)
        for seq in range(1, 201):
            edit = put(["people", {"is": "Ada"}, "at"], [3 + seq / 1000, 2.4])
            socket.send(json.dumps({"seq": seq, "shot": "both", "edits": [edit]}))
        answers = []
        while not answers or answers[-1]["seq"] < 200:
            answers.append(json.loads(socket.recv(timeout=30)))
        assert len(answers) < 150
        assert [a["seq"] for a in answers] == sorted({a["seq"] for a in answers})


def test_the_answers_have_the_shape_that_the_schema_promises(desk: DeskOnAir, inside: httpx.Client) -> None:
    from sidelong.desk.messages import ShootState
    from sidelong.desk.messages_shot import Card, Day, FocusAnswer, LiveAnswer, Sun

    assert ShootState.model_validate(inside.get("/api/shoot").json()).drawn
    assert FocusAnswer.model_validate(inside.get("/api/shots/both/focus").json()).cuts.eyes.zone
    assert Card.model_validate(inside.get("/api/shots/both/card").json()).settings
    assert len(Day.model_validate(inside.get("/api/day", params={"date": "2026-05-12"}).json()).path) == 289
    assert Sun.model_validate(inside.get("/api/sun", params={"when": "2026-05-12T09:30"}).json()).patches
    with dragging(desk, inside) as socket:
        assert LiveAnswer.model_validate(drag(socket, 1)).focus


def test_a_shot_that_cannot_be_had_names_ways_out(folder: Path) -> None:
    with desk_on_air(folder) as desk, closing(desk.browser()) as client:
        asked = {"base": 1, "edits": [put(["shots", 0, "movement", "swing"], 45)]}
        refused = client.post("/api/edits", json=asked)
        assert refused.status_code == 422
        assert refused.json()["error"]["faults"][0]["path"] == ["shots", 0, "movement", "swing"]
        assert client.post("/api/edits", json={**asked, "allow_faults": True}).status_code == 200
        state = client.get("/api/shoot").json()
        assert state["faults"]
        assert not state["stale"]
        answer = client.get("/api/shots/both/focus")
        assert answer.status_code == 422
        assert answer.json()["error"]["ways_out"]
        assert client.get("/api/shots/both/card").json()["impossible"]["words"]


def test_takes_are_noted_and_kept(desk: DeskOnAir, inside: httpx.Client) -> None:
    noted = inside.post("/api/takes", json={"shot": "both", "number": 1, "kept": False, "note": "blinked"})
    assert noted.status_code == 200
    assert inside.post("/api/takes", json={"shot": "both", "number": 1, "kept": True}).json()["kept"]
    assert [t["number"] for t in inside.get("/api/takes").json()] == [1]
    assert json.loads((desk.folder / "takes.json").read_text())[0]["kept"] is True
    assert inside.post("/api/takes", json={"shot": "none", "number": 1, "kept": True}).status_code == 422


def test_it_closes_when_asked(folder: Path) -> None:
    desk = begin(folder, SMALL)
    with closing(desk.browser()) as client:
        found: list[dict[str, Any]] = []
        events_of(client, found, threading.Event())
        with dragging(desk, client) as socket:
            drag(socket, 1)
            desk.process.send_signal(signal.SIGTERM)
            assert desk.process.wait(15) == 0
    assert desk.process.stderr is not None
    assert "Traceback" not in desk.process.stderr.read()
    for stream in (desk.process.stdout, desk.process.stderr):
        assert stream is not None
        stream.close()


def test_a_folder_without_a_shoot_is_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder.mkdir()
    assert main(["desk", str(folder), "--no-browser"]) == 2
    assert "sidelong new" in capsys.readouterr().err


@pytest.mark.parametrize("text", ["sidelong = 1\n[[", "sidelong = 1\nnonsense = 3\n", "sidelong = 99\n"])
def test_a_shoot_at_fault_from_the_start_can_be_mended(folder: Path, text: str) -> None:
    with desk_on_air(folder, text) as desk, closing(desk.browser()) as client:
        state = client.get("/api/shoot").json()
        assert state["faults"]
        assert state["drawn"] is None
        for path in ("shots/both/focus", "shots/both/light", "shots/both/card", "scene.glb", "day?date=2026-01-01"):
            assert client.get(f"/api/{path}").status_code == 422
        with dragging(desk, client) as socket:
            assert drag(socket, 1)["fault"]
        desk.file.write_text(SMALL)
        assert client.get("/api/shoot").json()["drawn"]["title"] == "The ropewalk"


def test_an_empty_shoot_grows_by_edits_alone(folder: Path) -> None:
    """From the first line to the small shoot: the same tables as the file written by hand."""
    wanted = tomllib.loads(SMALL)
    with desk_on_air(folder, "sidelong = 1\n") as desk, closing(desk.browser()) as client:
        for key in ("title", "place", "people", "marks", "kit", "shots"):
            value = json.loads(json.dumps(wanted[key], default=lambda when: when.isoformat()))
            for edit in [put([key], value)] if key != "people" else [
                {"op": "add", "path": [key], "value": person} for person in value
            ]:  # fmt: skip
                answer = save(client, edit)
                assert answer.status_code == 200, answer.text
        assert tomllib.loads(desk.file.read_text()) == wanted
        assert client.get("/api/shoot").json()["faults"] == []
        assert "[[people]]" in desk.file.read_text()

"""Light and pictures in processes of their own: told as they go, cancelled within a second, gone with the desk."""

from __future__ import annotations

import io
import os
import time
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

import httpx
import pytest
from PIL import Image

from desk_on_air import DeskOnAir, desk_on_air
from sidelong.plan.day_of_suns import hours_of_shot
from sidelong.plan.light_answer import light_answer
from sidelong.plan.predict import plan_shot
from sidelong.shoot.check import load
from sidelong.trace.engine import available

pytestmark = pytest.mark.skipif(bool(available()), reason=available())


def wait_for(look: Callable[[], Any], seconds: float = 90.0) -> Any:
    end = time.monotonic() + seconds
    while not (found := look()):
        assert time.monotonic() < end, "it did not come"
        time.sleep(0.1)
    return found


def children_of(pid: int) -> list[int]:
    """Processes begun by a process, by what the system tells."""
    found = []
    for entry in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError, ValueError):
            if int(entry.read_text().rpartition(")")[2].split()[1]) == pid:
                found.append(int(entry.parent.name))
    return found


def alive(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"


needs_proc = pytest.mark.skipif(not os.path.isdir("/proc/self"), reason="this system does not list processes there")


def ready(client: httpx.Client) -> Any:
    answer = client.get("/api/shots/both/light").json()
    assert answer["state"] != "failed", answer["words"]
    return answer if answer["state"] == "ready" else None


@pytest.mark.slow
def test_the_light_is_the_plan_s_and_kept_by_what_it_rests_on(desk: DeskOnAir, inside: httpx.Client) -> None:
    first = inside.get("/api/shots/both/light").json()
    assert (first["state"], first["table"]) == ("none", None), "metered unasked"
    assert inside.post("/api/shots/both/light").json()["state"] == "metering"
    begun = 0.03  # the focus is planned; what follows is told by the light paths themselves
    wait_for(lambda: inside.get("/api/shots/both/light").json()["fraction"] > begun)
    table = wait_for(lambda: ready(inside))["table"]
    shoot = load(desk.folder)
    plan = plan_shot(shoot, shoot.shots[0])
    wanted = light_answer(plan.shot, plan.focus, plan.light)
    assert table["strobes"][0]["power"] == wanted["strobes"][0]["power"]
    for told, point in zip(table["points"], wanted["points"], strict=True):
        assert told["total_stops"] == pytest.approx(point["total_stops"], abs=1e-6)
    # a title changes no light; a place does
    revision = inside.get("/api/shoot").json()["revision"]
    edit = {"op": "set", "path": ["brief"], "value": "other words"}
    revision = inside.post("/api/edits", json={"base": revision, "edits": [edit]}).json()["revision"]
    assert inside.get("/api/shots/both/light").json()["state"] == "ready"
    edit = {"op": "set", "path": ["people", {"is": "Bo"}, "at"], "value": [5.6, 3.1]}
    inside.post("/api/edits", json={"base": revision, "edits": [edit]})
    again = inside.get("/api/shots/both/light").json()
    assert (again["state"], again["of_now"]) == ("none", False), "metered unasked"
    assert again["table"] == table, "what was known before the edit is kept in sight"
    assert again["stage_key"] != first["stage_key"]
    assert inside.get("/api/shots/both/card").json()["heads"] == [], "no setting on the card that may be wrong"
    inside.post("/api/shots/both/light")
    assert wait_for(lambda: ready(inside))["of_now"]
    heads = inside.get("/api/shots/both/card").json()["heads"]
    assert [head["name"] for head in heads] == ["key"]


@pytest.mark.slow
def test_metering_is_stopped_and_begun_again(folder: Path) -> None:
    address = "/api/shots/both/light"
    with desk_on_air(folder) as desk, closing(desk.browser()) as client:
        begun = client.post(address).json()
        assert client.post(address).json()["state"] == "metering", "asked twice, metered once"
        wait_for(lambda: client.get(address).json()["fraction"] > 0)
        stopped = client.delete(address).json()
        assert (stopped["state"], stopped["table"], stopped["stage_key"]) == ("none", None, begun["stage_key"])
        assert client.delete(address).json()["state"] == "none"
        # stopped before it could begin, then asked for again
        client.post(address)
        client.delete(address)
        client.post(address)
        assert wait_for(lambda: ready(client))["of_now"]


@pytest.mark.slow
def test_a_shot_through_the_day_is_one_sheet(desk: DeskOnAir, inside: httpx.Client) -> None:
    asked = inside.post("/api/pictures", json={"shot": "both", "quality": "day"}).json()

    def strip() -> Any:
        (found,) = [e for e in inside.get("/api/pictures").json() if e["id"] == asked["id"]]
        return found if found["state"] in ("done", "failed") else None

    done = wait_for(strip)
    assert done["state"] == "done", done["words"]
    shoot = load(desk.folder)
    whens = hours_of_shot(shoot.place, shoot.shots[0])
    assert done["settings"]["When"].endswith(f"{whens[0]:%H:%M} to {whens[-1]:%H:%M}, {len(whens)} frames")
    sheet = Image.open(io.BytesIO(inside.get(f"/api/pictures/{asked['id']}/image.png").content))
    assert sheet.size == (done["width"], done["height"])
    assert inside.get(f"/api/pictures/{asked['id']}/layers.json").status_code == 422
    inside.delete(f"/api/pictures/{asked['id']}")


@pytest.mark.slow
def test_a_picture_is_traced_seen_cancelled_kept(desk: DeskOnAir, inside: httpx.Client) -> None:
    def entry(id_: str) -> dict[str, Any]:
        found: dict[str, Any] = next(e for e in inside.get("/api/pictures").json() if e["id"] == id_)
        return found

    draft = inside.post("/api/pictures", json={"shot": "both", "quality": "draft"}).json()
    fine = inside.post("/api/pictures", json={"shot": "both", "quality": "fine"}).json()
    waits = inside.post("/api/pictures", json={"shot": "both", "quality": "fine"}).json()
    done = wait_for(lambda: e if (e := entry(draft["id"]))["state"] in ("done", "failed") else None)
    assert done["state"] == "done", done["words"]
    assert done["width"] == 480
    assert done["settings"]["Stop"] == "f/4"
    image = inside.get(f"/api/pictures/{draft['id']}/image.png")
    assert image.content.startswith(b"\x89PNG")
    layers = inside.get(f"/api/pictures/{draft['id']}/layers.json").json()
    values = inside.get(f"/api/pictures/{draft['id']}/layers.bin").content
    assert len(values) == len(layers["names"]) * layers["width"] * layers["height"] * 3 * 2
    # the one that waits goes at once, the one that is traced within a second
    assert waits["id"] not in [e["id"] for e in inside.request("DELETE", f"/api/pictures/{waits['id']}").json()]
    wait_for(lambda: entry(fine["id"])["state"] == "tracing")
    begun = time.monotonic()
    inside.request("DELETE", f"/api/pictures/{fine['id']}")
    wait_for(lambda: entry(fine["id"])["state"] == "cancelled", 5)
    assert time.monotonic() - begun < 4.0
    inside.request("DELETE", f"/api/pictures/{fine['id']}")
    assert [e["id"] for e in inside.get("/api/pictures").json()] == [draft["id"]]
    kept = sorted(p.name for p in (desk.folder / "out" / "desk").iterdir())
    assert kept == [draft["id"]]


@needs_proc
def test_nothing_is_left_running_when_the_desk_is_killed(folder: Path) -> None:
    with desk_on_air(folder) as desk, closing(desk.browser()) as client:
        client.post("/api/shots/both/light")
        worker = wait_for(lambda: children_of(desk.process.pid), 20)[0]
        assert alive(worker)
        desk.kill()
        wait_for(lambda: not alive(worker), 10)


@needs_proc
def test_the_server_itself_never_loads_the_renderer(folder: Path) -> None:
    with desk_on_air(folder) as desk, closing(desk.browser()) as client:
        for path in (
            "shoot",
            "scene.glb",
            "shots/both/focus",
            "shots/both/card",
            "shots/both/scene-light",
            "pictures",
        ):
            assert client.get(f"/api/{path}").status_code == 200
        client.get("/api/day", params={"date": "2026-05-12"})
        maps = Path(f"/proc/{desk.process.pid}/maps").read_text()
        assert "mitsuba" not in maps
        assert "drjit" not in maps


def test_what_was_under_way_is_not_taken_for_done(folder: Path) -> None:
    """A folder that a killed desk left, and one that nobody made here, are passed over."""
    left = folder / "out" / "desk" / "20260101-000000-1-both"
    left.mkdir(parents=True)
    (left / "entry.json").write_text("{}")
    odd = folder / "out" / "desk" / "Odd Name"
    odd.mkdir()
    (odd / "entry.json").symlink_to("/etc/passwd")
    with desk_on_air(folder) as desk, closing(desk.browser()) as client:
        assert client.get("/api/pictures").json() == []
        assert client.get("/api/pictures/20260101-000000-1-both/image.png").status_code == 422


def test_takes_do_not_follow_a_link_out_of_the_folder(folder: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere.json"
    elsewhere.write_text("[]")
    folder.mkdir()
    (folder / "takes.json").symlink_to(elsewhere)
    with desk_on_air(folder) as desk, closing(desk.browser()) as client:
        assert client.get("/api/takes").status_code == 422
        assert client.post("/api/takes", json={"shot": "both", "number": 1, "kept": True}).status_code == 422
    assert elsewhere.read_text() == "[]"


def test_pictures_do_not_follow_a_link_out_of_the_folder(folder: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    folder.mkdir()
    (folder / "out").symlink_to(elsewhere)
    with desk_on_air(folder) as desk, closing(desk.browser()) as client:
        answer = client.post("/api/pictures", json={"shot": "both", "quality": "draft"})
        assert answer.status_code == 422
        assert "out of the shoot" in answer.json()["error"]["words"]
    assert not list(elsewhere.iterdir())

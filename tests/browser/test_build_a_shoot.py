"""The demo built from nothing by mouse and keyboard alone: the same file as the demo's."""

from __future__ import annotations

import json
import subprocess
import sys
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest

from at_the_desk import drag, grip, page_at, saved, until
from desk_on_air import DeskOnAir
from hand_at_the_desk import Hand, named
from source_tree import ROOT

FOLDER = ROOT / "demo" / "net-loft"
DEMO = tomllib.loads((FOLDER / "shoot.toml").read_text(encoding="utf-8"))
KIT = {
    "bodies": "Body", "lenses": "Lens", "strobes": "Head", "lamps": "Lamp", "modifiers": "Modifier", "gels": "Gel",
    "filters": "Filter", "power": "Power", "haze": "Haze",
}  # fmt: skip


@pytest.fixture(scope="module")
def desk_text() -> str | None:
    return None


@pytest.fixture(scope="module")
def desk_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("desk") / "built"
    subprocess.run([sys.executable, "-m", "sidelong", "new", str(folder)], check=True, capture_output=True)
    return folder


@pytest.mark.slow
def test_the_demo_is_built_from_nothing(browser: Any, desk: DeskOnAir) -> None:
    with page_at(browser, desk) as page:
        page.set_viewport_size({"width": 1100, "height": 760})
        page.wait_for_selector('[data-person="Rui"]')
        hand = Hand(page, desk)
        hand.press("Plan")  # without the elevation, which takes as long to paint
        empty(hand)
        shoot_and_place(hand)
        kit(hand)
        rooms(hand)
        things(hand, "Block", DEMO["place"]["blocks"][:1], ("place", "blocks"))
        there_and_back(hand)
        things(hand, "Block", DEMO["place"]["blocks"][1:], ("place", "blocks"))
        things(hand, "Person", DEMO["people"], ("people",))
        things(hand, "Mark", DEMO["marks"], ("marks",))
        for shot in DEMO["shots"]:
            make_shot(hand, shot)
        by_arrows(hand)
        built = hand.file()
    for key in {*DEMO, *built}:
        assert built.get(key) == DEMO.get(key), key
    assert checked(desk.folder) == checked(FOLDER)


def checked(folder: Path) -> Any:
    """What `sidelong check --json` says of a shoot, without where its lines stand."""
    said = subprocess.run(
        [sys.executable, "-m", "sidelong", "check", str(folder), "--json"], capture_output=True, text=True, check=True
    )
    return without(json.loads(said.stdout), {"line", "column", "shoot", "file", "folder"})


def without(value: Any, keys: set[str]) -> Any:
    if isinstance(value, list):
        return [without(item, keys) for item in value]
    if isinstance(value, dict):
        return {key: without(item, keys) for key, item in value.items() if key not in keys}
    return value


def empty(hand: Hand) -> None:
    """Take everything away that a new shoot begins with."""
    page = hand.page
    page.get_by_role("button", name="All keys").click()
    page.get_by_role("button", name="Remove potter").click()
    until(page, lambda: "shots" not in hand.file())
    for key in ("block:wheel bench", "person:Rui", "person:Inês", "opening:window", "room:workshop"):
        hand.remove(key)
    page.get_by_role("link", name="Kit").click()
    page.locator(".kit .what").first.wait_for()
    for piece in [piece for pieces in hand.file()["kit"].values() for piece in pieces]:
        page.locator(".kit .what", has=page.get_by_text(piece["id"], exact=True)).click()
        hand.press(f"Remove {piece['id']}")
        page.locator(".form").wait_for(state="detached")
    page.get_by_role("link", name="Plan").click()
    left = hand.file()
    assert not left.get("kit")
    assert not {"people", "marks", "shots"} & set(left)
    assert not {"rooms", "blocks"} & set(left["place"])


def shoot_and_place(hand: Hand) -> None:
    hand.press("Shoot and place")
    hand.become(hand.file(), DEMO)


def kit(hand: Hand) -> None:
    # power first, since heads say what feeds them
    for part, pieces in sorted(DEMO["kit"].items(), key=lambda one: one[0] != "power"):
        for piece in pieces:
            hand.add(KIT[part])
            made = hand.file()["kit"][part][-1]
            if made["id"] != piece["id"]:
                hand.call("id", piece["id"])
            hand.become({**made, "id": piece["id"]}, piece)


def rooms(hand: Hand) -> None:
    for k, room in enumerate(DEMO["place"]["rooms"]):
        hand.add("Room")
        made = hand.file()["place"]["rooms"][k]
        hand.call("name", room["name"])
        hand.become({**made, "name": room["name"]}, room)
        for opening in room.get("openings", []):
            hand.open(f"room:{room['name']}")
            hand.add("Opening")
            made = hand.file()["place"]["rooms"][k]["openings"][-1]
            hand.call("name", opening["name"])
            # where it is before the wall that it is in: it must fit there
            wanted = {key: opening[key] for key in sorted(opening, key=lambda key: key == "wall")}
            hand.become({**made, "name": opening["name"]}, wanted)


def things(hand: Hand, what: str, wanted: Sequence[Mapping[str, Any]], where: tuple[str, ...]) -> None:
    """Everything of one sort; what is like the one before is made from it."""
    last: Mapping[str, Any] = {}
    for one in wanted:
        alike = last and last.get("kind", what) == one.get("kind", what)
        hand.once_more() if alike else hand.add(what)
        tables: Any = hand.file()
        for step in where:
            tables = tables[step]
        made, last = tables[-1], one
        if made["name"] != one["name"]:
            hand.call("name", one["name"])
        hand.become({**made, "name": one["name"]}, one)


def make_shot(hand: Hand, shot: Mapping[str, Any]) -> None:
    hand.add("Shot")
    made = hand.file()["shots"][-1]
    hand.call("id", shot["id"])
    # the camera first, turned before it is moved: nobody behind it can be sharp
    camera = {key: shot["camera"][key] for key in sorted(shot["camera"])}
    wanted = {"camera": camera, **{key: value for key, value in shot.items() if key != "camera"}}
    hand.become({**made, "id": shot["id"]}, wanted)
    for light in shot.get("lights", []):
        hand.add("Light")
        made = named(hand.file()["shots"], shot["id"])["lights"][-1]
        if made["strobe"] != light["strobe"]:
            hand.call("strobe", light["strobe"])
        hand.become({**made, "strobe": light["strobe"]}, light)
        saved(hand.page)


def there_and_back(hand: Hand) -> None:
    """The bench dragged away and back on the sheet, whose grid is 5 cm."""
    hand.press("Close the form")
    for by in ((-0.5, -0.6), (0.5, 0.6)):
        x, y = hand.file()["place"]["blocks"][0]["at"]
        drag(hand.page, "block:bench", by)
        hand.page.wait_for_timeout(100)
        assert hand.file()["place"]["blocks"][0]["at"] == pytest.approx([x + by[0], y + by[1]], abs=1e-6)
    hand.page.keyboard.press("Escape")


def by_arrows(hand: Hand) -> None:
    """A mark moved by the keys, a centimetre at a time, and back."""
    page, before = hand.page, named(hand.file()["marks"], "Runa's hands")["at"]
    for key, way in (("ArrowRight", 0.03), ("ArrowLeft", 0.0)):
        grip(page, "mark:Runa's hands").focus()
        for _ in range(3):
            page.keyboard.press(key)
        page.wait_for_timeout(700)
        now = named(hand.file()["marks"], "Runa's hands")["at"]
        assert now == pytest.approx([before[0] + way, *before[1:]], abs=1e-6)

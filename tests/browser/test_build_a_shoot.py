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

from at_the_desk import drag, grip, saved, unmetered, until
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
    with unmetered(browser, desk) as page:
        page.set_viewport_size({"width": 1500, "height": 1000})
        page.wait_for_selector('[data-person="Rui"]')
        hand = Hand(page, desk)
        empty(hand)
        shoot_and_place(hand)
        kit(hand)
        rooms(hand)
        things(hand, "Block", DEMO["place"]["blocks"], ("place", "blocks"))
        things(hand, "Person", DEMO["people"], ("people",))
        things(hand, "Mark", DEMO["marks"], ("marks",))
        for shot in DEMO["shots"]:
            make_shot(hand, shot)
        by_hand(hand)
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
    while page.locator(".kit .what").count():
        page.locator(".kit .what").first.click()
        before = page.locator(".kit .what").count()
        page.locator(".form").get_by_role("button", name="Remove").click()
        until(page, lambda before=before: page.locator(".kit .what").count() < before)
    page.get_by_role("link", name="Plan").click()
    left = hand.file()
    assert not left.get("kit")
    assert not {"people", "marks", "shots"} & set(left)
    assert not {"rooms", "blocks"} & set(left["place"])


def shoot_and_place(hand: Hand) -> None:
    hand.press("Shoot and place")
    hand.become(hand.file(), DEMO)


def kit(hand: Hand) -> None:
    for part, pieces in DEMO["kit"].items():
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
            hand.become({**made, "name": opening["name"]}, opening)


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
    hand.become({**made, "id": shot["id"]}, shot)
    for light in shot.get("lights", []):
        hand.add("Light")
        hand.become(named(hand.file()["shots"], shot["id"])["lights"][-1], light)
        saved(hand.page)


def by_hand(hand: Hand) -> None:
    """Things moved away and brought back on the sheet: the grid is 5 cm, arrows go by 1 cm."""
    page = hand.page
    page.keyboard.press("Escape")
    for by in ((0.4, 0.2), (-0.4, -0.2)):
        before = named(hand.file()["people"], "Halvar Dreng")["at"]
        drag(page, "person:Halvar Dreng", by)
        page.wait_for_timeout(100)
        assert named(hand.file()["people"], "Halvar Dreng")["at"] == pytest.approx(
            [before[0] + by[0], before[1] + by[1]], abs=0.03
        )
    for key in ("ArrowRight", "ArrowUp", "ArrowLeft", "ArrowDown"):
        grip(page, "mark:Runa's hands").focus()
        for _ in range(3):
            page.keyboard.press(key)
        page.wait_for_timeout(700)
        hand.file()

"""A whole shoot built by mouse and keyboard alone, from `sidelong new` to a picture of the demo."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from at_the_desk import drag, grip, saved, unmetered, until
from desk_on_air import DeskOnAir
from source_tree import ROOT

DEMO = tomllib.loads((ROOT / "demo" / "net-loft" / "shoot.toml").read_text(encoding="utf-8"))
KEYS = {
    "power": ("id", "watts"),
    "lenses": ("id", "focal", "movement", "image_circle", "pupil_ratio"),
    "strobes": ("id", "energy", "efficacy"),
    "gels": ("id", "mired"),
}


@pytest.fixture(scope="module")
def desk_text() -> str | None:
    return None


@pytest.fixture(scope="module")
def desk_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("desk") / "built"
    subprocess.run([sys.executable, "-m", "sidelong", "new", str(folder)], check=True, capture_output=True)
    return folder


def named(tables: list[dict[str, Any]], name: str) -> dict[str, Any]:
    return next(one for one in tables if name in (one.get("name"), one.get("id")))


class Hand:
    """Somebody at the page who knows what the demo is like."""

    def __init__(self, page: Any, desk: DeskOnAir) -> None:
        self.page, self.desk = page, desk

    def file(self) -> dict[str, Any]:
        return tomllib.loads(self.desk.file.read_text(encoding="utf-8"))

    def add(self, what: str) -> None:
        self.page.get_by_role("button", name="Add", exact=True).click()
        self.page.get_by_role("menuitem", name=what, exact=True).click()
        saved(self.page)
        self.page.locator(".form").wait_for()

    def open(self, key: str) -> None:
        self.page.keyboard.press("Escape")
        grip(self.page, key).focus()
        self.page.keyboard.press("Enter")
        self.page.locator(".form").wait_for()

    def part(self, *tables: str) -> Any:
        """The form, or a table in it, unfolded."""
        here = self.page.locator(".form")
        for table in tables:
            here = here.locator(f':scope > details[data-table="{table}"]')
            if here.get_attribute("open") is None:
                here.locator(":scope > summary").click()
        return here

    def field(self, key: str, *tables: str) -> Any:
        here = self.part(*tables)
        own = f'[data-field="{key}"]'
        field = here.locator(f":scope > .grid > {own}, :scope > details.more > .grid > {own}").first
        field.wait_for(state="attached")
        if not field.is_visible():
            here.locator(":scope > details.more > summary").click()
        return field

    def write(self, key: str, value: object, *tables: str) -> None:
        words = ", ".join(map(str, value)) if isinstance(value, list) else str(value)
        box = self.field(key, *tables).locator("input, select, textarea").first
        if box.get_attribute("type") == "checkbox":
            box.set_checked(bool(value))
        elif box.evaluate("b => b.tagName") == "SELECT":
            box.select_option(words)
        else:
            box.fill(words)
            box.press("Tab")
        saved(self.page)

    def choose(self, key: str, *names: str) -> None:
        chips = self.field(key)
        for chip in chips.locator("button").all():
            if (chip.get_attribute("aria-pressed") == "true") != (chip.inner_text() in names):
                chip.click()
                saved(self.page)

    def remove(self, key: str) -> None:
        self.page.keyboard.press("Escape")
        grip(self.page, key).focus()
        self.page.keyboard.press("Delete")
        until(self.page, lambda: grip(self.page, key).count() == 0)


@pytest.mark.slow
def test_the_demo_is_built_from_nothing(browser: Any, desk: DeskOnAir) -> None:
    with unmetered(browser, desk) as page:
        build(page, desk)


def build(page: Any, desk: DeskOnAir) -> None:
    """Every part of the picture, and what the file then says."""
    page.wait_for_selector('[data-person="Rui"]')
    hand = Hand(page, desk)

    page.get_by_role("button", name="Shoot and place").click()
    hand.write("title", DEMO["title"])
    for key in ("latitude", "north"):
        hand.write(key, DEMO["place"][key], "place")

    loft = DEMO["place"]["rooms"][0]
    hand.open("room:workshop")
    for key in ("name", "size", "thickness"):
        hand.write(key, loft[key])
    hand.write("walls", loft["finish"]["walls"], "finish")
    hand.open("opening:window")
    door = named(loft["openings"], "sea door")
    for key in ("name", "kind", "wall"):
        hand.write(key, door[key])
    hand.write("at", [door["along"], door["sill"]])
    hand.write("size", [door["width"], door["height"]])
    hand.write("glass", "")
    hand.add("Opening")
    window = named(loft["openings"], "east window")
    hand.write("name", window["name"])
    hand.write("at", [window["along"], window["sill"]])
    hand.write("size", [window["width"], window["height"]])
    hand.write("glass", window["glass"])

    hand.remove("block:wheel bench")
    hand.open("person:Inês")
    for key in ("name", "at", "pose", "height", "facing", "skin", "clothes", "seat", "build"):
        hand.write(key, named(DEMO["people"], "Runa Velk")[key])
    hand.open("person:Rui")
    for key in ("name", "height", "facing", "at"):
        hand.write(key, named(DEMO["people"], "Halvar Dreng")[key])
    hand.add("Mark")
    for key in ("name", "at"):
        hand.write(key, named(DEMO["marks"], "Runa's hands")[key])

    for what, part, id in (
        ("Power", "power", "loft socket"),
        ("Lens", "lenses", "45 mm moving"),
        ("Head", "strobes", "small head"),
        ("Gel", "gels", "half CTO"),
    ):
        hand.add(what)
        for key in KEYS[part]:
            hand.write(key, named(DEMO["kit"][part], id)[key])

    runa = named(DEMO["shots"], "runa")
    page.get_by_role("button", name="All keys").click()
    for key in ("id", "brief", "when", "lens", "aperture", "shutter", "iso", "balance"):
        hand.write(key, runa[key].isoformat() if key == "when" else runa[key])
    hand.write("ambient", "")
    for key in ("at", "aim"):
        hand.write(key, runa["camera"][key], "camera")
    for key in ("swing", "tilt", "focus_on"):
        hand.write(key, runa["movement"][key], "movement")
    hand.choose("sharp", "Runa Velk", "Runa's hands")
    hand.choose("soft")
    hand.open("light:key")
    light = runa["lights"][0]
    hand.write("strobe", light["strobe"])
    page.wait_for_timeout(300)
    hand.open("light:small head")
    for key in ("modifier", "at"):
        hand.write(key, light[key])
    hand.choose("gel", "half CTO")
    hand.write("stops", light["target"]["stops"], "target")

    # one thing by the mouse, to where the demo has it: the grid is 5 cm, so what is dragged lands on it
    x, y = named(hand.file()["people"], "Halvar Dreng")["at"]
    hand.page.keyboard.press("Escape")
    drag(page, "person:Halvar Dreng", (0.4, 0.2))
    saved(page)
    assert named(hand.file()["people"], "Halvar Dreng")["at"] != [x, y]
    page.get_by_role("button", name="Undo").click()
    page.wait_for_timeout(300)
    saved(page)

    built = hand.file()
    assert {k: built["place"][k] for k in ("latitude", "north")} == {
        k: DEMO["place"][k] for k in ("latitude", "north")
    }
    assert built["title"] == DEMO["title"]
    room = built["place"]["rooms"][0]
    assert {k: room[k] for k in ("name", "size", "thickness")} == {k: loft[k] for k in ("name", "size", "thickness")}
    assert room["finish"]["walls"] == loft["finish"]["walls"]
    for opening in (door, window):
        made = named(room["openings"], opening["name"])
        assert [*made["at"], *made["size"]] == [opening[k] for k in ("along", "sill", "width", "height")]
        assert made.get("glass") == opening.get("glass")
        assert made["kind"] == opening["kind"]
        assert made["wall"] == opening["wall"]
    assert named(built["people"], "Runa Velk") == named(DEMO["people"], "Runa Velk")
    assert named(built["people"], "Halvar Dreng") == {
        k: v for k, v in named(DEMO["people"], "Halvar Dreng").items() if k in named(built["people"], "Halvar Dreng")
    }
    assert named(built["marks"], "Runa's hands") == named(DEMO["marks"], "Runa's hands")
    for part, id in (
        ("power", "loft socket"),
        ("lenses", "45 mm moving"),
        ("strobes", "small head"),
        ("gels", "half CTO"),
    ):
        made, meant = named(built["kit"][part], id), named(DEMO["kit"][part], id)
        assert {k: made[k] for k in KEYS[part]} == {k: meant[k] for k in KEYS[part]}
    shot = named(built["shots"], "runa")
    for key in ("brief", "lens", "aperture", "shutter", "iso", "balance", "sharp", "camera", "movement"):
        assert shot[key] == runa[key], key
    assert "ambient" not in shot
    assert "soft" not in shot
    for key in ("strobe", "at", "aim", "modifier", "gel", "target"):
        want = {"who": "Runa Velk", "stops": -0.3} if key == "target" else light[key]
        assert shot["lights"][0][key] == want, key

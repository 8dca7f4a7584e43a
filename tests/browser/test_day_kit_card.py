"""Day, picture queue, kit, set card and sharing, driven as a person would; the file is what is looked at."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from at_the_desk import AXE, until
from desk_on_air import SMALL, DeskOnAir


@pytest.fixture(scope="module")
def desk_text() -> str:
    """The small shoot with a second picture and a lens to rent."""
    small = SMALL.replace("aperture = 4", 'aperture = 4\nlens = "moving 90"')
    second = small[small.index("[[shots]]") :].replace('id = "both"', 'id = "bo"').replace("09:30", "11:00")
    lens = (
        '[[kit.lenses]]\nid = "moving 45"\nfocal = 45\nwidest = 2.8\nmovement = 8\nowned = false\nrent_per_day = 30\n'
    )
    return small.replace("[[kit.strobes]]", lens + "\n[[kit.strobes]]", 1) + "\n" + second


def tables(desk_folder: Path) -> dict[str, Any]:
    return tomllib.loads((desk_folder / "shoot.toml").read_text())


def look_at(page: Any, view: str) -> None:
    page.wait_for_selector("h1")
    page.evaluate(f"location.hash = '{view}'")


def test_a_shot_is_dragged_along_the_day(page: Any, desk_folder: Path) -> None:
    look_at(page, "day")
    flag = page.get_by_role("slider", name="both")
    flag.wait_for()
    box = flag.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] - 30
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 120, y, steps=6)
    page.mouse.up()
    until(page, lambda: str(tables(desk_folder)["shots"][0]["when"])[11:16] != "09:30")
    after = str(tables(desk_folder)["shots"][0]["when"])
    assert after.startswith("2026-05-12")
    assert after[11:16] > "09:30"
    assert "# in the corner" in (desk_folder / "shoot.toml").read_text()
    page.get_by_role("button", name=re.compile("^Undo: both")).click()
    until(page, lambda: str(tables(desk_folder)["shots"][0]["when"])[11:16] == "09:30")


def test_a_shot_is_moved_by_keys(page: Any, desk_folder: Path) -> None:
    look_at(page, "day")
    flag = page.get_by_role("slider", name="both")
    flag.focus()
    flag.press("ArrowRight")
    flag.press("ArrowRight")
    until(page, lambda: str(tables(desk_folder)["shots"][0]["when"])[11:16] == "09:40")
    assert flag.get_attribute("aria-valuetext") == "09:40"


def test_sun_of_openings_is_as_the_command_says(page: Any, desk: DeskOnAir) -> None:
    look_at(page, "day")
    page.get_by_role("slider", name="both").wait_for()
    shown = page.get_by_role("img", name=re.compile("^long window")).get_attribute("aria-label")
    told = page.evaluate("fetch('/api/day?date=2026-05-12').then(a => a.json())")
    (opening,) = told["openings"]
    words = ", ".join(f"{a[11:16]} to {b[11:16]}" for a, b in opening["intervals"]) or "no sun"
    minutes = [int(h) * 60 + int(m) for h, m in re.findall(r"(\d\d):(\d\d)", words)]
    seen = [int(h) * 60 + int(m) for h, m in re.findall(r"(\d\d):(\d\d)", shown)]
    assert len(seen) == len(minutes)
    assert all(abs(a - b) <= 1 for a, b in zip(seen, minutes, strict=True))  # seconds are rounded to minutes


def test_owned_or_rented_and_what_it_costs(page: Any, desk_folder: Path) -> None:
    look_at(page, "kit")
    page.get_by_text("1 rented for").wait_for()
    assert "30 a day" in page.get_by_role("region", name="Lenses").inner_text()
    page.get_by_role("button", name=re.compile(r"^rented.*moving 45")).click()
    until(page, lambda: tables(desk_folder)["kit"]["lenses"][1]["owned"] is True)
    page.get_by_text("0 rented for").wait_for()
    uses = page.get_by_role("group", name="Shots with moving 90").get_by_role("button")
    assert uses.count() == 2


def test_a_piece_is_added_and_its_form_opens(page: Any, desk_folder: Path) -> None:
    look_at(page, "kit")
    page.get_by_label("Add to the kit").select_option(label="Gel")
    until(page, lambda: len(tables(desk_folder)["kit"]["gels"]) == 2)
    page.get_by_role("form", name=re.compile("half CTO")).wait_for()


def test_a_reading_is_entered_and_steps_are_ticked(page: Any, desk_folder: Path) -> None:
    look_at(page, "card")
    page.get_by_role("heading", name="1. both").wait_for()
    form = page.get_by_role("form", name="Meter reading")
    form.get_by_label("At").select_option("Bo")
    form.get_by_label("Light").select_option("key")
    form.get_by_label("Reads").fill("−1,5")
    form.get_by_role("button").click()
    until(page, lambda: "readings" in tables(desk_folder))
    assert tables(desk_folder)["readings"] == [{"shot": "both", "who": "Bo", "light": "key", "stops": -1.5}]
    page.get_by_text("Bo, key").wait_for()
    step = page.locator(".step").first
    step.click()
    assert step.get_attribute("aria-pressed") == "true"
    page.reload()
    page.locator(".step").first.wait_for()
    assert page.locator(".step").first.get_attribute("aria-pressed") == "true"


def test_takes_are_ticked_off(page: Any, desk_folder: Path) -> None:
    look_at(page, "card")
    page.get_by_role("button", name="Take 1: keep").click()
    page.get_by_role("button", name="Take 2: not").click()
    page.get_by_text("2 taken, 1 kept").wait_for()
    kept = json.loads((desk_folder / "takes.json").read_text())
    numbers = re.findall(r'"number": ?(\d+)', json.dumps(kept))
    assert numbers == ["1", "2"]


def test_a_phone_is_let_in_and_shut_out(page: Any, browser: Any) -> None:
    look_at(page, "card")
    page.get_by_role("button", name="Let a phone in").click()
    page.locator(".code").wait_for()
    code, address = page.locator(".code").inner_text().strip(), page.locator(".address").inner_text().strip()
    phone = browser.new_context(viewport={"width": 390, "height": 844})
    other = phone.new_page()
    joined = other.request.post(
        address.split("/join")[0] + "/api/join",
        data={"code": code, "name": "second phone"},
        headers={"origin": address.split("/join")[0]},
    )
    assert joined.status == 200, joined.text()
    other.goto(address.split("/join")[0] + "/#card")
    other.get_by_role("heading", name="1. both").wait_for()
    assert other.get_by_role("form", name="Meter reading").count() == 0  # it only looks
    page.get_by_role("button", name="Shut out second phone").click()
    page.get_by_role("button", name="Shut out second phone").wait_for(state="detached")
    assert other.request.get(address.split("/join")[0] + "/api/shoot").status == 403
    phone.close()
    page.get_by_role("button", name="Stop sharing").click()
    page.get_by_role("button", name="Let a phone in").wait_for()


def test_the_queue_traces_cancels_and_keeps(page: Any) -> None:
    look_at(page, "picture")
    page.get_by_text("No picture of both yet").wait_for()
    page.get_by_role("button", name=re.compile("^Fine")).click()
    cancel = page.get_by_role("button", name=re.compile("^Cancel fine picture"))
    cancel.wait_for()
    cancel.click()
    page.get_by_text("Cancelled").first.wait_for()
    cancel.wait_for(state="detached")


@pytest.mark.skipif(not AXE.exists(), reason="axe-core is not there: the set-up fetches it with the page's packages")
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("view", ["day", "picture", "kit", "card"])
def test_everyone_can_use_it(page: Any, view: str, scheme: str) -> None:
    page.emulate_media(color_scheme=scheme)
    look_at(page, view)
    page.wait_for_selector("main h2, main h3, main svg, main .ask")
    page.wait_for_timeout(300)
    found = page.evaluate(
        AXE.read_text() + "; axe.run(document, {resultTypes: ['violations']}).then(r => r.violations)"
    )
    told = [(v["id"], [n["target"] for n in v["nodes"]][:4]) for v in found]
    assert not told


@pytest.mark.parametrize("width", [360, 1280, 2560])
@pytest.mark.parametrize("view", ["day", "picture", "kit", "card"])
def test_nothing_runs_off_the_side(page: Any, view: str, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 800})
    look_at(page, view)
    page.wait_for_selector("main h2, main h3, main svg, main .ask")
    over = page.evaluate("Math.max(document.documentElement.scrollWidth, document.querySelector('main').scrollWidth)")
    assert over <= width

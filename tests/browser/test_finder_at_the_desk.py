"""The finder under the hand: faces and dials, and what they leave in the file."""

from __future__ import annotations

import re
import tomllib
from typing import Any

import pytest

from at_the_desk import saved, until, violations
from desk_on_air import DeskOnAir
from sidelong.frames_of_reference import camera_frame
from sidelong.lens.blur import blur
from sidelong.lens.geometry import geometry_of
from sidelong.people.eyes import eyes
from sidelong.plan.predict import plan_without_light
from sidelong.shoot.check import load


@pytest.fixture
def finder(page: Any, desk: DeskOnAir) -> Any:
    """The finder with its first passes in."""
    page.set_viewport_size({"width": 960, "height": 600})
    page.goto(f"{desk.origin}/#finder")
    page.wait_for_selector(".passes")
    until(page, lambda: re.search(r"[1-9]\d* of|All passes", page.locator(".passes").inner_text()), 40)
    return page


def shot(desk: DeskOnAir) -> dict[str, Any]:
    table: dict[str, Any] = tomllib.loads(desk.file.read_text(encoding="utf-8"))["shots"][0]
    return table


def test_a_tap_on_a_face_focuses_on_it(finder: Any, desk: DeskOnAir) -> None:
    shoot = load(desk.folder)
    one = shoot.shots[0]
    plan = plan_without_light(shoot, one)
    frame = camera_frame(one.camera.at, one.camera.aim, one.camera.level)
    bo = next(p for p in shoot.people if p.name == "Bo")
    image = blur(geometry_of(plan.focus.setting), frame.to_body([eyes(bo)])).image[0]
    box = finder.locator("canvas").bounding_box()
    x = box["x"] + box["width"] * (0.5 + image[0] / one.body.film.width)
    y = box["y"] + box["height"] * (0.5 - image[1] / one.body.film.height)
    finder.get_by_role("button", name="Blur rings").click()  # nothing over the face
    finder.mouse.click(x, y)
    until(finder, lambda: finder.locator("#focus-on").input_value() == "Bo")
    saved(finder)
    assert shot(desk)["movement"]["focus_on"] == "Bo"
    finder.get_by_role("button", name="Blur rings").click()
    finder.get_by_role("button", name="Focus on Ada").click()
    until(finder, lambda: finder.locator("#focus-on").input_value() == "Ada")
    saved(finder)
    assert shot(desk)["movement"]["focus_on"] == "Ada"


def test_dials_turn_by_keys_and_by_typing(finder: Any, desk: DeskOnAir) -> None:
    before = shot(desk)["movement"]["swing"]
    dial = finder.get_by_role("slider", name="Swing")
    dial.focus()
    for _ in range(3):
        finder.keyboard.press("ArrowLeft")
    finder.wait_for_timeout(900)
    saved(finder)
    assert shot(desk)["movement"]["swing"] == pytest.approx(before - 0.3)
    stop = finder.get_by_role("textbox", name="Stop")
    stop.fill("5.6")
    stop.press("Enter")
    finder.wait_for_timeout(400)
    saved(finder)
    assert shot(desk)["aperture"] == 5.6
    assert "# carries the strands" in desk.file.read_text(encoding="utf-8")


def test_a_dragged_dial_is_followed_and_saved_when_let_go(finder: Any, desk: DeskOnAir) -> None:
    dial = finder.get_by_role("slider", name="Rise")
    dial.scroll_into_view_if_needed()
    box = dial.bounding_box()
    before = finder.locator(".tag").first.inner_text()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    finder.mouse.move(x, y)
    finder.mouse.down()
    finder.mouse.move(x - 42, y, steps=6)
    finder.wait_for_timeout(400)
    assert "rise" not in shot(desk)["camera"]  # not in the file while it is held
    finder.mouse.up()
    finder.wait_for_timeout(600)
    saved(finder)
    assert shot(desk)["camera"]["rise"] == pytest.approx(3.0, abs=0.51)
    assert before  # the face's tag was there all along


def test_the_ring_turns_to_a_mark_of_the_shot(finder: Any, desk: DeskOnAir) -> None:
    ring = finder.get_by_role("textbox", name="Ring", exact=True)
    ring.fill("2.5 m")
    ring.press("Enter")
    finder.wait_for_timeout(800)
    saved(finder)
    assert shot(desk)["movement"]["focus_on"] == "focus of both"
    shoot = load(desk.folder)
    plan = plan_without_light(shoot, shoot.shots[0])
    assert plan.focus.ring == pytest.approx(2.5, abs=0.01)


def test_the_loupe_looks_nearer_and_the_page_fits_a_phone(finder: Any) -> None:
    finder.get_by_role("button", name="10×").click()
    assert finder.locator(".tag").count() <= 2
    finder.get_by_role("button", name="off", exact=True).click()
    finder.set_viewport_size({"width": 360, "height": 740})
    finder.wait_for_timeout(400)
    wide = finder.evaluate("document.scrollingElement.scrollWidth - innerWidth")
    assert wide <= 0
    small = finder.evaluate(
        "[...document.querySelectorAll('main button, main select, main [role=slider]')]"
        ".map(e => e.getBoundingClientRect()).filter(b => b.width && (b.height < 43.5 || b.width < 43.5)).length"
    )
    assert small == 0


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_axe_finds_nothing(finder: Any, theme: str) -> None:
    finder.emulate_media(color_scheme=theme)
    finder.get_by_role("button", name="Horizon").click()
    assert violations(finder) == []

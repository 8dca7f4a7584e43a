"""The plan on any screen, in both lights, by keyboard alone, and when the server is gone."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from at_the_desk import grip, saved, until, violations
from desk_on_air import DeskOnAir, desk_on_air


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_axe_finds_nothing(plan: Any, theme: str) -> None:
    plan.emulate_media(color_scheme=theme)
    grip(plan, "person:Bo").focus()
    plan.keyboard.press("Enter")
    plan.locator(".form").wait_for()
    for fold in plan.locator(".form details:not([open]) > summary").all():
        fold.click()
    assert violations(plan) == []
    plan.keyboard.press("Escape")
    plan.get_by_role("button", name="Add", exact=True).click()
    assert violations(plan) == []


@pytest.mark.parametrize(("width", "height"), [(360, 740), (1280, 800), (2560, 1300)])
def test_nothing_runs_off_the_side(plan: Any, width: int, height: int) -> None:
    plan.set_viewport_size({"width": width, "height": height})
    plan.wait_for_timeout(300)
    assert plan.evaluate("document.documentElement.scrollWidth") <= width
    for button in plan.locator("header button, .tools button, .want button").all():
        if button.is_visible():
            box = button.bounding_box()
            assert min(box["width"], box["height"]) >= 43.5, button.get_attribute("aria-label") or button.inner_text()


@pytest.mark.parametrize("sheet", ["Plan", "Elevation"])
def test_a_phone_that_comes_in_sees_the_drawing(browser: Any, desk: DeskOnAir, sheet: str) -> None:
    """Opened at that size, not shrunk to it: then one sheet alone is chosen from the start."""
    context = browser.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto(desk.way_in)
    page.get_by_role("button", name=sheet, exact=True).click()
    drawing = page.locator(f'section[aria-label="{sheet}"] [data-key="person:Bo"]')
    drawing.wait_for(state="visible")
    box = page.locator(f'section[aria-label="{sheet}"] .sheet').bounding_box()
    assert box["width"] >= 358
    assert box["height"] > 250
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    context.close()


def test_everything_on_the_sheet_is_reached_by_the_tab_key(plan: Any) -> None:
    reached = set()
    plan.keyboard.press("Tab")
    # the sheets, then the form of the last thing on them, then the figures below
    for _ in range(100):
        key = plan.evaluate("document.activeElement.dataset?.key ?? document.activeElement.id ?? ''")
        reached.add(key)
        plan.keyboard.press("Tab")
    assert {
        "person:Ada",
        "person:Bo",
        "camera:camera",
        "light:key",
        "mark:far wall",
        "block:trestle",
        "opening:long window",
    } <= reached
    assert {"swing", "tilt", "aperture", "minute", "shot"} <= reached


def test_swing_by_the_keys_moves_the_plane_and_is_saved(plan: Any, desk: DeskOnAir) -> None:
    line = plan.locator("section.one .cut:not(.faint) .plane")
    before = line.get_attribute("x1")
    plan.locator("#swing").focus()
    for _ in range(3):
        plan.keyboard.press("ArrowRight")
    until(plan, lambda: line.get_attribute("x1") != before)
    plan.wait_for_timeout(300)
    saved(plan)
    movement = tomllib.loads(desk.file.read_text(encoding="utf-8"))["shots"][0]["movement"]
    assert movement["swing"] == pytest.approx(3.3)


def test_feet_and_inches(plan: Any) -> None:
    plan.get_by_role("button", name="Lengths in metres").click()
    until(plan, lambda: "26 ft" in (plan.locator("section.one .dimensions").text_content() or ""))
    plan.get_by_role("button", name="Lengths in feet").click()


def test_nothing_outside_is_asked_and_all_works_without_a_network(page: Any) -> None:
    page.wait_for_selector('[data-person="Bo"] [data-figure="blur"]')
    for view in ("finder", "light", "day", "picture", "kit", "card", "plan"):
        page.evaluate(f"location.hash = '{view}'")
        page.wait_for_timeout(250)
    page.wait_for_selector('[data-person="Bo"] [data-figure="blur"]')  # the fixture counts what is asked elsewhere


def test_a_clash_is_shown_and_settled(browser: Any, desk: DeskOnAir) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    page.route("**/api/events", lambda route: route.abort())  # it hears nothing of what others change
    page.goto(desk.way_in)
    page.wait_for_selector('[data-person="Bo"]')
    text = desk.file.read_text(encoding="utf-8")
    desk.file.write_text(text.replace("height = 1.80", "height = 1.85"), encoding="utf-8")
    page.wait_for_timeout(1200)
    grip(page, "person:Bo").focus()
    page.keyboard.press("Enter")
    height = page.locator('.form [data-field="height"] input')
    height.fill("1.91")
    height.press("Tab")
    box = page.get_by_role("dialog")
    box.wait_for()
    assert "1.85" in box.inner_text()
    assert "1.91" in box.inner_text()
    assert violations(page) == []
    assert "height = 1.85" in desk.file.read_text(encoding="utf-8")
    box.get_by_role("button", name="Write mine").click()
    until(page, lambda: "height = 1.91" in desk.file.read_text(encoding="utf-8"))
    context.close()


def test_a_server_that_is_gone_is_told(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> None:
    with desk_on_air(tmp_path_factory.mktemp("gone") / "ropewalk") as going:
        context = browser.new_context()
        page = context.new_page()
        page.goto(going.way_in)
        page.wait_for_selector('[data-person="Bo"]')
        grip(page, "person:Bo").focus()
        page.keyboard.press("Shift+ArrowRight")
        until(page, lambda: "5.6" in going.file.read_text(encoding="utf-8"))
        going.kill()
        page.get_by_text("does not answer").wait_for()
        assert tomllib.loads(going.file.read_text(encoding="utf-8"))["people"][1]["at"] == [5.6, 3.1]
        context.close()

"""The page comes up in a real browser, by the printed address alone."""

from __future__ import annotations

from typing import Any

from desk_on_air import DeskOnAir


def test_the_page_shows_the_shoot(page: Any, desk: DeskOnAir) -> None:
    page.wait_for_selector("text=The ropewalk")
    assert "key=" not in page.url


def test_without_the_secret_there_is_nothing(browser: Any, desk: DeskOnAir) -> None:
    context = browser.new_context()
    page = context.new_page()
    assert page.goto(desk.origin + "/").status == 403
    context.close()

"""The page comes up in a real browser, by the printed address alone."""

from __future__ import annotations

import time
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


def test_first_paint_takes_less_than_a_second(browser: Any, desk: DeskOnAir) -> None:
    context = browser.new_context()
    page = context.new_page()
    begun = time.monotonic()
    page.goto(desk.way_in, wait_until="commit")
    page.wait_for_selector("h1, header, main")
    painted = page.evaluate("performance.getEntriesByType('paint')[0]?.startTime ?? 0")
    assert painted < 1000, f"painted after {painted:.0f} ms ({time.monotonic() - begun:.2f} s in all)"
    context.close()

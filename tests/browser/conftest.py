"""A browser and a running desk for the tests that drive the page as a person would.

Without a browser, or without the built page, they are left out and say why.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from at_the_desk import page_at, saved
from desk_on_air import SMALL, DeskOnAir, desk_on_air
from source_tree import ROOT

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
ARGUMENTS = [
    "--no-sandbox",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--disable-background-networking",
    "--disable-component-update",
    "--no-first-run",
]
PAGE = ROOT / "src" / "sidelong" / "desk" / "page" / "index.html"


def _program() -> str | None:
    named = os.environ.get("SIDELONG_BROWSER")
    return named or next((found for name in NAMES if (found := shutil.which(name))), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A headless browser (playwright's Browser), one for all tests."""
    program = _program()
    if program is None:
        pytest.skip("no browser: install Chromium, or name one by SIDELONG_BROWSER")
    if not PAGE.exists():
        pytest.skip("the desk's page is not built: python start.py setup")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=program, args=ARGUMENTS)
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def desk_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that the module's desk serves; the small shoot of desk_on_air, unless a module has its own."""
    return tmp_path_factory.mktemp("desk") / "ropewalk"


@pytest.fixture(scope="module")
def desk_text() -> str | None:
    """The shoot file to begin with; None takes the folder as it is. A module may have its own."""
    return SMALL


@pytest.fixture(scope="module")
def desk(browser: Any, desk_folder: Path, desk_text: str | None) -> Iterator[DeskOnAir]:
    """A running desk, one for all tests of a module."""
    with desk_on_air(desk_folder, desk_text) as running:
        yield running


@pytest.fixture
def page(browser: Any, desk: DeskOnAir) -> Iterator[Any]:
    """A page (playwright's Page) that has come in to the desk; what the page complains about fails the test.

    Nothing outside the desk may be asked for: such a request fails the test too.
    """
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    opened = context.new_page()
    complaints: list[str] = []
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    opened.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    opened.on(
        "request",
        lambda asked: (
            None
            if asked.url.startswith((desk.origin, "blob:", "data:"))
            else complaints.append(f"asked outside: {asked.url}")
        ),
    )
    opened.goto(desk.way_in)
    yield opened
    context.close()
    assert not complaints, complaints


@pytest.fixture
def plan(browser: Any, desk: DeskOnAir) -> Iterator[Any]:
    """The plan, drawn, with the figures of the people in the strip. A module may have its own."""
    with page_at(browser, desk) as page:
        page.wait_for_selector('[data-person="Bo"] [data-figure="blur"]')
        saved(page)
        yield page

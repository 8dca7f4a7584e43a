"""The desk's first answer after the command, and its page's first paint: under one and a half seconds, and one."""

import os
import shutil
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from playwright.sync_api import sync_playwright

from desk_on_air import SMALL, desk_on_air

ARGUMENTS = ["--no-sandbox", "--use-angle=swiftshader", "--disable-background-networking"]


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    with desk_on_air(tmp_path_factory.mktemp("desk") / "ropewalk", SMALL) as running:
        yield running


def test_first_paint(benchmark, desk):
    """The browser's own figure is printed; the timing is of coming in and seeing the shoot's title."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=os.environ.get("SIDELONG_BROWSER") or shutil.which("chromium"), args=ARGUMENTS
        )

        def come_in():
            context = browser.new_context()
            page = context.new_page()
            page.goto(desk.way_in, wait_until="commit")
            page.wait_for_selector("text=The ropewalk")
            painted = page.evaluate("performance.getEntriesByType('paint')[0]?.startTime ?? 0")
            context.close()
            return painted

        painted = benchmark.pedantic(come_in, rounds=5)
        print(f"first paint after {painted:.0f} ms")
        browser.close()


def test_first_answer(benchmark, tmp_path):
    """From the command to the first answer, Python's own start included."""
    folder = tmp_path / "ropewalk"

    def come_up():
        with desk_on_air(folder, SMALL) as running, running.stranger() as client:
            assert client.get(running.way_in).status_code == 303

    benchmark.pedantic(come_up, rounds=3)

"""What a person does at the desk's page, for the tests of its plan."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from desk_on_air import DeskOnAir
from source_tree import ROOT

PATIENCE = 120.0
"""How long something is waited for before it is given up: a busy machine may paint a sheet for seconds. [s]"""
AXE = ROOT / "web" / "node_modules" / "axe-core" / "axe.min.js"


@contextmanager
def page_at(browser: Any, desk: DeskOnAir) -> Iterator[Any]:
    """A page that has come in. An error of the page fails the test at the end; what the server refuses does not."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    page.set_default_timeout(1000 * PATIENCE)
    crashes: list[str] = []
    page.on("pageerror", lambda error: crashes.append(str(error)))
    page.goto(desk.way_in)
    yield page
    context.close()
    assert not crashes, crashes


def grip(page: Any, key: str, part: str = "at") -> Any:
    """What is taken hold of on the plan, such as "person:Bo"."""
    return page.locator(f'section.one [data-key="{key}"][data-part="{part}"]').first


def middle(page: Any, key: str, part: str = "at") -> tuple[float, float]:
    """Where its grip is on the screen, once the sheet is at rest. [CSS pixels]"""
    grip(page, key, part).wait_for()
    shape, box = grip(page, key, part).locator(".reach, path").first, None
    while (now := shape.bounding_box()) != box:
        box = now
        page.wait_for_timeout(120)
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def pixels_for_metre(page: Any) -> float:
    """Of the plan, from its own box of view."""
    wide, across = page.evaluate(
        "() => { const s = document.querySelector('section.one svg'); return [s.getBoundingClientRect().width,"
        " s.viewBox.baseVal.width]; }"
    )
    return float(wide / across * 100)


def drag(
    page: Any, key: str, by: tuple[float, float], part: str = "at", let_go: bool = True, steps: int = 12
) -> None:
    """Drag something on the plan by so many metres to the right and up."""
    x, y = middle(page, key, part)
    scale = pixels_for_metre(page)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + by[0] * scale, y - by[1] * scale, steps=steps)
    if let_go:
        page.mouse.up()


def until(
    page: Any, holds: Callable[[], object], seconds: float = PATIENCE, told: Callable[[], str] = lambda: ""
) -> None:
    """Wait until something holds; the page's policy lets no script be made from text, so it is asked from here. What
    is `told` then says more where it does not."""
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, f"it did not come to hold: {told()}"
        page.wait_for_timeout(40)


def saved(page: Any) -> None:
    """Wait until nothing is being saved."""
    page.wait_for_timeout(60)
    sign, alerts = page.locator(".saved"), page.locator("[role=alert]")
    until(
        page,
        lambda: sign.text_content() == "saved",
        told=lambda: f"{sign.text_content()}; {alerts.all_inner_texts()}",
    )


def blur_shown(page: Any, name: str) -> float:
    """Of somebody, as the people strip says it. [micrometres]"""
    words = page.locator(f'[data-person="{name}"] [data-figure="blur"]').inner_text()
    return float(re.match(r"[\d.]+", words)[0])  # type: ignore[index]


def focus_of(folder: Path, shot: str) -> dict[str, Any]:
    """The shot's entry of `sidelong focus --json`."""
    said = subprocess.run(
        [sys.executable, "-m", "sidelong", "focus", str(folder), "--json"], capture_output=True, text=True, check=True
    )
    return next(one for one in json.loads(said.stdout)["shots"] if one["id"] == shot)


def blur_computed(folder: Path, shot: str, name: str) -> float:
    """The same by the command. [micrometres]"""
    return float(next(p for p in focus_of(folder, shot)["points"] if p["name"] == name)["blur_major_um"])


def violations(page: Any) -> list[str]:
    """What axe-core finds by WCAG 2.2 A and AA, in words."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    passed, found = page.evaluate(
        "axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']})"
        ".then(r => [r.passes.length, r.violations.map(v => [v.id, v.nodes.map(n => n.html.slice(0, 160) + ' | ' +"
        " n.failureSummary)])])"
    )
    assert passed > 15, "axe-core has looked at hardly anything"
    return [f"{rule}: {node}" for rule, nodes in found for node in nodes]

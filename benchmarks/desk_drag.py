#!/usr/bin/env python3
"""What a frame of a drag on the plan costs the browser: by Chromium's own trace.

    python3 benchmarks/desk_drag.py [THING ...]

Needs Chromium (on the PATH, or named by SIDELONG_BROWSER), playwright, and the built page. Works on a copy of
demo/net-loft. Times are processor time of the page's main thread, so that other work on the machine hardly counts;
rastering is on threads of its own and on software here, and is given apart.
"""

import json
import os
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from playwright.sync_api import Page, sync_playwright  # noqa: E402

from desk_on_air import desk_on_air  # noqa: E402

THINGS = ("person:Runa Velk", "light:small head", "camera:camera")
STEPS = 60
CATEGORIES = ["devtools.timeline", "disabled-by-default-devtools.timeline", "v8", "toplevel", "cc", "__metadata"]
_KINDS = {
    "scripting": {
        "FunctionCall",
        "FireAnimationFrame",
        "TimerFire",
        "RunMicrotasks",
        "EventDispatch",
        "v8.callFunction",
    },
    "style, layout": {"UpdateLayoutTree", "Layout", "HitTest"},
    "painting": {"PrePaint", "Paint", "Layerize", "Commit", "UpdateLayer"},
    "rubbish": {"MinorGC", "MajorGC", "V8.GCScavenger"},
}


def dragged(page: Page, key: str) -> int:
    """Drag a thing about, a step a frame; the number of steps."""
    box = page.locator(f'section.one [data-key="{key}"][data-part="at"] .reach').first.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    for k in range(STEPS):
        page.mouse.move(x + 1.5 * (k % 30), y + 0.7 * (k % 20))
        page.evaluate("new Promise(done => requestAnimationFrame(() => done()))")
    return STEPS


def sums(events: "list[dict[str, Any]]", main: "tuple[int, int]") -> "dict[str, float]":
    """Processor time by kind, milliseconds; an event inside another of any kind is taken off that one."""
    own = sorted(
        (e for e in events if e.get("ph") == "X" and (e["pid"], e["tid"]) == main and "tdur" in e),
        key=lambda e: (e["tts"], -e["tdur"]),
    )
    found = dict.fromkeys([*_KINDS, "raster"], 0.0)
    stack: list[tuple[float, str | None]] = []
    for event in own:
        kind = next((k for k, names in _KINDS.items() if event["name"] in names), None)
        while stack and stack[-1][0] <= event["tts"]:
            stack.pop()
        if kind is not None:
            found[kind] += event["tdur"] / 1e3
            outer = next((k for _, k in reversed(stack) if k is not None), None)
            if outer is not None:
                found[outer] -= event["tdur"] / 1e3
        stack.append((event["tts"] + event["tdur"], kind))
    found["raster"] = sum(e.get("tdur", 0) for e in events if e["name"] == "RasterTask" and e.get("ph") == "X") / 1e3
    return found


def measured(browser: Any, page: Page, key: str) -> "dict[str, float]":
    with tempfile.TemporaryDirectory() as place:
        file = Path(place) / "trace.json"
        browser.start_tracing(
            page=page, path=str(file),
            categories=CATEGORIES,
        )  # fmt: skip
        steps = dragged(page, key)
        browser.stop_tracing()
        events = json.loads(file.read_text())["traceEvents"]
    page.keyboard.press("Escape")
    page.mouse.up()
    mains = [
        (e["pid"], e["tid"])
        for e in events
        if e.get("name") == "thread_name" and e["args"]["name"] == "CrRendererMain"
    ]
    best = max((sums(events, main) for main in mains), key=lambda s: s["scripting"])
    return {kind: total / steps for kind, total in best.items()}


def main(things: "list[str]") -> int:
    program = os.environ.get("SIDELONG_BROWSER") or shutil.which("chromium")
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "net-loft"
        shutil.copytree(ROOT / "demo" / "net-loft", folder, ignore=shutil.ignore_patterns("out"))
        with desk_on_air(folder, None) as desk, sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
            page = browser.new_page(viewport={"width": 1440, "height": 900})
            page.goto(desk.way_in)
            page.wait_for_selector("h1")
            page.evaluate("localStorage.setItem('sidelong.shot', 'runa')")
            page.reload()
            page.wait_for_selector('section.one [data-key="person:Runa Velk"]')
            page.wait_for_timeout(4000)
            for key in things or THINGS:
                found = measured(browser, page, key)
                figures = ", ".join(f"{kind} {value:.1f}" for kind, value in found.items())
                print(f"{key}: ms a frame: {figures}")
                page.wait_for_timeout(1500)
            browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

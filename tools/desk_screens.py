#!/usr/bin/env python3
"""Makes the pictures of the desk in docs/pictures/desk: every view at three sizes, of the demo shoot.

    python3 tools/desk_screens.py [VIEW ...]

Needs Chromium (on the PATH, or named by SIDELONG_BROWSER), playwright, and the built page. Works on a copy of
demo/net-loft; a draft of one picture is traced first, so that light and picture have something to show.
"""

import os
import shutil
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from PIL import Image  # noqa: E402
from playwright.sync_api import Page, sync_playwright  # noqa: E402

from desk_on_air import desk_on_air  # noqa: E402

SIZES = {"phone": (390, 844), "desk": (1440, 900), "wide": (2560, 1440)}
VIEWS = ("plan", "finder", "light", "day", "picture", "kit", "card")
SHOT = "runa"
ARGUMENTS = [
    "--no-sandbox",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--disable-background-networking",
]


def settled(page: Page, view: str, size: str) -> None:
    """Wait until a view shows what it is there to show."""
    page.evaluate(f"location.hash = '{view}'")
    page.wait_for_selector("main h2, main h3, main svg, main canvas, main .ask")
    if view == "finder":
        page.wait_for_timeout(60_000 if size == "desk" else 25_000)
    page.wait_for_timeout(2500)


def smaller(file: Path) -> None:
    """The same picture in 256 colours, which is enough for a page of docs."""
    with Image.open(file) as opened:
        full = opened.convert("RGB")
    palette = full.quantize(256, Image.Quantize.MEDIANCUT)
    few = full.quantize(palette=palette, dither=Image.Dither.FLOYDSTEINBERG)
    few.save(file, optimize=True)


def traced(page: Page) -> None:
    """The day, then a picture, and a metering of the shot that is shown."""
    for quality in ("day", "default"):
        page.evaluate(
            f"""() => fetch('/api/pictures', {{method: 'POST', headers: {{'content-type': 'application/json'}},
            body: JSON.stringify({{shot: '{SHOT}', quality: '{quality}'}})}})"""
        )
    page.evaluate(f"() => fetch('/api/shots/{SHOT}/light', {{method: 'POST'}})")
    for _ in range(240):
        states = page.evaluate("fetch('/api/pictures').then(a => a.json()).then(all => all.map(p => p.state))")
        lit = page.evaluate(f"fetch('/api/shots/{SHOT}/light').then(a => a.json()).then(l => l.state)")
        if states and all(s in ("done", "failed") for s in states) and lit != "metering":
            return
        time.sleep(2)


def main(views: "list[str]") -> int:
    target = ROOT / "docs" / "pictures" / "desk"
    target.mkdir(parents=True, exist_ok=True)
    program = os.environ.get("SIDELONG_BROWSER") or shutil.which("chromium")
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "net-loft"
        shutil.copytree(ROOT / "demo" / "net-loft", folder, ignore=shutil.ignore_patterns("out"))
        with desk_on_air(folder, None) as desk, sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=program, args=ARGUMENTS)
            context = browser.new_context(locale="en-GB")
            page = context.new_page()
            page.goto(desk.way_in)
            page.wait_for_selector("h1")
            page.evaluate(f"localStorage.setItem('sidelong.shot', '{SHOT}')")
            page.reload()
            page.wait_for_selector("h1")
            traced(page)
            for size, (width, height) in SIZES.items():
                page.set_viewport_size({"width": width, "height": height})
                for view in views or VIEWS:
                    settled(page, view, size)
                    page.screenshot(path=target / f"{view}-{size}.png")
                    smaller(target / f"{view}-{size}.png")
                    print(f"docs/pictures/desk/{view}-{size}.png", file=sys.stderr)
            browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

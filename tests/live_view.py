"""The page's live view in a real browser, without a server: its modules bundled and called one by one."""

from __future__ import annotations

import base64
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from sidelong.frames_of_reference import BodyFrame
from sidelong.lens.values import Film, Setting

WEB = Path(__file__).parents[1] / "web"
_BUNDLE = """
import { build } from "vite";
await build({ configFile: false, logLevel: "error", build: {
  outDir: process.argv[1], emptyOutDir: true, minify: false,
  lib: { entry: "src/finder/bench.ts", formats: ["iife"], name: "bench", fileName: () => "bench.js" } } });
"""


def bundle(folder: Path) -> Path:
    """The view's modules as one script that defines `bench`; skips where no Node or no packages are at hand."""
    node = shutil.which("node")
    if node is None or not (WEB / "node_modules").is_dir():
        pytest.skip("the page's modules cannot be bundled here: no Node, or start.py setup has not been run")
    subprocess.run(
        [node, "--input-type=module", "-e", _BUNDLE, str(folder)],
        cwd=WEB,
        check=True,
        capture_output=True,
        timeout=120,
    )
    return folder / "bench.js"


@contextmanager
def page_with(browser: Any, script: Path) -> Iterator[Any]:
    """An empty page of the browser with the script in it."""
    page = browser.new_page()
    try:
        page.set_content("<!doctype html><title>bench</title>")
        page.add_script_tag(path=str(script))
        yield page
    finally:
        page.close()


def setup_of(frame: BodyFrame, film: Film, setting: Setting) -> dict[str, Any]:
    """A camera as the page's optics take it."""
    lens, movement = setting.lens, setting.movement
    at = frame.at
    return {
        "at": at.tolist(),
        "aim": (at + frame.forward).tolist(),
        "level": False,
        "focal": lens.focal_length,
        "pivot": lens.pivot,
        "pupilRatio": lens.pupil_ratio,
        "blades": lens.blades,
        "curvature": lens.field_curvature,
        "swing": movement.swing,
        "tilt": movement.tilt,
        "rise": movement.rise,
        "shift": movement.shift,
        "extension": setting.extension,
        "fNumber": setting.f_number,
        "film": [film.width, film.height],
    }


def encoded(data: bytes) -> str:
    return base64.b64encode(data).decode()


def linear_of(answer: dict[str, Any]) -> NDArray[np.float32]:
    """Linear sRGB (H, W, 3), rows from the top, of what the view summed up."""
    values = np.frombuffer(base64.b64decode(answer["linear"]), np.float32)
    return values.reshape(answer["height"], answer["width"], 4)[::-1, :, :3].copy()

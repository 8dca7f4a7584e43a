"""A desk served by a process of its own, for tests that speak to it as a page does."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx

SMALL = """# A small shoot, quick to plan.
sidelong = 1
title = "The ropewalk"

[place]
latitude = 51.2                # north
longitude = 3.1
timezone = "Europe/Brussels"
north = 200
sky = "clear"

[[place.rooms]]
name = "walk"
at = [0, 0]
size = [8.0, 4.0, 2.8]

[[place.rooms.openings]]
name = "long window"
wall = "left"
kind = "window"
along = 1.2
sill = 0.90
width = 1.60
height = 1.20
glass = 0.85

[[place.blocks]]
name = "trestle"               # carries the strands
kind = "bench"
at = [4.0, 2.60]
size = [1.20, 0.50, 0.50]

# --- people ---

[[people]]
name = "Ada"
at = [3.00, 2.40]              # by the trestle
height = 1.70

[[people]]
name = "Bo"
at = [5.50, 3.10]
height = 1.80
facing = "Ada"

[[marks]]
name = "far wall"
at = [8.0, 2.0, 1.5]

[[kit.bodies]]
id = "body"

[[kit.lenses]]
id = "moving 90"
focal = 90
widest = 2.8
movement = 8
shift = 11

[[kit.strobes]]
id = "key"
energy = 400
efficacy = 35

[[kit.modifiers]]
id = "front"
kind = "front"
size = [0.6, 0.9]
transmission = 0.5

[[kit.gels]]
id = "quarter CTO"
mired = 45
transmission = 0.8

[[shots]]
id = "both"
brief = "Ada and Bo sharp, the wall soft."
when = 2026-05-12T09:30:00
sharp = ["Ada"]
soft = ["Bo"]
aperture = 4
iso = 200

[shots.camera]
at = [0.60, 1.00, 1.50]        # in the corner
aim = "Ada"

[shots.movement]
swing = 3
tilt = 0
focus_on = "Ada"

[[shots.lights]]
strobe = "key"
at = [1.5, 0.6, 2.1]
aim = "Ada"
modifier = "front"
gel = ["quarter CTO"]
target = { who = "Ada", stops = 0 }
"""


@dataclass
class DeskOnAir:
    """A running desk: its address with and without the secret, its folder, its process."""

    folder: Path
    way_in: str
    process: subprocess.Popen[str]

    @property
    def origin(self) -> str:
        return self.way_in.partition("/?")[0]

    @property
    def file(self) -> Path:
        return self.folder / "shoot.toml"

    def browser(self, **more: Any) -> httpx.Client:
        """A client that has come in as the desk's own browser does."""
        client = httpx.Client(base_url=self.origin, headers={"origin": self.origin}, timeout=60, **more)
        answer = client.get(self.way_in)
        assert answer.status_code == 303
        return client

    def stranger(self, **more: Any) -> httpx.Client:
        """A client without a cookie."""
        return httpx.Client(base_url=self.origin, timeout=30, **more)

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()


def begin(folder: Path, text: str | None = None, *arguments: str) -> DeskOnAir:
    """A desk of a folder, made with a text where that is given; it answers once this returns."""
    folder.mkdir(parents=True, exist_ok=True)
    if text is not None:
        (folder / "shoot.toml").write_text(text, encoding="utf-8")
    program = Path(sys.executable).with_name("sidelong")
    process = subprocess.Popen(
        [program, "desk", folder, "--no-browser", *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        start_new_session=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    assert process.stdout is not None
    way_in = process.stdout.readline().strip()
    if not way_in:
        assert process.stderr is not None
        raise AssertionError(f"the desk did not begin: {process.stderr.read()}")
    return DeskOnAir(folder, way_in, process)


@contextmanager
def desk_on_air(folder: Path, text: str | None = SMALL, *arguments: str) -> Iterator[DeskOnAir]:
    """A desk for as long as the block lasts."""
    desk = begin(folder, text, *arguments)
    try:
        yield desk
    finally:
        if desk.process.poll() is None:
            desk.process.send_signal(signal.SIGINT)
            try:
                desk.process.wait(10)
            except subprocess.TimeoutExpired:
                desk.kill()
        assert desk.process.stdout is not None
        assert desk.process.stderr is not None
        print(desk.process.stderr.read())  # shown where a test fails: what the desk found wrong
        desk.process.stdout.close()
        desk.process.stderr.close()

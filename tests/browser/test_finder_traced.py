"""The live view against a path-traced picture of the same plain scene: where edges lie, how wide they are blurred."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

import live_view
from sidelong.colour.encode import linear_rgb
from sidelong.desk.scene import scene_glb
from sidelong.desk.scene_light import scene_light
from sidelong.plan.predict import plan_without_light
from sidelong.shoot.check import load
from sidelong.trace.render import render
from sidelong.trace.values import View

# three black posts at different distances before a pale wall, under an even sky; the lens swung and tilted
TOML = """
sidelong = 1
[place]
sky = "overcast"
[[place.blocks]]
name = "wall"
kind = "box"
at = [0, 8]
size = [30, 0.2, 12]
finish = "white"
[[place.blocks]]
name = "near post"
kind = "box"
at = [-0.25, 1.1]
size = [0.1, 0.1, 6]
finish = "black"
[[place.blocks]]
name = "middle post"
kind = "box"
at = [0.1, 3.6]
size = [0.2, 0.2, 6]
finish = "black"
[[place.blocks]]
name = "far post"
kind = "box"
at = [1.4, 6.0]
size = [0.25, 0.25, 6]
finish = "black"
[[marks]]
name = "middle"
at = [0, 3.5, 1.6]
[[kit.bodies]]
id = "body"
film = [36, 4]
[[kit.lenses]]
id = "lens"
focal = 45
widest = 1.4
movement = 10
pupil_ratio = 1.25
shift = 12
[[shots]]
id = "one"
when = 2026-06-20T12:00:00
aperture = 1.4
[shots.camera]
at = [0, 0, 1.6]
aim = [0, 3.5, 1.6]
[shots.movement]
MOVEMENT
"""
MOVES = {
    "swung": "swing = -5\ntilt = 0\nfocus_on = 'middle'",
    "swung, tilted, raised": "swing = 3\ntilt = 2\nrise = 4\nshift = -3\nfocus_on = 'middle'",
}
WIDTH, HEIGHT = 450, 50
"""A strip of film: the edges are upright."""


@pytest.fixture(scope="module")
def page(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    with live_view.page_with(browser, live_view.bundle(tmp_path_factory.mktemp("bench"))) as opened:
        yield opened


def edges(luminance: NDArray[np.float64]) -> list[tuple[float, float]]:
    """Place of the half-way crossing and the width from a quarter to three quarters of every edge between the pale
    wall, as bright as it is a dozen pixels from the edge, and a black post. [px]"""
    row = luminance.mean(axis=0)
    bright = row > 0.5 * np.quantile(row, 0.8)
    found = []
    for k in np.flatnonzero(np.diff(bright.astype(int))):
        step = 1 if bright[k + 1] else -1
        pale = slice(k + 12, k + 22) if step > 0 else slice(k - 21, k - 11)
        profile = row / row[pale].mean()
        places = [_crossing(profile, int(k), step, level) for level in (0.25, 0.5, 0.75)]
        found.append((places[1], abs(places[2] - places[0])))
    return found


def _crossing(profile: NDArray[np.float64], k: int, step: int, level: float) -> float:
    """Where a profile passes a level nearest to an edge; it grows with x for a step of 1. [px]"""
    i = k
    while 0 < i < len(profile) - 2 and (profile[i] - level) * (profile[i + 1] - level) > 0:
        i += 1 if (profile[i] < level) == (step > 0) else -1
    return float(i + (level - profile[i]) / (profile[i + 1] - profile[i]))


@pytest.mark.slow
@pytest.mark.parametrize("name", MOVES)
def test_edges_lie_and_blur_as_in_the_traced_picture(page: Any, name: str, tmp_path: Path) -> None:
    (tmp_path / "shoot.toml").write_text(TOML.replace("MOVEMENT", MOVES[name]))
    shoot = load(tmp_path)
    shot = shoot.shots[0]
    plan = plan_without_light(shoot, shot)
    view = View(plan.focus.frame, shot.body.film, plan.focus.setting, WIDTH, HEIGHT)
    layers = render(plan.stage, view, samples=40, seed=3, max_depth=3)
    traced = linear_rgb(layers.xyz.sum(axis=2))[..., 1]
    asked = {
        "glb": live_view.encoded(scene_glb(shoot)),
        "setup": live_view.setup_of(plan.focus.frame, shot.body.film, plan.focus.setting),
        "window": {"centre": [0, 0], "width": shot.body.film.width, "height": shot.body.film.height},
        "width": WIDTH, "height": HEIGHT, "passes": 128, "light": scene_light(shoot, shot),
        "exposing": {
            "shutter": 1 / 1000, "iso": 100, "balance": 6500, "powers": {}, "gels": {}, "sun": True, "sky": True,
            "metered": {},
        },
    }  # fmt: skip
    asked["light"]["sky"]["ambient_lx"] = asked["light"]["sky"]["horizontal_lx"]
    shown = live_view.linear_of(page.evaluate("a => bench.rendered(a)", asked))[..., 1].astype(float)
    expected, found = edges(traced), edges(shown)
    assert len(expected) == len(found) >= 4, (expected, found)
    for (place, width), (seen, wide) in zip(expected, found, strict=True):
        # the traced picture's own noise moves an edge by a tenth of its width
        assert abs(seen - place) < 0.15 + 0.05 * width
        assert wide == pytest.approx(width, abs=0.15 + 0.06 * width)
    assert max(width for _, width in expected) > 3 * min(width for _, width in expected)
    assert math.isclose(plan.focus.setting.f_number, 1.4142, rel_tol=1e-3)

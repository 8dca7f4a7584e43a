"""A picture lit anew in the browser, pixel by pixel against the server's own developing."""

from __future__ import annotations

import base64
import dataclasses
import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

import live_view
from sidelong.colour.adapt import BRADFORD, balance_matrix
from sidelong.colour.encode import XYZ_TO_RGB, encoded, xyz_of_rgb
from sidelong.desk.layers import packed, unpacked
from sidelong.desk.scene_light import gel_choices, white_table
from sidelong.light.exposure import card_stops, flash_loss_above_sync
from sidelong.light.values import Gel
from sidelong.picture.develop import film_exposure, film_to_linear, linear, tone
from sidelong.spectra.illuminants import flash
from sidelong.trace.values import Layers

NAMES, FLASH = ("key", "rim", "sun", "sky"), (True, True, False, False)
HEIGHT, WIDTH = 120, 180


@pytest.fixture(scope="module")
def page(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    with live_view.page_with(browser, live_view.bundle(tmp_path_factory.mktemp("bench"))) as opened:
        yield opened


def layers() -> Layers:
    """Ramps over fourteen stops in one direction and round the hues in the other; four lights that overlap, some of
    colours that sRGB cannot hold, one of steady light in thousands of lux."""
    rng = np.random.default_rng(11)
    v, u = np.meshgrid(np.linspace(-1, 1, HEIGHT), np.linspace(0, 1, WIDTH), indexing="ij")
    hue = np.stack([np.cos(2 * np.pi * (u + k / 3)) for k in range(3)], axis=-1)
    rgb = []
    for k, (depth, peak) in enumerate(((0.9, 0.6), (1.6, 0.3), (0.5, 60.0), (0.2, 9.0))):
        level = peak * 2.0 ** (7 * np.roll(v, 31 * k, axis=0))
        rgb.append(level[..., None] * (1 + depth * np.roll(hue, 40 * k, axis=1)) * rng.uniform(0.9, 1.1, hue.shape))
    xyz = np.maximum(np.stack([xyz_of_rgb(layer) for layer in rgb], axis=2), 0.0).astype(np.float32)
    nothing = np.zeros((HEIGHT, WIDTH), np.float32)
    return Layers(
        NAMES, FLASH, xyz, nothing, nothing.astype(np.int32), np.zeros((*nothing.shape, 3), np.float32),
        np.zeros((*nothing.shape, 3), np.float32), 1, 0.0,
    )  # fmt: skip


def head_of(scales: list[float]) -> dict[str, Any]:
    return {
        "width": WIDTH, "height": HEIGHT, "names": list(NAMES), "flash": list(FLASH), "scales": scales, "samples": 1,
        "f_number": 2.8, "shutter_s": 1 / 128, "iso": 100.0, "balance_K": 5500.0, "heads": [],
        "whites": white_table(),
    }  # fmt: skip


DRAWN = """([head, data, iso, balance, counts, gels]) => {
  const relit = new bench.Relit(document.createElement("canvas"), head, bench.fromBase64(data));
  relit.draw(bench.filmToLinear(head.whites, iso, balance), counts, gels);
  const pixels = bench.toBase64(relit.pixels());
  relit.dispose();
  return pixels;
}"""

SETTINGS = [
    (100.0, 5500.0, {"key": 1.0, "rim": 1.0, "sun": 1 / 128, "sky": 1 / 128}),
    (100.0, 5500.0, {"key": 0.0, "rim": 0.0, "sun": 1 / 128, "sky": 0.0}),
    (400.0, 3200.0, {"key": 0.25, "rim": 2.0, "sun": 1 / 32, "sky": 1 / 32}),
    (1600.0, 10000.0, {"key": 4.0, "rim": 0.1, "sun": 0.002, "sky": 0.002}),
    (50.0, 2300.0, {"key": 0.01, "rim": 0.02, "sun": 1 / 500, "sky": 1 / 500}),
    (3200.0, 4000.0, {"key": 3.0, "rim": 3.0, "sun": 1.0, "sky": 1.0}),
]


@pytest.mark.parametrize(("iso", "balance", "counts"), SETTINGS)
def test_every_pixel_is_the_servers_within_one_step(
    page: Any, iso: float, balance: float, counts: dict[str, float]
) -> None:
    given = layers()
    scales, halves = packed(given)
    head = head_of(scales)
    both = dataclasses.replace(given, xyz=unpacked(head, halves.tobytes()))
    exposure = film_exposure(both, np.array([counts[n] for n in NAMES]))
    unrounded = 255 * encoded(tone(linear(exposure, iso, balance)))
    asked = [head, live_view.encoded(halves.tobytes()), iso, balance, counts, {}]
    found = pixels_of(page.evaluate(DRAWN, asked)).astype(float)
    # rounded to the nearest there, dithered by up to one step on the server: within half a step of the unrounded
    # value, and a twentieth for the graphics' single precision and powers; but where all channels pass saturation the
    # picture steps to white, by less than one, and a pixel at that very edge may fall to either side
    off = np.abs(found - unrounded).max(axis=-1)
    assert off.max() <= 1.0
    assert np.mean(off > 0.55) < 1e-3
    # half floats against the layers as traced, by the server on both sides
    exact = 255 * encoded(tone(linear(film_exposure(given, np.array([counts[n] for n in NAMES])), iso, balance)))
    assert np.quantile(np.abs(unrounded - exact), 0.999) < 0.45
    assert np.abs(found - np.floor(exact + 0.5)).max() <= 1.0


def pixels_of(text: str) -> NDArray[np.uint8]:
    return np.frombuffer(base64.b64decode(text), np.uint8).reshape(HEIGHT, WIDTH, 4)[..., :3]


@pytest.mark.parametrize("balance", [2300.0, 3200.0, 3999.0, 4000.0, 4321.0, 5500.0, 6504.0, 9300.0, 20000.0])
def test_the_balance_is_the_servers(page: Any, balance: float) -> None:
    found = page.evaluate("([w, i, b]) => bench.filmToLinear(w, i, b)", [white_table(), 200.0, balance])
    expected = film_to_linear(200.0, balance)
    # whites lie on straight lines between five mireds
    assert np.array(found).reshape(3, 3) == pytest.approx(expected, abs=3e-4 * np.abs(expected).max())


def test_other_gels_are_the_light_through_them_where_surfaces_have_no_colour(page: Any) -> None:
    """Behind another gel the white of the head's light comes out as the spectrum through that gel has it."""
    gels = (Gel("warm", 120.0, transmission=0.6), Gel("green", 0.0, duv=0.012, transmission=0.7))
    choices = gel_choices(flash(5600.0), (gels[0],), gels)
    warm, green = (next(c for c in choices if c["ids"] == [name]) for name in ("warm", "green"))
    back = np.linalg.inv(BRADFORD)
    given = np.tile(back @ np.array(warm["cones"]), (2, 2, 1, 1)).astype(np.float32)
    nothing = np.zeros((2, 2), np.float32)
    flat = Layers(("key",), (True,), given, nothing, nothing.astype(np.int32), given[:, :, 0], given[:, :, 0], 1, 0.0)
    scales, halves = packed(flat)
    head = head_of(scales) | {"width": 2, "height": 2, "names": ["key"], "flash": [True]}
    asked = [head, live_view.encoded(halves.tobytes()), 5.0, 5500.0, {"key": 1.0}, warm["cones"], green["cones"]]
    script = DRAWN.replace("counts, gels]", "counts, here, there]").replace(
        "counts, gels)", "counts, { key: bench.underOtherGels(here, there) })"
    )
    found = np.frombuffer(base64.b64decode(page.evaluate(script, asked)), np.uint8)[:3].astype(float)
    xyz = back @ np.array(green["cones"]) * 0.18 * 5.0 / 10.0
    expected = 255 * encoded(tone((XYZ_TO_RGB @ balance_matrix(5500.0) @ xyz).astype(np.float32)))
    assert np.abs(found - expected).max() < 0.8


def test_stops_move_as_the_servers_arithmetic_moves_them(page: Any) -> None:
    """Card stops from lux and lux seconds at new settings, computed anew by the server, against those moved here."""
    light = {"key": (True, 12.0), "rim": (True, 3.0), "sun": (False, 900.0), "sky": (False, 150.0)}
    old = {"shutter": 1 / 128, "iso": 200.0, "fNumber": 4.0, "powers": {"key": 0.5, "rim": 1.0},
           "shares": {"key": 1.0}, "sync": 1 / 203.19, "off": []}  # fmt: skip
    new = {"shutter": 1 / 512, "iso": 800.0, "fNumber": 5.6569, "powers": {"key": 0.125, "rim": 0.7},
           "shares": {"key": 0.55}, "sync": 1 / 203.19, "off": ["sky"]}  # fmt: skip

    def stops(name: str, at: dict[str, Any]) -> float:
        flash, amount = light[name]
        if name in at["off"]:
            return -math.inf
        factor = at["powers"].get(name, 1.0) * at["shares"].get(name, 1.0)
        loss = float(flash_loss_above_sync(at["shutter"], at["sync"])) if flash else 0.0
        return float(
            card_stops(amount * factor * 2.0**-loss, 1.0 if flash else at["shutter"], at["fNumber"], at["iso"])
        )

    point = {
        "name": "Runa",
        "lights": [{"light": n, "flash": light[n][0], "stops": stops(n, old)} for n in light],
    }
    found = page.evaluate("([p, a, b]) => bench.stopsAt(p, a, b)", [point, old, new])
    for row in found["lights"]:
        expected = stops(row["light"], new)
        assert (
            (row["stops"] == expected) if math.isinf(expected) else row["stops"] == pytest.approx(expected, abs=1e-9)
        )
    total = math.log2(sum(2.0 ** stops(n, new) for n in light))
    assert found["total"] == pytest.approx(total, abs=1e-9)
    assert found["flash"] == pytest.approx(math.log2(sum(2.0 ** stops(n, new) for n in ("key", "rim"))), abs=1e-9)

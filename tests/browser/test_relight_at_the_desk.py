"""The light view at a running desk: a draft traced, lit anew, compared with the server; settings kept in the file."""

from __future__ import annotations

import base64
import io
import json
import re
import tomllib
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from at_the_desk import saved, violations
from desk_on_air import DeskOnAir
from sidelong.colour.encode import encoded
from sidelong.desk.layers import unpacked
from sidelong.picture.develop import linear, tone

pytestmark = pytest.mark.slow


@pytest.fixture
def light(page: Any, desk: DeskOnAir) -> Any:
    """The light view with a draft in it, traced when there is none yet, and everybody metered."""
    page.goto(f"{desk.origin}/#light")
    page.wait_for_selector("text=Shutter")
    page.wait_for_timeout(500)
    offer = page.get_by_role("button", name="Trace a draft")
    if offer.is_visible():
        offer.click()
    page.wait_for_selector(".holder canvas", timeout=90_000)
    meter = page.get_by_role("button", name="Meter this shot")
    if meter.is_visible():
        meter.click()
    page.wait_for_selector("table", timeout=60_000)
    page.wait_for_timeout(300)
    return page


def shown(page: Any) -> NDArray[np.float64]:
    """Pixels of the picture in the page, 8 bit."""
    address = page.evaluate("document.querySelector('.holder canvas').toDataURL()")
    image = Image.open(io.BytesIO(base64.b64decode(address.split(",")[1]))).convert("RGB")
    return np.asarray(image).astype(float)


def layers(desk: DeskOnAir) -> tuple[dict[str, Any], NDArray[np.float32]]:
    client = desk.browser()
    try:
        picture = next(p for p in client.get("/api/pictures").json() if p["state"] == "done")
        head = client.get(f"/api/pictures/{picture['id']}/layers.json").json()
        return head, unpacked(head, client.get(f"/api/pictures/{picture['id']}/layers.bin").content)
    finally:
        client.close()


def developed(desk: DeskOnAir, factors: dict[str, float], iso: float, balance: float) -> NDArray[np.float64]:
    """The server's own picture of the layers with its lights scaled, rounded instead of dithered."""
    head, xyz = layers(desk)
    counts = [
        (1.0 if flash else head["shutter_s"]) * factors.get(name, 1.0)
        for name, flash in zip(head["names"], head["flash"], strict=True)
    ]
    exposure = np.einsum("hwlc,l->hwc", xyz.astype(np.float64), np.array(counts)).astype(np.float32)
    return np.floor(255 * encoded(tone(linear(exposure, iso, balance))) + 0.5)


def key_of(page: Any, head: dict[str, Any]) -> float:
    """The key's power on its dial over that at which it was traced: the meter's power has fewer paths' noise."""
    made = {h["name"]: h["power"] for h in head["heads"]}
    return float(2.0 ** float(page.get_by_role("slider", name="Power").get_attribute("aria-valuenow")) / made["key"])


def test_the_picture_is_the_servers_and_follows_the_dials(light: Any, desk: DeskOnAir) -> None:
    head, _ = layers(desk)
    before = key_of(light, head)
    own = developed(desk, {"key": before}, head["iso"], head["balance_K"])
    assert np.abs(shown(light) - own).max() <= 1
    light.get_by_role("switch", name="sky on").click()
    light.get_by_role("slider", name="Power").focus()
    for _ in range(2):
        light.keyboard.press("ArrowLeft")
    balance = light.get_by_role("textbox", name="Balance")
    balance.fill("3200")
    balance.press("Enter")
    light.wait_for_timeout(900)
    after = key_of(light, head)
    assert after < before
    expected = developed(desk, {"sky": 0.0, "key": after}, head["iso"], 3200.0)
    assert np.abs(shown(light) - expected).max() <= 1
    light.get_by_role("button", name="Back to the shot's").click()
    light.wait_for_timeout(600)
    assert np.abs(shown(light) - own).max() <= 1


def test_the_ladder_moves_as_the_light_does(light: Any) -> None:
    def row() -> list[float]:
        cells = light.locator("tbody tr", has_text="Ada").locator("td.figure").all_inner_texts()
        return [float(re.sub(r"[^\d.+-]", "", c.replace("−", "-")) or "nan") for c in cells]

    before = row()
    iso = light.get_by_role("textbox", name="ISO")
    iso.fill("400")
    iso.press("Enter")
    light.wait_for_timeout(300)
    assert np.array(row()) == pytest.approx(np.array(before) + 1.0, abs=0.11)


def test_kept_settings_are_in_the_file(light: Any, desk: DeskOnAir) -> None:
    light.get_by_role("slider", name="Shutter").focus()
    for _ in range(3):
        light.keyboard.press("ArrowLeft")
    gel = light.get_by_role("group", name="Gels").get_by_role("button", name="quarter CTO", exact=True)
    assert gel.get_attribute("aria-pressed") == "true"
    gel.click()
    light.get_by_role("slider", name="Power").focus()
    light.keyboard.press("ArrowLeft")
    light.wait_for_timeout(700)
    light.get_by_role("button", name="Keep these settings").click()
    saved(light)
    light.wait_for_timeout(300)
    shot = tomllib.loads(desk.file.read_text(encoding="utf-8"))["shots"][0]
    assert re.fullmatch(r"1/\d+", shot["shutter"])
    assert "gel" not in shot["lights"][0]
    assert 0 < shot["lights"][0]["power"] < 1
    assert "target" not in shot["lights"][0]
    assert json.dumps(shot["camera"]["at"]) == "[0.6, 1.0, 1.5]"


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_axe_finds_nothing(light: Any, theme: str) -> None:
    light.emulate_media(color_scheme=theme)
    assert violations(light) == []

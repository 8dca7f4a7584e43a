"""The plan under the hand: what is dragged, turned and typed is what the optics says and what the file holds."""

from __future__ import annotations

import math
import re
import tomllib
from typing import Any

import pytest

from at_the_desk import blur_computed, blur_shown, drag, grip, pixels_for_metre, saved, until
from desk_on_air import DeskOnAir

SNAP = 0.12
"""What a line through another thing may pull, at the scale of this plan. [m]"""


def table(desk: DeskOnAir, of: str, name: str) -> dict[str, Any]:
    file = tomllib.loads(desk.file.read_text(encoding="utf-8"))
    return next(one for one in file[of] if name in (one.get("name"), one.get("id")))


def at_rest(page: Any) -> float:
    """Bo's blur when no answer is on its way that would change it."""
    shown = math.nan
    while (now := blur_shown(page, "Bo")) != shown:
        shown = now
        page.wait_for_timeout(600)
    return shown


def test_the_blur_follows_the_hand_and_is_what_the_optics_says(plan: Any, desk: DeskOnAir) -> None:
    before = blur_shown(plan, "Bo")
    drag(plan, "person:Bo", (-0.62, 0.33), let_go=False)
    until(plan, lambda: blur_shown(plan, "Bo") != before)
    held = at_rest(plan)
    assert table(desk, "people", "Bo")["at"] == [5.50, 3.10]  # not in the file while it is held
    plan.mouse.up()
    saved(plan)
    x, y = table(desk, "people", "Bo")["at"]
    assert (x, y) == (pytest.approx(4.9, abs=0.03), pytest.approx(3.45, abs=0.03))
    computed = blur_computed(desk.folder, "both", "Bo")
    assert held == pytest.approx(computed, abs=0.51)
    assert at_rest(plan) == pytest.approx(computed, abs=0.51)
    assert abs(computed - before) > 5


def test_a_drag_snaps_to_the_grid_and_alt_frees_it(plan: Any, desk: DeskOnAir) -> None:
    drag(plan, "person:Bo", (0.234, -0.456))
    saved(plan)
    for value in table(desk, "people", "Bo")["at"]:
        assert round(value / 0.05) * 0.05 == pytest.approx(value, abs=1e-9) or value in (2.4, 1.0, 2.0, 1.5, 0.6)
    plan.keyboard.down("Alt")
    drag(plan, "person:Bo", (0.113, 0.117))
    plan.keyboard.up("Alt")
    saved(plan)
    x, y = table(desk, "people", "Bo")["at"]
    assert any(abs(round(v / 0.05) * 0.05 - v) > 1e-6 for v in (x, y))


def test_arrows_move_by_a_centimetre_and_ten(plan: Any, desk: DeskOnAir) -> None:
    x, y = table(desk, "people", "Ada")["at"]
    grip(plan, "person:Ada").focus()
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowUp"):
        plan.keyboard.press(key)
    plan.wait_for_timeout(700)
    saved(plan)
    assert table(desk, "people", "Ada")["at"] == pytest.approx([x + 0.02, y + 0.10])


def test_undo_and_redo_without_limit(plan: Any, desk: DeskOnAir) -> None:
    start = table(desk, "people", "Ada")["at"]
    grip(plan, "person:Ada").focus()
    for _ in range(5):
        plan.keyboard.press("ArrowLeft")
        plan.wait_for_timeout(650)
        saved(plan)
    moved = table(desk, "people", "Ada")["at"]
    assert moved == pytest.approx([start[0] - 0.05, start[1]])
    for _ in range(5):
        plan.keyboard.press("Control+z")
    plan.wait_for_timeout(1500)
    saved(plan)
    assert table(desk, "people", "Ada")["at"] == start
    for _ in range(5):
        plan.keyboard.press("Control+Shift+z")
    plan.wait_for_timeout(1500)
    saved(plan)
    assert table(desk, "people", "Ada")["at"] == pytest.approx(moved)
    assert "# by the trestle" in desk.file.read_text(encoding="utf-8")


def test_a_face_is_turned_and_an_aim_snaps_to_somebody(plan: Any, desk: DeskOnAir) -> None:
    grip(plan, "light:key").focus()
    plan.keyboard.press("Enter")
    aim = grip(plan, "light:key", "aim")
    aim.wait_for()
    ada, bo = (grip(plan, f"person:{name}").locator(".reach").bounding_box() for name in ("Ada", "Bo"))
    box = aim.locator(".knob").bounding_box()
    plan.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    plan.mouse.down()
    plan.mouse.move((ada["x"] + bo["x"]) / 2, (ada["y"] + bo["y"]) / 2, steps=4)
    plan.mouse.move(bo["x"] + bo["width"] / 2, bo["y"] + bo["height"] / 2, steps=4)
    plan.mouse.up()
    saved(plan)
    shot = table(desk, "shots", "both")
    assert shot["lights"][0]["aim"] == "Bo"
    plan.keyboard.press("Escape")
    grip(plan, "person:Ada").focus()
    plan.keyboard.press("Enter")
    drag(plan, "person:Ada", (0.8, 0.0), part="turn")
    saved(plan)
    assert isinstance(table(desk, "people", "Ada")["facing"], (int, float))


def test_what_is_typed_wrong_is_told_at_its_field_and_not_written(plan: Any, desk: DeskOnAir) -> None:
    grip(plan, "person:Bo").focus()
    plan.keyboard.press("Enter")
    height = plan.locator(".form").get_by_label("height")
    height.fill("5 ft 11 in")
    height.press("Tab")
    plan.wait_for_timeout(500)
    saved(plan)
    assert table(desk, "people", "Bo")["height"] == "5 ft 11 in"
    height.fill("tall")
    with plan.expect_response(lambda r: r.url.endswith("/api/edits")) as refused:
        height.press("Tab")
    assert refused.value.status == 422
    plan.wait_for_selector('.field [aria-invalid="true"]')
    assert "expected" in plan.locator(".wrong").inner_text()
    assert table(desk, "people", "Bo")["height"] == "5 ft 11 in"


def test_what_is_being_typed_is_not_taken_away_by_what_comes_meanwhile(plan: Any, desk: DeskOnAir) -> None:
    grip(plan, "person:Bo").focus()
    plan.keyboard.press("Enter")
    form = plan.locator(".form")
    height, facing = form.get_by_label("height"), form.get_by_label("facing")
    height.fill("1.71")  # not yet done with
    text = desk.file.read_text(encoding="utf-8")
    by_hand, times = re.subn(r'(name = "Bo"\n.*\n)height = .*\nfacing = .*\n', r"\1height = 1.6\nfacing = 90\n", text)
    assert times == 1
    desk.file.write_text(by_hand, encoding="utf-8")
    until(plan, lambda: facing.input_value() == "90")
    assert height.input_value() == "1.71"
    assert "By now it is 1.6" in form.locator('[data-field="height"]').inner_text()
    height.press("Tab")
    plan.wait_for_timeout(300)
    saved(plan)
    assert table(desk, "people", "Bo")["height"] == 1.71
    assert height.input_value() == "1.71"
    # left as it was, it follows what is saved again
    height.fill("1.7")
    height.fill("1.71")
    desk.file.write_text(
        desk.file.read_text(encoding="utf-8").replace("height = 1.71", "height = 1.8"), encoding="utf-8"
    )
    plan.wait_for_timeout(700)
    height.press("Tab")
    until(plan, lambda: height.input_value() == "1.8")


@pytest.mark.parametrize("from_the_form", [True, False])
def test_escape_puts_away_what_is_chosen(plan: Any, from_the_form: bool) -> None:
    grip(plan, "person:Bo").focus()
    plan.keyboard.press("Enter")
    form = plan.locator(".form")
    name = form.get_by_label("name")
    until(plan, lambda: name.evaluate("box => box === document.activeElement"))
    assert grip(plan, "person:Bo", "turn").count() == 1
    if not from_the_form:
        name.evaluate("box => box.blur()")  # nothing has the keys now
    plan.keyboard.press("Escape")
    form.wait_for(state="detached")
    until(plan, lambda: grip(plan, "person:Bo", "turn").count() == 0)


def test_one_touch_makes_somebody_sharp_or_soft(plan: Any, desk: DeskOnAir) -> None:
    card = plan.locator('[data-person="Bo"]')
    card.get_by_role("button", name="sharp").click()
    plan.wait_for_timeout(300)
    saved(plan)
    shot = table(desk, "shots", "both")
    assert shot["sharp"] == ["Ada", "Bo"]
    assert shot["soft"] == []
    plan.locator('[data-person="Bo"]').get_by_role("button", name="soft").click()
    plan.wait_for_timeout(300)
    saved(plan)
    shot = table(desk, "shots", "both")
    assert shot["sharp"] == ["Ada"]
    assert shot["soft"] == ["Bo"]


def test_two_points_are_measured(plan: Any) -> None:
    plan.get_by_role("button", name="Measure").click()
    sheet = plan.locator("section.one svg").first.bounding_box()
    x, y = sheet["x"] + sheet["width"] / 2, sheet["y"] + sheet["height"] / 2
    plan.mouse.move(x - 50, y)
    plan.mouse.down()
    plan.mouse.move(x + 50, y, steps=3)
    plan.mouse.up()
    words = plan.locator("section.one .tape text").text_content()
    assert float(words.removesuffix(" m")) == pytest.approx(100 / pixels_for_metre(plan), abs=0.002)
    plan.get_by_role("button", name="Measure").click()


def test_two_browsers_see_each_other(plan: Any, desk: DeskOnAir) -> None:
    other = plan.context.new_page()
    other.goto(desk.origin)
    other.wait_for_selector('[data-person="Bo"]')
    drag(other, "person:Bo", (0.5, -0.5))
    saved(other)
    there = table(desk, "people", "Bo")["at"]
    plan.wait_for_timeout(800)
    for page in (plan, other):
        eyes = grip(page, "person:Bo").locator(".reach")
        at = [float(eyes.get_attribute(axis)) for axis in ("cx", "cy")]
        assert at == pytest.approx([there[0] * 100, -there[1] * 100], abs=0.2)
    other.close()


def test_openings_slide_blocks_and_the_camera_move(plan: Any, desk: DeskOnAir) -> None:
    start = desk.file.read_text(encoding="utf-8")
    drag(plan, "opening:long window", (0.7, 0.5))
    until(plan, lambda: desk.file.read_text(encoding="utf-8") != start)
    saved(plan)
    place = tomllib.loads(desk.file.read_text(encoding="utf-8"))["place"]
    window = place["rooms"][0]["openings"][0]
    assert window["along"] == pytest.approx(1.7, abs=SNAP)  # along its wall only
    assert window["sill"] == 0.9
    assert window["wall"] == "left"
    drag(plan, "block:trestle", (1.0, 0.0))
    saved(plan)
    place = tomllib.loads(desk.file.read_text(encoding="utf-8"))["place"]
    assert place["blocks"][0]["at"] == [pytest.approx(5.0, abs=SNAP), pytest.approx(2.6, abs=SNAP)]
    plane = plan.locator("section.one .cut:not(.faint) .plane")
    before = plane.get_attribute("x1")
    drag(plan, "camera:camera", (0.0, 0.6), let_go=False)
    until(plan, lambda: plane.get_attribute("x1") != before)
    plan.mouse.up()
    saved(plan)
    x, y, z = table(desk, "shots", "both")["camera"]["at"]
    assert (x, y, z) == (pytest.approx(0.6, abs=SNAP), pytest.approx(1.6, abs=SNAP), 1.5)
    up = plan.locator('section.two [data-key="camera:camera"][data-part="at"]').first
    up.focus()
    plan.keyboard.press("Shift+ArrowUp")
    plan.wait_for_timeout(700)
    saved(plan)
    assert table(desk, "shots", "both")["camera"]["at"] == [pytest.approx(x), pytest.approx(y), pytest.approx(1.6)]


def test_a_chosen_block_is_raised_in_the_elevation(plan: Any, desk: DeskOnAir) -> None:
    """Its place on the floor, which is on no grid, stays as it is."""
    grip(plan, "block:trestle").focus()
    plan.keyboard.press("Enter")
    x, y = tomllib.loads(desk.file.read_text(encoding="utf-8"))["place"]["blocks"][0]["at"]
    plan.get_by_role("button", name="Elevation", exact=True).click()
    plan.wait_for_timeout(500)
    box = plan.locator('section.two [data-key="block:trestle"] path').bounding_box()
    pixels = 0.3 * plan.evaluate(
        "() => { const s = document.querySelector('section.two svg'); return s.getBoundingClientRect().width /"
        " s.viewBox.baseVal.width * 100; }"
    )
    at = box["x"] + 5, box["y"] + box["height"] - 5
    plan.mouse.move(*at)
    plan.mouse.down()
    plan.mouse.move(at[0], at[1] - pixels, steps=6)
    plan.mouse.up()
    saved(plan)
    raised = tomllib.loads(desk.file.read_text(encoding="utf-8"))["place"]["blocks"][0]["at"]
    assert raised[:2] == [x, y]
    assert raised[2] == pytest.approx(0.3, abs=0.051)
    plan.get_by_role("button", name="Both", exact=True).click()

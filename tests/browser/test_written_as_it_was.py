"""What the hand does on the sheet is written as the file has it: its units, its words, what is asked of people."""

from __future__ import annotations

import re
import tomllib
from typing import Any

import pytest

from at_the_desk import grip, page_at, saved
from desk_on_air import SMALL, DeskOnAir
from hand_at_the_desk import Hand, named
from sidelong.units import length

FEET = (
    SMALL.replace('title = "The ropewalk"', 'title = "The ropewalk"\nunits = "imperial"')
    .replace("at = [5.50, 3.10]", 'at = ["18 ft 1/2 in",  "10 ft 2 in"]')
    .replace("at = [4.0, 2.60]", 'at = ["4000 mm", "2.6 m"]')
    .replace("along = 1.2\n", 'along = "4\'"\n')
    .replace('sharp = ["Ada"]', 'sharp = [{ who = "Ada", part = "face" }]')
    .replace('soft = ["Bo"]', 'soft = [{ who = "Bo", least = 12.0 }]')
)


@pytest.fixture(scope="module")
def desk_text() -> str:
    return FEET


def text_of(desk: DeskOnAir) -> str:
    return desk.file.read_text(encoding="utf-8")


def test_a_drag_writes_feet_where_feet_stood(browser: Any, desk: DeskOnAir) -> None:
    with page_at(browser, desk) as page:
        hand = Hand(page, desk)
        page.wait_for_selector('[data-person="Bo"]')  # the sheet has its size now
        page.wait_for_timeout(300)
        hand.drag("person:Bo", (-1.0, 0.0))
        written = re.search(r'at = \["(\d+ ft(?: \d+)? ?(?:in)?)",  "10 ft 2 in"\]', text_of(desk))
        assert written, "the length that was not moved stays to the letter"
        assert length(written[1]) < length("18 ft") - 0.5
        assert length(written[1]) / length("2 in") == pytest.approx(
            round(length(written[1]) / length("2 in")), abs=1e-6
        )
        hand.press("Close the form")  # and with it Bo's grip for turning, which lies over the trestle
        page.locator(".form").wait_for(state="detached")
        page.wait_for_timeout(300)
        hand.drag("block:trestle", (0.5, 0.0))
        assert re.search(r'at = \["4[45]\d\d mm", "2\.[56]\d* m"\]', text_of(desk))
        hand.drag("opening:long window", (0.0, 0.4))
        assert re.fullmatch(r"""[45]'( \d+( \d/\d+)?")?""", hand.file()["place"]["rooms"][0]["openings"][0]["along"])
        # a plain number stays one, in metres
        hand.drag("person:Ada", (0.3, 0.0))
        assert all(isinstance(part, float) for part in named(hand.file()["people"], "Ada")["at"])


def test_what_is_new_is_in_the_shoot_s_units(browser: Any, desk: DeskOnAir) -> None:
    with page_at(browser, desk) as page:
        hand = Hand(page, desk)
        hand.add("Person")
        made = hand.file()["people"][-1]
        assert all(re.fullmatch(r"-?\d+ ft( \d+)?( \d+/\d+)?( in)?", part) for part in made["at"])
        hand.once_more()
        again = hand.file()["people"][-1]
        assert length(again["at"][0]) == pytest.approx(length(made["at"][0]) + 0.5, abs=0.001)
        # the order of the file is in the hand too
        hand.press("Earlier")
        people = [person["name"] for person in hand.file()["people"]]
        assert people[-2:] == [again["name"], made["name"]]


def test_what_is_asked_goes_along_from_sharp_to_soft_and_back(browser: Any, desk: DeskOnAir) -> None:
    with page_at(browser, desk) as page:

        def touch(name: str, wanted: str) -> dict[str, Any]:
            page.locator(f'[data-person="{name}"] .want button', has_text=wanted).click()
            saved(page)
            shot: dict[str, Any] = tomllib.loads(text_of(desk))["shots"][0]
            return shot

        assert touch("Ada", "soft")["soft"] == [{"who": "Bo", "least": 12.0}, {"who": "Ada", "part": "face"}]
        shot = touch("Bo", "sharp")
        assert shot["sharp"] == ["Bo"], "a least blur is asked of the soft alone"
        shot = touch("Ada", "sharp")
        assert shot["sharp"] == ["Bo", {"who": "Ada", "part": "face"}]
        shot = touch("Bo", "soft")
        assert shot["soft"] == [{"who": "Bo", "least": 12.0}], "and again when they are soft again"


def test_part_and_least_blur_are_asked_for_in_the_form(browser: Any, desk: DeskOnAir) -> None:
    with page_at(browser, desk) as page:
        hand = Hand(page, desk)
        hand.press("All keys")
        asked = page.locator('[data-field="soft"] [data-asked="Bo"]')
        asked.get_by_label("what counts").select_option("whole figure")
        hand.file()
        asked.get_by_label("blur at least").fill("20")
        asked.get_by_label("blur at least").press("Tab")
        assert hand.file()["shots"][0]["soft"] == [{"who": "Bo", "least": 20, "part": "figure"}]
        assert grip(page, "person:Bo").count() == 1


def test_a_key_leaves_out_what_it_excludes(browser: Any, desk: DeskOnAir) -> None:
    with page_at(browser, desk) as page:
        hand = Hand(page, desk)
        hand.open("light:key")
        hand.write("power", "1/4")
        light = hand.file()["shots"][0]["lights"][0]
        assert light["power"] == "1/4"
        assert "target" not in light
        hand.write("stops", -0.5, "target")
        light = hand.file()["shots"][0]["lights"][0]
        assert light["target"] == {"stops": -0.5}
        assert "power" not in light
        # an inner table that lacks something yet is kept as it is, and what it lacks is told
        hand.write("at", [1.5, 0.3, 1.8], "bounce")
        assert hand.file()["shots"][0]["lights"][0]["bounce"] == {"at": [1.5, 0.3, 1.8]}
        page.locator(".band", has_text="surface").wait_for()
        hand.write("surface", "ceiling", "bounce")
        hand.write("at", None, "bounce")
        assert hand.file()["shots"][0]["lights"][0]["bounce"] == {"surface": "ceiling"}
        page.locator(".band.bad").wait_for(state="detached")

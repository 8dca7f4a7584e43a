"""Sharp and soft by a touch in the strip and in the form: what the file says of another person stays as written."""

from __future__ import annotations

from typing import Any

import pytest

from at_the_desk import page_at, saved
from desk_on_air import SMALL, DeskOnAir

BO = "{who = 'Bo',  least = 12.0}"
ADA = '{ who = "Ada",  part = "face" }'


@pytest.fixture(scope="module")
def desk_text() -> str:
    return SMALL.replace('sharp = ["Ada"]', f"sharp = [{ADA}]").replace('soft = ["Bo"]', f'soft = [{BO}, "far wall"]')


def test_a_touch_of_one_leaves_what_is_asked_of_another(browser: Any, desk: DeskOnAir) -> None:
    with page_at(browser, desk) as page:
        assert "blur at least 12 µm" in page.locator('[data-person="Bo"] [data-figure="asked"]').inner_text()
        assert "whole face" in page.locator('[data-person="Ada"] [data-figure="asked"]').inner_text()
        page.locator('[data-person="far wall"] .want button', has_text="sharp").click()
        saved(page)
        text = desk.file.read_text(encoding="utf-8")
        assert f'sharp = [{ADA}, "far wall"]' in text
        assert f"soft = [{BO}]" in text
        page.locator('[data-person="Ada"] .want button', has_text="free").click()
        saved(page)
        text = desk.file.read_text(encoding="utf-8")
        assert 'sharp = ["far wall"]' in text
        assert f"soft = [{BO}]" in text

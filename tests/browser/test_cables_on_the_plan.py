"""Cables on the plan: drawn as the server leads them, following what is moved."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

import pytest

from at_the_desk import grip, page_at, saved, until, violations
from desk_on_air import SMALL, DeskOnAir
from sidelong.plan.cables import cables
from sidelong.shoot.check import load

SOCKET = """
[[kit.power]]
id = "socket"
at = [7.9, 0.2, 0.3]
cable = 3
"""


@pytest.fixture(scope="module")
def desk_text() -> str:
    return SMALL + SOCKET


@pytest.fixture
def plan(browser: Any, desk: DeskOnAir) -> Iterator[Any]:
    with page_at(browser, desk) as page:
        page.wait_for_selector("section.one .cables .cable")
        yield page


def ends(plan: Any) -> list[tuple[float, float]]:
    """First and last corner of the cable on the plan. [m]"""
    path = plan.locator("section.one .cables .cable").first.get_attribute("d")
    corners = [part.split() for part in path.replace("M", "L").split("L")[1:]]
    return [(float(x) / 100, -float(y) / 100) for x, y in (corners[0], corners[-1])]


def test_a_cable_is_drawn_measured_and_told_to_be_too_short(plan: Any, desk: DeskOnAir) -> None:
    shoot = load(desk.folder)
    (cable,) = cables(shoot, shoot.shots[0])
    assert cable.too_short
    assert ends(plan) == [pytest.approx(cable.way[0], abs=1e-3), pytest.approx(cable.way[-1], abs=1e-3)]
    said = plan.locator("section.one .cables [role=img]").get_attribute("aria-label")
    assert f"{cable.length:.1f} m, the kit has 3.0 m" in said
    assert f"{cable.length:.1f} m, the kit has 3.0 m" in plan.locator("section.one .names").text_content()
    assert plan.locator("section.two .cables .cable").count() == 1
    assert violations(plan) == []


def test_a_socket_is_moved_by_the_keys_and_its_cable_follows(plan: Any, desk: DeskOnAir) -> None:
    grip(plan, "kit:power/socket").focus()
    plan.keyboard.press("Shift+ArrowLeft")
    plan.wait_for_timeout(900)
    saved(plan)
    at = tomllib.loads(desk.file.read_text(encoding="utf-8"))["kit"]["power"][0]["at"]
    assert at == pytest.approx([7.8, 0.2, 0.3])
    until(plan, lambda: abs(ends(plan)[0][0] - 7.8) < 1e-3)
    assert "cable = 3" in desk.file.read_text(encoding="utf-8")

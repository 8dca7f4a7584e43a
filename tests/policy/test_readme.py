"""What the README and the other documents promise is there."""

from __future__ import annotations

import re
import tomllib

import pytest

from source_tree import ROOT, report

PAGES = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")])
LINK = re.compile(r"\]\(([^)#\s]+)(?:#[^)]*)?\)")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_and_pictures_lead_somewhere(page) -> None:
    targets = [link for link in LINK.findall(page.read_text(encoding="utf-8")) if "://" not in link]
    broken = [link for link in targets if not (page.parent / link).exists()]
    assert not broken, report(broken, f"{page.name} points at files that are not there.")


@pytest.mark.parametrize("name", ["run", "test"])
def test_every_package_is_justified(name: str) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    rows = {cell.strip().lower() for row in re.findall(r"(?m)^\| ([\w, -]+?) \|", readme) for cell in row.split(",")}
    needed = re.findall(r"(?m)^([A-Za-z][\w.-]*)", (ROOT / "requirements" / f"{name}.in").read_text())
    missing = [need for need in needed if need.lower() not in rows]
    assert not missing, report(missing, "Say in the README's tables what the package is for, or do without it.")


def test_the_two_commands_come_first() -> None:
    blocks = re.findall(r"```\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL)
    assert blocks[0].split("\n")[:2] == ["python3 start.py demo", "python3 start.py test"]


def test_changelog_tells_when_answers_move() -> None:
    assert "### News that moves printed answers" in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")


def test_floor_plan_has_ten_stops_that_exist() -> None:
    text = (ROOT / "FLOORPLAN.md").read_text(encoding="utf-8")
    stops = re.findall(r"(?m)^## \d+\. .*?\(`(.+?)`\)", text)
    missing = [stop for stop in stops if not (ROOT / stop).is_file()]
    assert len(stops) == 10
    assert not missing, report(missing, "FLOORPLAN.md leads to files that are not there: follow the move.")


def test_floor_plan_has_the_layers_that_are_checked() -> None:
    contract = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]["contracts"][0]["layers"]
    drawn = re.findall(r"```\n(.*?)```", (ROOT / "FLOORPLAN.md").read_text(encoding="utf-8"), re.DOTALL)[-1]
    rows = [re.split(r"\s{2,}", line)[0] for line in drawn.strip().splitlines()]
    assert rows == contract

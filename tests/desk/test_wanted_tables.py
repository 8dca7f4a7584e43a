"""Who shall be sharp and soft by tables: what a table says of one stays as it is written when another is touched."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from sidelong.shoot.edit_values import RenameEdit, SetEdit
from sidelong.shoot.edits import Edited, apply_edits

BO = "{who = 'Bo',  least = 120.0}"
CY = '{ who = "Cy", part = "face" }'
FACE = {"who": "Cy", "part": "face"}
TEXT = f"""sidelong = 1
[[people]]
name = "Ada"
at = [1, 2]
[[people]]
name = "Bo"
at = [2, 2]
[[shots]]
id = "one"
sharp = ["Ada", {CY}]  # her first
soft = [
  {BO},  # far off
  "Di",
]
"""


def edited(*edits: Any) -> Edited:
    return apply_edits(TEXT, tomllib.loads(TEXT), edits)


@pytest.mark.parametrize(
    "wanted",
    [[FACE], [FACE, "Di"], ["Ada", FACE, "Di"]],
)
def test_a_list_that_is_set_keeps_the_spelling_of_what_stays(wanted: list[Any]) -> None:
    done = edited(SetEdit(path=["shots", 0, "sharp"], value=wanted))
    assert done.data["shots"][0]["sharp"] == wanted
    assert CY in done.text
    assert BO in done.text
    back = apply_edits(done.text, done.data, done.inverse)
    assert back.data == tomllib.loads(TEXT)
    assert CY in back.text


def test_taking_the_last_one_away_keeps_the_table_and_its_comment() -> None:
    done = edited(SetEdit(path=["shots", 0, "soft"], value=[{"who": "Bo", "least": 120}]))
    assert f"  {BO},  # far off" in done.text


def test_a_rename_is_followed_inside_the_table() -> None:
    done = edited(RenameEdit(path=["people", 1, "name"], value="Beatrix"))
    assert done.data["shots"][0]["soft"] == [{"who": "Beatrix", "least": 120.0}, "Di"]
    assert "least = 120.0}" in done.text

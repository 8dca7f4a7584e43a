"""docs/shoot-file.md: every table and key of the models, as the models have them; its examples are sound."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from sidelong.shoot import words
from sidelong.shoot.meanings import meanings, tables

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "shoot-file.md").read_text(encoding="utf-8")


def parts() -> dict[str, str]:
    found = re.findall(r"<!-- keys of (\w+) -->\n(.*?)<!-- end of keys -->", PAGE, re.DOTALL)
    return dict(found)


@pytest.mark.parametrize("name", tables())
def test_every_key_has_a_meaning_and_a_row(name: str) -> None:
    known = meanings()[name]
    keys = list(tables()[name].model_fields)
    assert set(known) == set(keys), "a sentence under the key in the model: What it means. [unit; left out]"
    assert name in parts(), f"a part of docs/shoot-file.md with <!-- keys of {name} -->"
    rows = dict(re.findall(r"(?m)^\| `(\w+)` \| (.*) \|$", parts()[name]))
    assert list(rows) == list(known), "python tools/make_shoot_page.py"
    for key, meaning in known.items():
        cells = rows[key].replace("`", "").split(" | ")
        usual = "**required**" if meaning.usual == "required" else meaning.usual
        assert cells == [meaning.unit, usual, meaning.text.replace("`", "")], "python tools/make_shoot_page.py"


@pytest.mark.parametrize("matter", ["FINISH", "BLOCK", "SKIN", "CLOTHES", "BUILD"])
def test_every_word_is_listed(matter: str) -> None:
    part = re.search(rf"<!-- words of {matter} -->\n(.*)\n<!-- end of words -->", PAGE)
    assert part is not None
    listed = tuple(re.findall(r"`([^`]+)`", part.group(1)))
    assert listed == getattr(words, matter).words, "python tools/make_shoot_page.py"


@pytest.mark.parametrize("name", tables())
def test_what_is_required_is_said_to_be(name: str) -> None:
    fields = tables()[name].model_fields
    required = {key for key, meaning in meanings()[name].items() if meaning.usual == "required"}
    assert required == {key for key, field in fields.items() if field.is_required()}


def test_every_example_is_toml_with_keys_of_the_format() -> None:
    examples = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    assert len(examples) > 15
    known = {key for table in tables().values() for key in table.model_fields}
    for example in examples:
        waiting: list[object] = [tomllib.loads(example)]
        while waiting:
            item = waiting.pop()
            if isinstance(item, dict):
                assert set(item) <= known
                waiting += item.values()
            elif isinstance(item, list):
                waiting += item

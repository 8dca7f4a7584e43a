"""Every verb, key and error is documented; every decision page answers its four questions."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import re
import typing
from collections.abc import Iterator
from typing import Any

import pytest

from sidelong import errors
from sidelong.cli.app import VERBS
from sidelong.shoot.model import ShootFile
from source_tree import ROOT, report

PAGES = sorted((ROOT / "docs" / "decisions").glob("*.md"))
FOUR_PARTS = ("question", "measured", "choice", "what would change it")


def docs() -> str:
    pages = [*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")]
    return "\n".join(page.read_text(encoding="utf-8") for page in pages)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_decisions_have_their_four_parts(page: Any) -> None:
    heads = [head.strip().lower() for head in re.findall(r"(?m)^#+ (.+)$", page.read_text(encoding="utf-8"))]
    missing = [part for part in FOUR_PARTS if not any(part in head for head in heads)]
    advice = 'A decision page has the headings "Question", "Measured", "Choice" and "What would change it".'
    assert not missing, report([f"{page.relative_to(ROOT)} lacks: {part}" for part in missing], advice)


def test_there_are_decisions() -> None:
    assert PAGES


def test_every_error_is_documented() -> None:
    text = docs()
    kinds = [n for n, v in vars(errors).items() if inspect.isclass(v) and issubclass(v, errors.SidelongError)]
    missing = [name for name in kinds if f"`{name}`" not in text]
    assert len(kinds) > 5
    assert not missing, report(missing, "Say in docs/errors.md when it comes and what to do about it.")


def test_error_tree_in_the_docstring_is_whole() -> None:
    kinds = [n for n, v in vars(errors).items() if inspect.isclass(v) and issubclass(v, errors.SidelongError)]
    missing = [name for name in kinds if name not in (errors.__doc__ or "")]
    assert not missing, report(missing, "Draw it into the tree at the top of src/sidelong/errors.py.")


def test_every_verb_is_documented() -> None:
    page = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    missing = [verb for verb in VERBS if f"`sidelong {verb}" not in page or f"sidelong {verb}" not in readme]
    assert not missing, report(missing, "Describe `sidelong VERB ...` in docs/commands.md; name it in README.md.")


def options(function: Any) -> list[str]:
    """The options of a verb: its keyword-only arguments, and the fields of one that is a dataclass."""
    found = []
    hints = typing.get_type_hints(function)
    for name, parameter in inspect.signature(function).parameters.items():
        if dataclasses.is_dataclass(hints.get(name)):
            found += [field.name for field in dataclasses.fields(hints[name])]
        elif parameter.kind is parameter.KEYWORD_ONLY:
            found.append(name)
    return [f"--{name.replace('_', '-')}" for name in found]


@pytest.mark.parametrize("verb", VERBS)
def test_every_option_is_documented(verb: str) -> None:
    page = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")
    module, _, name = VERBS[verb][0].partition(":")
    part = page.partition(f"`sidelong {verb}")[2].partition("\n## ")[0]
    missing = [option for option in options(getattr(importlib.import_module(module), name)) if option not in part]
    assert not missing, report(missing, f"Describe it under `sidelong {verb}` in docs/commands.md.")


def keys(schema: Any) -> Iterator[str]:
    """Every name of a key in a JSON Schema."""
    if isinstance(schema, dict):
        yield from schema.get("properties", {})
        for part in schema.values():
            yield from keys(part)
    elif isinstance(schema, list):
        for part in schema:
            yield from keys(part)


def test_every_key_of_the_shoot_file_is_documented() -> None:
    page = (ROOT / "docs" / "shoot-file.md").read_text(encoding="utf-8")
    named = {key for key in keys(ShootFile.model_json_schema()) if isinstance(key, str)}
    missing = sorted(key for key in named if not re.search(rf"`[^`\n]*\b{re.escape(key)}\b[^`\n]*`", page))
    assert len(named) > 50
    assert not missing, report(missing, "Describe the key in docs/shoot-file.md, in backticks.")

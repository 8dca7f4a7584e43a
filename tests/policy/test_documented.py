"""Every verb, key and error is documented; every decision page answers its four questions."""

from __future__ import annotations

import inspect
import re
from typing import Any

import pytest

from sidelong import errors
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

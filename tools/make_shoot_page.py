"""Bring the tables of docs/shoot-file.md up to date with the models of the shoot file.

Run it after a change to a key: python tools/make_shoot_page.py
"""

from __future__ import annotations

import re
from pathlib import Path

from sidelong.shoot import words
from sidelong.shoot.meanings import meanings

PAGE = Path(__file__).resolve().parents[1] / "docs" / "shoot-file.md"
_PART = re.compile(r"<!-- keys of (?P<table>\w+) -->\n.*?<!-- end of keys -->", re.DOTALL)
_WORDS = re.compile(r"<!-- words of (?P<matter>\w+) -->\n.*?<!-- end of words -->", re.DOTALL)


def with_tables(page: str) -> str:
    """The page with the table of keys, or the list of words, behind every mark made anew."""
    page = _PART.sub(lambda part: _marked(part["table"]), page)
    return _WORDS.sub(lambda part: _listed(part["matter"]), page)


def _listed(matter: str) -> str:
    vocabulary: words.Vocabulary = getattr(words, matter)
    said = ", ".join(f"`{word}`" for word in vocabulary.words)
    return f"<!-- words of {matter} -->\n{said}.\n<!-- end of words -->"


def _marked(table: str) -> str:
    rows = ["| key | unit | left out | meaning |", "|---|---|---|---|"]
    for key, meaning in meanings()[table].items():
        usual = "**required**" if meaning.usual == "required" else _code(meaning.usual)
        rows.append(f"| `{key}` | {meaning.unit} | {usual} | {_code(meaning.text)} |")
    return "\n".join([f"<!-- keys of {table} -->", *rows, "<!-- end of keys -->"])


def _code(text: str) -> str:
    """Values in quotes and examples in brackets as code."""
    return re.sub(r'("[^"]*")', r"`\1`", text).replace("|", "\\|")


if __name__ == "__main__":
    PAGE.write_text(with_tables(PAGE.read_text(encoding="utf-8")), encoding="utf-8")

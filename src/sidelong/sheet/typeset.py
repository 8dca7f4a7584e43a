"""The one door to the PDF engine: a template, data and files in, the bytes of a PDF out."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sidelong.errors import Missing

FIXED_TIME = datetime(2000, 1, 1, tzinfo=UTC)
"""Stands in a PDF of which nothing else tells the day: no clock is read, so the same shoot gives the same bytes."""


def typeset(template: str, data: Mapping[str, Any], files: Mapping[str, bytes], fonts: Path, when: datetime) -> bytes:
    """A PDF of a typst template that reads `contents.json` and the files beside it.

    `when` is the day written into the PDF. The user's words travel as JSON and are never part of the template.
    PDF/A-2b where every character has a glyph in the fonts; else plain PDF, in which a missing character shows as
    a box.

    Raises
    ------
    Missing
        The PDF engine is not installed.
    """
    try:
        import typst  # late: slow import
    except ImportError as fault:
        raise Missing(
            "the PDF engine (Python package typst) is not installed; the drawings in the terminal and all numbers "
            "still work; install it with: pip install typst"
        ) from fault
    with tempfile.TemporaryDirectory(prefix="sidelong-") as name:
        folder = Path(name)
        (folder / "book.typ").write_text(template, encoding="utf-8")
        (folder / "contents.json").write_text(json.dumps(data, ensure_ascii=True, sort_keys=True), encoding="utf-8")
        for file, content in files.items():
            (folder / file).write_bytes(content)
        compiler = typst.Compiler(
            str(folder / "book.typ"), root=str(folder), font_paths=[str(fonts)], ignore_system_fonts=True
        )
        stamp = int(when.timestamp())
        try:
            made = compiler.compile(format="pdf", timestamp=stamp, pdf_standards=["a-2b"])
        except typst.TypstError as fault:
            if "PDF/A" not in str(fault):
                raise
            made = compiler.compile(format="pdf", timestamp=stamp)
        assert isinstance(made, bytes)
        return made

"""The keys of the desk's forms are those of the shoot file."""

from __future__ import annotations

import runpy

from source_tree import ROOT


def test_the_forms_have_every_key() -> None:
    made = runpy.run_path(str(ROOT / "tools" / "make_desk_keys.py"))["keys_page"]()
    kept = (ROOT / "web" / "src" / "form" / "keys.json").read_text(encoding="utf-8")
    assert kept == made, "Run: python tools/make_desk_keys.py"

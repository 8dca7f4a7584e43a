"""The version gate: which versions of the shoot file this program reads, and what to do about the others."""

from __future__ import annotations

from typing import Any

from sidelong.errors import Fault
from sidelong.shoot.document import Document, shown

VERSION = 1
"""The version that this program writes, and the newest that it reads."""


def version_fault(document: Document) -> Fault | None:
    """The fault of a file whose version is absent or not ours, None when we read it as it is."""
    found: Any = document.data.get("sidelong")
    first_line = f"sidelong = {VERSION}"
    if found is None:
        return Fault(
            document.name, 1, 1, "no version", f"{first_line} at the top", "add that line if this is a shoot file"
        )
    if isinstance(found, bool) or not isinstance(found, int) or found < 1:
        return document.fault(("sidelong",), shown(found), first_line)
    if found > VERSION:
        hint = "this file was made for a newer Sidelong: update the program, and leave the file as it is"
        return document.fault(("sidelong",), f"version {shown(found)}", f"{first_line} or lower", hint)
    return None

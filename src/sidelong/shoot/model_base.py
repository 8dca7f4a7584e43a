"""What every table of the shoot file shares: strict, closed, unchangeable."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict


class Table(BaseModel):
    """A table of the file: no key but those named, no silent conversion."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


def as_table(key: str) -> Any:
    """A converter that lets a bare value stand for a table with one key, `key`."""
    return lambda value: value if isinstance(value, (dict, Table)) else {key: value}

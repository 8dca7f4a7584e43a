"""Changes to a shoot file as values: set, add, remove, move, rename, each at a path of its tables."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

LONGEST_VALUE = 100_000
"""Of a value as TOML text. [characters]"""
_Position = Annotated[int, Field(ge=0, le=100_000)]
_Written = Annotated[str, Field(max_length=LONGEST_VALUE)]


class _Change(BaseModel):
    """No key but those named, no silent conversion."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, populate_by_name=True)


class Named(_Change):
    """A step of a path: the list's item whose name or id it is."""

    name: Annotated[str, Field(alias="is", min_length=1, max_length=200)]


Step = Annotated[str, Field(min_length=1, max_length=200)] | _Position | Named
Steps = Annotated[list[Step], Field(min_length=1, max_length=12)]


class SetEdit(_Change):
    """Give the key or list item at a path a value; the tables above it are made where they are absent.

    `written` is how the value stood in the file, as TOML; it is used where it still means the value.
    """

    op: Literal["set"] = "set"
    path: Steps
    value: Any
    written: _Written | None = None


class AddEdit(_Change):
    """Put an item into the list at a path, before position `at`, or at its end."""

    op: Literal["add"] = "add"
    path: Steps
    value: Any
    at: _Position | None = None


class RemoveEdit(_Change):
    """Take away the key or list item at a path."""

    op: Literal["remove"] = "remove"
    path: Steps


class MoveEdit(_Change):
    """Move a list's item to another position of its list."""

    op: Literal["move"] = "move"
    path: Steps
    to: _Position


class RenameEdit(_Change):
    """Give the name or id at a path another value, and change everything that refers to it."""

    op: Literal["rename"] = "rename"
    path: Steps
    value: Annotated[str, Field(min_length=1, max_length=100)]


Edit = Annotated[SetEdit | AddEdit | RemoveEdit | MoveEdit | RenameEdit, Field(discriminator="op")]

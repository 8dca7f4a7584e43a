"""Values as TOML text, written as people write them, and JSON's values as the file's."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any

from sidelong.errors import InputFault

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_TIMES = ("when",)
"""Keys whose text is a date and time, which JSON has not."""


def key_text(key: str) -> str:
    """A key, in quotes where it must be."""
    return key if _BARE.fullmatch(key) else _string(key)


def value_text(value: Any) -> str:
    """A value on one line (a text of several lines on several).

    Raises
    ------
    InputFault
        The value has no form in TOML: null, or a number that is not finite.
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        if not math.isfinite(value):
            raise InputFault("found a number that is not finite; expected one that is")
        return repr(value)
    if isinstance(value, str):
        return _lines(value) if "\n" in value else _string(value)
    if isinstance(value, (datetime, date, time)):
        return value.isoformat()
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(map(value_text, value))}]"
    if isinstance(value, Mapping):
        pairs = [f"{key_text(k)} = {value_text(v)}" for k, v in value.items()]
        return f"{{ {', '.join(pairs)} }}" if pairs else "{}"
    raise InputFault(f"found {value!r:.40}; expected a value that a shoot file can hold")


def _string(text: str) -> str:
    _encodable(text)
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _lines(text: str) -> str:
    _encodable(text)
    inner = [json.dumps(line, ensure_ascii=False)[1:-1].replace("\x7f", "\\u007f") for line in text.split("\n")]
    return '"""\n' + "\n".join(inner) + '"""'


def _encodable(text: str) -> None:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise InputFault("found half a character (a lone surrogate); expected whole text") from None


def from_json(value: Any, key: str | int | None = None) -> Any:
    """A value of JSON as the file holds it: times as times, keys whose value is null left out."""
    if isinstance(value, Mapping):
        return {k: from_json(v, k) for k, v in value.items() if v is not None}
    if isinstance(value, list):
        return [from_json(v) for v in value]
    if isinstance(value, str) and key in _TIMES:
        return _moment(value)
    return value


def _moment(text: str) -> Any:
    for kind in (date, datetime):
        if len(text) <= 40 and (kind is datetime or len(text) == 10):
            try:
                return kind.fromisoformat(text)
            except ValueError:
                continue
    return text


def to_json(value: Any) -> Any:
    """The file's value as JSON carries it: times as ISO text."""
    if isinstance(value, Mapping):
        return {k: to_json(v) for k, v in value.items()}
    if isinstance(value, list):
        return [to_json(v) for v in value]
    return value.isoformat() if isinstance(value, (datetime, date, time)) else value

"""JSON of figures: numpy's numbers and arrays taken, what is not finite becomes null."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from typing import Any

from fastapi.responses import Response


def plain(value: Any) -> Any:
    """A value as JSON can carry it."""
    if value is None or isinstance(value, (bool, int, str)):
        return value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    if hasattr(value, "model_dump"):
        return value.model_dump(mode="json", by_alias=True)
    if hasattr(value, "isoformat"):
        return value.isoformat()
    if isinstance(value, Iterable):
        return [plain(v) for v in value]
    return str(value)


def plain_text(value: Any) -> str:
    """The same as text."""
    return json.dumps(plain(value), ensure_ascii=False, separators=(",", ":"), allow_nan=False)


class PlainJson(Response):
    """An answer of figures."""

    media_type = "application/json"

    def render(self, content: Any) -> bytes:
        """The body."""
        return plain_text(content).encode()

"""What every message between the desk's page and its server shares."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

Pair = tuple[float, float]
Triple = tuple[float, float, float]
Polygon = list[Pair]
Colour = Annotated[str, Field(pattern="^#[0-9a-f]{6}$")]
"""sRGB as #rrggbb."""
Id = Annotated[str, Field(min_length=1, max_length=100)]
Plain = dict[str, Any]
"""An object of plain JSON."""


class Answer(BaseModel):
    """What the server says."""

    model_config = ConfigDict(frozen=True)


class Asked(BaseModel):
    """What the page asks: no key but those named, no silent conversion."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

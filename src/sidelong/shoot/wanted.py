"""Who shall be sharp and who soft, as the shoot file says it: a name, or a table that says which part of them, and
how soft at the least."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import PlainValidator, WithJsonSchema

from sidelong.shoot.quantities import number, plain_name, refusal

PARTS = ("eyes", "face", "figure")
"""What of a person counts: the middle of the eyes, the face, the whole figure."""
_EXPECTED = 'a name, or a table such as { who = "Ada", part = "face" }'


class WantedName(str):
    """A name with what is asked of it: the `part` that counts, and the `least` blur [m], 0 where none is stated."""

    part: str
    least: float

    def __new__(cls, name: str, part: str = "eyes", least: float = 0.0) -> WantedName:
        """A name, its part and its least blur [m]."""
        made = super().__new__(cls, name)
        made.part, made.least = part, least
        return made


def _reader(keys: tuple[str, ...]) -> Any:
    def wanted_names(value: Any) -> tuple[WantedName, ...]:
        given = value if isinstance(value, list) else [value]
        if len(given) > 1000:
            raise refusal("at most 1000 names")
        return tuple(_one(item, keys) for item in given)

    return wanted_names


def _one(value: Any, keys: tuple[str, ...]) -> WantedName:
    table = value if isinstance(value, dict) else {"who": value}
    if "who" not in table:
        raise refusal(_EXPECTED)
    name = plain_name(table["who"])
    unknown = [key for key in table if key not in keys]
    if unknown:
        raise refusal(f"a table with {', '.join(keys)}")
    part = table.get("part", "eyes")
    if part not in PARTS:
        raise refusal('the part "eyes", "face" or "figure"')
    least = table.get("least", 0.0)
    return WantedName(name, part, number(0.0, 100000.0, "a least blur in micrometres on the film,")(least) * 1e-6)


def _schema(keys: dict[str, Any]) -> dict[str, Any]:
    properties = {"who": {"type": "string"}, **keys}
    one = [
        {"type": "string"},
        {"type": "object", "properties": properties, "required": ["who"], "additionalProperties": False},
    ]
    return {"anyOf": [{"type": "string"}, {"type": "array", "items": {"anyOf": one}}]}


_PART = {"part": {"enum": list(PARTS)}}
SharpNames = Annotated[
    tuple[WantedName, ...], PlainValidator(_reader(("who", "part"))), WithJsonSchema(_schema(_PART))
]
SoftNames = Annotated[
    tuple[WantedName, ...],
    PlainValidator(_reader(("who", "part", "least"))),
    WithJsonSchema(_schema({**_PART, "least": {"type": "number"}})),
]
HELD = 0.5
"""What "held" lets an image move by, in per cent of the picture's width. [-]"""


def _framing(value: Any) -> float:
    per_cent = number(0.01, 100.0, '"held", or a part of the width in per cent,')
    return per_cent(HELD if value == "held" else value)


Framing = Annotated[
    float,
    PlainValidator(lambda value: _framing(value) / 100.0),
    WithJsonSchema({"anyOf": [{"const": "held"}, {"type": "number"}]}),
]
"""As a fraction of the picture's width. [-]"""

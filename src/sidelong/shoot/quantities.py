"""What people write and what it means: lengths, angles, marks, names, as types for the models of the shoot file.

Every type takes the raw value of the TOML file and gives a finite number in SI (true, not marked) or clean text;
what it cannot take it refuses with a sentence that says what was expected.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Callable
from datetime import date, datetime, time
from typing import Annotated, Any

from pydantic import BeforeValidator, PlainValidator, WithJsonSchema
from pydantic_core import PydanticCustomError

from sidelong import units

MILLIMETRE = 1e-3
FARTHEST = 1e5
"""No length of a shoot is longer than this. [m]"""
LONGEST_NAME = 100
LONGEST_TEXT = 10_000


def refusal(expected: str) -> PydanticCustomError:
    """The one error that these types raise; the checker turns it into a fault."""
    return PydanticCustomError("sidelong", "{expected}", {"expected": expected})


def _finite(value: Any, expected: str) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise refusal(expected)
    if isinstance(value, int) and abs(value) > 2**63:
        raise refusal(expected)
    if not math.isfinite(value):
        raise refusal(f"{expected}, finite")
    return float(value)


def _within(value: float, low: float, high: float, expected: str) -> float:
    if not low <= value <= high:
        raise refusal(expected)
    return value


def _length(bare: float, low: float, high: float, what: str) -> Callable[[Any], float]:
    unit = "millimetres" if bare == MILLIMETRE else "metres"
    expected = f'{what} in {unit}, or in words such as "90 mm" or "8 ft 2 in"'

    def read(value: Any) -> float:
        if isinstance(value, str):
            try:
                metres = units.length(value, bare)
            except (ValueError, OverflowError):
                raise refusal(expected) from None
        else:
            metres = _finite(value, expected) * bare
        return _within(metres, low, high, f"{what} from {low / bare:g} to {high / bare:g} {unit}")

    return read


def number(low: float, high: float, what: str) -> Callable[[Any], float]:
    """A reader of plain numbers between two bounds, both included."""
    expected = f"{what} from {low:g} to {high:g}"
    return lambda value: _within(_finite(value, expected), low, high, expected)


def _scaled(read: Callable[[Any], float], factor: float) -> Callable[[Any], float]:
    return lambda value: read(value) * factor


def _fraction(value: Any, expected: str) -> Any:
    """A number from words such as "1/4" or "0.5 s"; anything else unchanged."""
    if not isinstance(value, str):
        return value
    top, slash, bottom = value.strip().removesuffix("s").strip().partition("/")
    try:
        return float(top) / float(bottom) if slash else float(top)
    except (ValueError, ZeroDivisionError):
        raise refusal(expected) from None


def _share(value: Any) -> float:
    expected = 'a fraction of full power such as 0.25 or "1/4", above 0 and at most 1'
    return _within(_finite(_fraction(value, expected), expected), 1e-6, 1.0, expected)


def _step(value: Any) -> float:
    expected = 'a step in stops such as 0.1 or "1/3", from 0 to 3'
    return _within(_finite(_fraction(value, expected), expected), 0.0, 3.0, expected)


def _duration(value: Any) -> float:
    expected = 'a time in seconds such as 2.5 or "1/800", above 0 and at most 3600'
    return _within(_finite(_fraction(value, expected), expected), 1e-7, 3600.0, expected)


def _f_number(value: Any) -> float:
    expected = "an f-number as marked, such as 5.6, from 0.5 to 512"
    text = value.strip().removeprefix("f/") if isinstance(value, str) else value
    if isinstance(text, str):
        text = _fraction("invalid" if "/" in text else text, expected)
    return units.true_f_number(_within(_finite(text, expected), 0.5, 512.0, expected))


def _shutter(value: Any) -> float:
    expected = 'a shutter time as marked, such as "1/125" or 0.5, from 1/64000 to 3600 seconds'
    short = isinstance(value, str) and len(value) <= 20
    text = value.strip() if short else repr(_finite(value, expected))
    try:
        seconds = units.true_shutter(text)
    except (ValueError, ZeroDivisionError, OverflowError):
        raise refusal(expected) from None
    return _within(seconds, 1 / 64000, 3600.0, expected)


def _sync(value: Any) -> float:
    expected = 'a sync time as marked, such as "1/200", at most 1 second'
    return _within(_shutter(value), 1 / 64000, 1.0, expected)


def _iso(value: Any) -> float:
    expected = "an ISO speed as marked, such as 160, from 1 to 10000000"
    return units.true_iso(_within(_finite(value, expected), 1.0, 1e7, expected))


def _kelvin(value: Any) -> float:
    expected = "a colour temperature in kelvin, such as 5600, from 1000 to 40000"
    if isinstance(value, str):
        value = _fraction(value.strip().removesuffix("K"), expected)
    return _within(_finite(value, expected), 1000.0, 40000.0, expected)


def _printable(text: str, also: str, what: str) -> str:
    for character in text:
        if character in also:
            continue
        if unicodedata.category(character) in ("Cc", "Cf", "Cs", "Zl", "Zp", "Co", "Cn"):
            raise refusal(f"{what} of printable characters (it holds U+{ord(character):04X})")
    return text


def _name(value: Any) -> str:
    expected = f"a name in quotes, 1 to {LONGEST_NAME} characters long"
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) < 10**9:
        value = str(value)
    if not isinstance(value, str) or not 1 <= len(value) <= LONGEST_NAME or not value.strip():
        raise refusal(expected)
    if value != value.strip():
        raise refusal("a name without blanks at its ends")
    return _printable(value, "\u200c\u200d", "a name")


def _finish(value: Any) -> str:
    """A finish by its name; a bare number is the reflectance of a neutral surface."""
    if isinstance(value, str):
        return _name(value)
    return f"grey {number(0, 1, 'the name of a finish, or a reflectance')(value):g}"


def _word(value: Any) -> str:
    """A word that a lower layer may know; a number or a list of words is taken as it reads."""
    if isinstance(value, list) and 1 <= len(value) <= 10:
        return _name(", ".join(_word(item) for item in value)[:LONGEST_NAME])
    if isinstance(value, float):
        return f"{_finite(value, 'a word'):g}"
    return _name(value)


def _text(value: Any) -> str:
    if not isinstance(value, str) or len(value) > LONGEST_TEXT:
        raise refusal(f"text in quotes, at most {LONGEST_TEXT} characters long")
    return _printable(value, "\n\r\t\u200c\u200d", "text")


def _names(value: Any) -> tuple[str, ...]:
    if isinstance(value, str):
        value = [value]
    if not isinstance(value, list) or len(value) > 1000:
        raise refusal('a list of names such as ["Ada", "Bo"], at most 1000')
    return tuple(_name(item) for item in value)


def _moment(value: Any) -> datetime:
    expected = "a date and time such as 2026-03-14T09:30 or 2026-03-14T09:30+01:00, from the year 1700 to 2200"
    if isinstance(value, str):
        try:
            value = datetime.fromisoformat(value.strip()) if len(value) <= 40 else None
        except ValueError:
            raise refusal(expected) from None
    if isinstance(value, date) and not isinstance(value, datetime):
        value = datetime.combine(value, time(12))
    if not isinstance(value, datetime) or not 1700 <= value.year <= 2200:
        raise refusal(expected)
    return value


def _vector(value: Any, least: int, what: str) -> tuple[float, ...]:
    expected = f"{what} as {'[x, y, z]' if least == 3 else '[x, y] or [x, y, z]'} in metres"
    if not isinstance(value, list) or not least <= len(value) <= 3:
        raise refusal(expected)
    read = _length(1.0, -FARTHEST, FARTHEST, what)
    return tuple(read(item) for item in value)


def _point(value: Any) -> tuple[float, ...]:
    return _vector(value, 3, "a point")


def _floor_point(value: Any) -> tuple[float, ...]:
    point = _vector(value, 2, "a point")
    return point if len(point) == 3 else (*point, 0.0)


def _sizes(count: int, bare: float, what: str, largest: float) -> Callable[[Any], tuple[float, ...]]:
    unit = "millimetres" if bare == MILLIMETRE else "metres"
    read = _length(bare, 1e-4, largest, "a size")

    def sizes(value: Any) -> tuple[float, ...]:
        if not isinstance(value, list) or len(value) != count:
            raise refusal(f"{what} in {unit}, {count} numbers in brackets")
        return tuple(read(item) for item in value)

    return sizes


def _front_size(value: Any) -> tuple[float, ...]:
    read = _length(1.0, 1e-4, 100.0, "a size")
    if isinstance(value, list):
        return _sizes(2, 1.0, "width and height", 100.0)(value)
    across = read(value)
    return across, across


def _pixels(value: Any) -> tuple[int, int]:
    expected = "the pixels across and down, two whole numbers from 16 to 100000 in brackets"
    if not isinstance(value, list) or len(value) != 2:
        raise refusal(expected)
    across, down = (number(16, 100000, "pixels")(item) for item in value)
    if not (across.is_integer() and down.is_integer()):
        raise refusal(expected)
    return int(across), int(down)


def _pair(read: Callable[[Any], float], what: str) -> Callable[[Any], tuple[float, float]]:
    def pair(value: Any) -> tuple[float, float]:
        items = value if isinstance(value, list) else [value]
        if not 1 <= len(items) <= 2:
            raise refusal(f"{what}, one value or two in brackets")
        first, last = read(items[0]), read(items[-1])
        return min(first, last), max(first, last)

    return pair


def _name_or_point(value: Any) -> str | tuple[float, ...]:
    return _name(value) if isinstance(value, str) else _vector(value, 3, "a name or a point")


def _facing(value: Any) -> str | float | tuple[float, ...]:
    if isinstance(value, str):
        return _name(value)
    if isinstance(value, list):
        return _vector(value, 2, "a bearing in degrees, a name, or a point")
    return math.radians(number(-360, 360, "a bearing in degrees, a name, or a point [x, y]: a bearing")(value))


def _sky(value: Any) -> str | float:
    expected = '"clear", "overcast", "dark", or a turbidity from 1 to 10'
    if isinstance(value, str) and value in ("clear", "overcast", "dark"):
        return value
    return _within(_finite(value, expected), 1.0, 10.0, expected)


_LENGTH = WithJsonSchema(
    {"anyOf": [{"type": "number"}, {"type": "string"}], "description": "a length, bare or with its unit"}
)
_MARK = WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string"}]})
_NUMBER = WithJsonSchema({"type": "number"})
_VECTOR = {"type": "array", "items": {"anyOf": [{"type": "number"}, {"type": "string"}]}, "maxItems": 3}


def _degrees(low: float, high: float, what: str) -> BeforeValidator:
    return BeforeValidator(_scaled(number(low, high, f"{what} in degrees,"), math.pi / 180))


Name = Annotated[str, BeforeValidator(_name), WithJsonSchema({"type": "string", "maxLength": LONGEST_NAME})]
Word = Annotated[
    str,
    BeforeValidator(_word),
    WithJsonSchema({"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}),
]
FinishName = Annotated[str, BeforeValidator(_finish), _MARK]
Text = Annotated[str, BeforeValidator(_text), WithJsonSchema({"type": "string", "maxLength": LONGEST_TEXT})]
plain_name = _name
Names = Annotated[
    tuple[str, ...],
    PlainValidator(_names),
    WithJsonSchema({"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}),
]
Position = Annotated[float, BeforeValidator(_length(1.0, -FARTHEST, FARTHEST, "a position")), _LENGTH]
Metres = Annotated[float, BeforeValidator(_length(1.0, 1e-4, FARTHEST, "a size")), _LENGTH]
NotNegative = Annotated[float, BeforeValidator(_length(1.0, 0.0, FARTHEST, "a length")), _LENGTH]
Stature = Annotated[float, BeforeValidator(_length(1.0, 0.4, 2.6, "a height of a person")), _LENGTH]
Seat = Annotated[float, BeforeValidator(_length(1.0, 0.05, 1.5, "a height of a seat")), _LENGTH]
Distance = Annotated[float, BeforeValidator(_length(1.0, 0.1, 1000.0, "a distance")), _LENGTH]
Elevation = Annotated[float, BeforeValidator(_length(1.0, -500.0, 9000.0, "a height above the sea")), _LENGTH]
Focal = Annotated[float, BeforeValidator(_length(MILLIMETRE, 1e-3, 5.0, "a focal length")), _LENGTH]
FilmLength = Annotated[float, BeforeValidator(_length(MILLIMETRE, 1e-4, 2.0, "a length")), _LENGTH]
Displacement = Annotated[float, BeforeValidator(_length(MILLIMETRE, -0.5, 0.5, "a displacement")), _LENGTH]
PivotLength = Annotated[float, BeforeValidator(_length(MILLIMETRE, -0.5, 0.5, "a length")), _LENGTH]
ShiftRange = Annotated[float, BeforeValidator(_length(MILLIMETRE, 0.0, 0.5, "a displacement")), _LENGTH]
Micrometres = Annotated[
    float, BeforeValidator(_scaled(number(0.01, 100000, "a blur in micrometres on the film,"), 1e-6)), _NUMBER
]
Latitude = Annotated[float, _degrees(-90, 90, "a latitude"), _NUMBER]
Longitude = Annotated[float, _degrees(-180, 180, "a longitude"), _NUMBER]
Bearing = Annotated[float, _degrees(-360, 360, "a bearing"), _NUMBER]
Turn = Annotated[float, _degrees(-360, 360, "an angle"), _NUMBER]
Swing = Annotated[float, _degrees(-60, 60, "a swing or tilt"), _NUMBER]
Lean = Annotated[float, _degrees(0, 60, "a movement"), _NUMBER]
Rotation = Annotated[float, _degrees(-360, 360, "a rotation"), _NUMBER]
RotationStep = Annotated[float, _degrees(0, 360, "a step of the mount"), _NUMBER]
Beam = Annotated[float, _degrees(0.5, 179, "a full angle"), _NUMBER]
FNumber = Annotated[float, BeforeValidator(_f_number), _MARK]
Shutter = Annotated[float, BeforeValidator(_shutter), _MARK]
SyncTime = Annotated[float, BeforeValidator(_sync), _MARK]
Seconds = Annotated[float, BeforeValidator(_duration), _MARK]
Iso = Annotated[float, BeforeValidator(_iso), _NUMBER]
Kelvin = Annotated[float, BeforeValidator(_kelvin), _MARK]
Stops = Annotated[float, BeforeValidator(number(-30, 30, "stops")), _NUMBER]
StopRange = Annotated[float, BeforeValidator(number(0, 20, "stops")), _NUMBER]
Step = Annotated[float, BeforeValidator(_step), _MARK]
Power = Annotated[float, BeforeValidator(_share), _MARK]
Part = Annotated[float, BeforeValidator(number(0, 1, "a fraction")), _NUMBER]
Moment = Annotated[datetime, PlainValidator(_moment), WithJsonSchema({"type": "string", "format": "date-time"})]
Point = Annotated[tuple[float, ...], PlainValidator(_point), WithJsonSchema({**_VECTOR, "minItems": 3})]
FloorPoint = Annotated[tuple[float, ...], PlainValidator(_floor_point), WithJsonSchema({**_VECTOR, "minItems": 2})]
NameOrPoint = Annotated[
    str | tuple[float, ...],
    PlainValidator(_name_or_point),
    WithJsonSchema({"anyOf": [{"type": "string"}, {**_VECTOR, "minItems": 3}]}),
]
Facing = Annotated[
    str | float | tuple[float, ...],
    PlainValidator(_facing),
    WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string"}, {**_VECTOR, "minItems": 2}]}),
]
SkyKind = Annotated[
    str | float,
    PlainValidator(_sky),
    WithJsonSchema(
        {"anyOf": [{"enum": ["clear", "overcast", "dark"]}, {"type": "number", "minimum": 1, "maximum": 10}]}
    ),
]
_SIZES = {"type": "array", "items": {"anyOf": [{"type": "number"}, {"type": "string"}]}}
Box = Annotated[
    tuple[float, ...], PlainValidator(_sizes(3, 1.0, "length x, width y, height z", 10_000.0)), WithJsonSchema(_SIZES)
]
Extent = Annotated[
    tuple[float, ...], PlainValidator(_sizes(2, 1.0, "width and height", 1000.0)), WithJsonSchema(_SIZES)
]
FilmSize = Annotated[
    tuple[float, ...],
    PlainValidator(_sizes(2, MILLIMETRE, "the film's width and height", 2.0)),
    WithJsonSchema(_SIZES),
]
FrontSize = Annotated[
    tuple[float, ...],
    PlainValidator(_front_size),
    WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string"}, _SIZES]}),
]
Pixels = Annotated[
    tuple[int, int], PlainValidator(_pixels), WithJsonSchema({"type": "array", "items": {"type": "integer"}})
]
ShutterRange = Annotated[
    tuple[float, float], PlainValidator(_pair(_shutter, "the fastest and the slowest time")), WithJsonSchema(_SIZES)
]


def _or_flag(read: Callable[[Any], float], what: str) -> Callable[[Any], bool | tuple[float, float]]:
    pair = _pair(read, f"true, false, or {what}")
    return lambda value: value if isinstance(value, bool) else pair(value)


Free = bool | tuple[float, float]
_FREE = WithJsonSchema({"anyOf": [{"type": "boolean"}, _SIZES]})
FreeShutter = Annotated[Free, PlainValidator(_or_flag(_shutter, "the fastest and the slowest time")), _FREE]
FreeIso = Annotated[Free, PlainValidator(_or_flag(_iso, "the lowest and the highest speed")), _FREE]
FreeStop = Annotated[Free, PlainValidator(_or_flag(_f_number, "the widest and the smallest stop")), _FREE]
_apart = _pair(_length(1.0, 0.1, 1000.0, "a distance"), "the nearest and the farthest distance")
Reach = Annotated[tuple[float, float], PlainValidator(_apart), WithJsonSchema(_SIZES)]
IsoRange = Annotated[
    tuple[float, float],
    PlainValidator(_pair(_iso, "the lowest and the highest speed")),
    WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "array", "items": {"type": "number"}}]}),
]

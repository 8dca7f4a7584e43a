"""Whatever bytes or tables a shoot file holds, the check ends with a shoot or with faults, and raises nothing."""

from __future__ import annotations

import math
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sidelong.shoot.check import check
from sidelong.shoot.starter import starter_text

STARTER = starter_text()
KEYS = sorted({line.split("=")[0].strip(" #") for line in STARTER.splitlines() if "=" in line})
WORDS = st.sampled_from(
    ["Inês", "Rui", "key", "body", "ceiling", "8 ft 2 in", "1/200", "f/2.8", "nan", "-inf", "", "\u202e"]
)
NUMBERS = st.integers(-(2**63), 2**63 - 1) | st.floats() | st.sampled_from([0, -1, 1e300, 5e-324])
TIMES = st.datetimes() | st.dates() | st.times()
LEAVES = WORDS | st.text(max_size=20) | NUMBERS | st.booleans() | TIMES
VALUES = st.recursive(
    LEAVES, lambda v: st.lists(v, max_size=4) | st.dictionaries(st.sampled_from(KEYS), v, max_size=3), max_leaves=8
)

steady = settings(max_examples=50, suppress_health_check=[HealthCheck.function_scoped_fixture])


def assert_ends(path: Path) -> None:
    checked = check(path)
    assert (checked.shoot is None) == bool(checked.faults)
    for fault in checked.faults:
        assert fault.found
        assert fault.expected
        assert len(str(fault)) < 2000
        assert all(c.isprintable() or c == "\n" for c in str(fault))


@steady
@given(raw=st.binary(max_size=300))
def test_any_bytes(tmp_path: Path, raw: bytes) -> None:
    path = tmp_path / "shoot.toml"
    path.write_bytes(raw)
    assert_ends(path)


@steady
@given(start=st.integers(0, len(STARTER)), length=st.integers(0, 80), put=st.text(max_size=12))
def test_the_starter_with_a_hole(tmp_path: Path, start: int, length: int, put: str) -> None:
    path = tmp_path / "shoot.toml"
    text = STARTER[:start] + put + STARTER[start + length :]
    path.write_bytes(text.encode("utf-8", "replace"))
    assert_ends(path)


def _places(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path, *(place for key, item in inner for place in _places(item, (*path, key)))]


def _writable(value: Any) -> bool:
    if isinstance(value, dict):
        return all(_writable(v) for v in value.values())
    if isinstance(value, list):
        return all(_writable(v) for v in value)
    return not isinstance(value, str) or value.isprintable() or "\u202e" in value


@steady
@given(data=st.data())
def test_the_starter_with_another_value(tmp_path: Path, data: st.DataObject) -> None:
    tree = tomlkit.parse(STARTER).unwrap()
    place = data.draw(st.sampled_from(_places(tree)[1:]))
    value = data.draw(VALUES.filter(_writable))
    holder: Any = tree
    for step in place[:-1]:
        holder = holder[step]
    holder[place[-1]] = value
    path = tmp_path / "shoot.toml"
    try:
        text = tomlkit.dumps(tree)
    except (ValueError, TypeError, AttributeError):
        return  # what tomlkit does not write cannot reach us in this way
    path.write_text(text, encoding="utf-8")
    assert_ends(path)


@pytest.mark.parametrize("value", [math.nan, math.inf, date(1, 1, 1), datetime(9999, 12, 31, 23, 59), time(0)])
def test_awkward_values_at_every_place(tmp_path: Path, value: Any) -> None:
    path = tmp_path / "shoot.toml"
    for place in _places(tomlkit.parse(STARTER).unwrap())[1::9]:
        tree: Any = tomlkit.parse(STARTER).unwrap()
        holder = tree
        for step in place[:-1]:
            holder = holder[step]
        holder[place[-1]] = value
        path.write_text(tomlkit.dumps(tree), encoding="utf-8")
        assert_ends(path)
        assert check(path).faults

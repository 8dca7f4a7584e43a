"""The line index: exact on valid TOML, bounded on any text."""

from __future__ import annotations

import time
import tomllib

import pytest

from sidelong.shoot.lines import DEEPEST, index_lines, too_deep

TEXT = '''\
sidelong = 1 # a comment = with [brackets]
title = "a # b" # c
"quoted \\u0041" = 'literal'
[place]
air = { haze = 0.01, g = 0.7 }
[[place.rooms]]
at = [0, 1.5,   # a comment, inside
  2]
[[place.rooms.openings]]
wall = "near"
[[place.rooms.openings]]
wall = "far"
[[place.rooms]]
name = """x [ = ]
y"" """
[[place.rooms.openings]]
wall = \'left\'
[[shots]]
camera.at = [[1, 2], [3, 4]]
[shots.movement]
swing = 3
'''


def test_every_key_and_item_is_where_it_is() -> None:
    tomllib.loads(TEXT)
    index = index_lines(TEXT)
    places = {
        ("title",): (2, 9),
        ("quoted A",): (3, 19),
        ("place", "air", "g"): (5, 26),
        ("place", "rooms", 0, "at", 1): (7, 10),
        ("place", "rooms", 0, "at", 2): (8, 3),
        ("place", "rooms", 0, "openings", 1, "wall"): (12, 8),
        ("place", "rooms", 1, "name"): (14, 8),
        ("place", "rooms", 1, "openings", 0, "wall"): (17, 8),
        ("shots", 0, "camera", "at"): (19, 13),
        ("shots", 0, "camera", "at", 1, 0): (19, 23),
        ("shots", 0, "movement", "swing"): (21, 9),
    }
    assert {path: index.find(path) for path in places} == places
    assert index.find(("title",), of_key=True) == (2, 1)


def test_what_is_absent_is_looked_for_in_the_table_above() -> None:
    index = index_lines(TEXT)
    assert index.find(("shots", 0, "movement", "tilt")) == (20, 1)
    assert index.find(("place", "rooms", 1, "size")) == (13, 1)
    assert index.find(("nothing",)) == (1, 1)


def test_every_leaf_of_the_tables_is_found() -> None:
    data, index = tomllib.loads(TEXT), index_lines(TEXT)
    waiting: list[tuple[tuple[str | int, ...], object]] = [((), data)]
    seen = 0
    while waiting:
        path, value = waiting.pop()
        seen += 1
        assert path == () or path in index.spots
        inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        waiting += [((*path, key), item) for key, item in inner]
    assert seen > 30


def test_depth_is_bounded_and_strings_do_not_count() -> None:
    assert too_deep("a = " + "[" * DEEPEST + "]" * DEEPEST) is None
    assert too_deep("a = " + "[" * (DEEPEST + 1)) == 4 + DEEPEST
    assert too_deep("a = '" + "[" * 50 + '\'\nb = """' + "{" * 50 + '"""\n# ' + "[" * 50) is None
    assert too_deep(".".join("a" * (DEEPEST + 1)) + " = 1") == 0
    assert too_deep('"a" . ' * (DEEPEST + 1) + "b = 1") == 0
    assert too_deep(".".join("a" * DEEPEST) + " = 1") is None


AWKWARD = {
    "unended strings": '"""' + '\\"""' * 60_000,
    "unended literals": "'''" * 80_001,
    "quotes": '"' * 250_000,
    "backslashes": '"\\' * 120_000,
    "one word": "a" * 250_000,
    "dotted words": ("a" * 20_000 + ".") * 12,
    "short dotted words": "a.b.c.d.e=1\n" * 20_000,
    "spaced dots": ("a" + " " * 20_000 + ".") * 12,
    "comments": "#" * 250_000,
    "commas": "a=[" + "," * 250_000,
    "brackets": "a=[[1]],[[2]]," * 17_000,
}


@pytest.mark.parametrize("text", AWKWARD.values(), ids=AWKWARD.keys())
def test_awkward_text_takes_no_longer_than_its_length(text: str) -> None:
    def spent(some: str) -> float:
        start = time.process_time()
        too_deep(some)
        index_lines(some)
        return time.process_time() - start

    assert spent(text) < 1.5

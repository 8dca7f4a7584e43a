"""Where each key and value of a TOML text stands, and how deep the text nests, in one pass without recursion.

The scanner does not judge the text (tomllib does); on valid TOML its index is exact, on broken TOML it only has to
come to an end, in time proportional to the text. Source: toml1_0.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass, field

Path = tuple[str | int, ...]

DEEPEST = 12
"""Brackets inside brackets, or dots in one key, that a shoot file may have; the format itself needs five."""

# possessive throughout: no text makes a scan slower than its length
_STRING = r"""
      \"\"\"(?:[^"\\]++|\\.|"(?!""))*+(?:"{3,5}|\\?\Z)
    | '''(?:[^']++|'(?!''))*+(?:'{3,5}|\Z)
    | "(?:[^"\\\n]++|\\[^\n])*+"?
    | '[^'\n]*+'?
"""
_TOKEN = re.compile(
    rf"""
      (?P<space>[ \t]++|\#[^\n]*+)
    | (?P<newline>\r?\n)
    | (?P<string>{_STRING})
    | (?P<mark>[\[\]{{}}=,.])
    | (?P<bare>[^\s\#"'\[\]{{}}=,.]++ | .)
    """,
    re.VERBOSE | re.DOTALL,
)
_PART = r"""(?:[\w-]++|"(?:[^"\\\n]++|\\[^\n])*+"|'[^'\n]*+')"""
_NESTING = re.compile(
    rf"""
      (?P<dots>(?<![\w\-]){_PART}(?:[ \t]*+\.[ \t]*+{_PART}){{{DEEPEST}}})
    | \#[^\n]*+ | {_STRING}
    | (?P<bracket>[\[\]{{}}])
    """,
    re.VERBOSE | re.DOTALL,
)
_MOST_ITEMS = 1000
"""Items of one array whose places are kept."""


@dataclass(frozen=True)
class Spot:
    """Offsets in the text of a key and of its value."""

    key: int
    value: int


@dataclass
class LineIndex:
    """Line and column of every key path of a TOML text."""

    text: str
    spots: dict[Path, Spot] = field(default_factory=dict)
    ends: dict[Path, int] = field(default_factory=dict)
    """Offset past the value of every pair and array item."""
    headers: list[tuple[Path, int]] = field(default_factory=list)
    """Every header in the text's order: the table it opens, and its offset."""
    _starts: list[int] = field(default_factory=list)

    def position(self, offset: int) -> tuple[int, int]:
        """Line and column, counted from 1, of an offset in the text."""
        if not self._starts:
            self._starts = [0, *(m.end() for m in re.finditer("\n", self.text))]
        line = bisect_right(self._starts, offset)
        return line, offset - self._starts[line - 1] + 1

    def find(self, path: Path, of_key: bool = False) -> tuple[int, int]:
        """Line and column of the value at a path, or of its key; of the nearest table above it if it is absent."""
        for length in range(len(path), 0, -1):
            spot = self.spots.get(path[:length])
            if spot is not None:
                exact = length == len(path)
                return self.position(spot.key if of_key or not exact else spot.value)
        return 1, 1

    def line(self, number: int) -> str:
        """The text of a line, counted from 1, without its end."""
        self.position(0)
        start = self._starts[number - 1]
        end = self.text.find("\n", start)
        return self.text[start : end if end >= 0 else len(self.text)].rstrip("\r")


def too_deep(text: str) -> int | None:
    """Offset where the text first nests deeper than `DEEPEST`, None where it never does."""
    depth = 0
    for token in _NESTING.finditer(text):
        if token.lastgroup == "bracket":
            depth = max(0, depth + (1 if token.group() in "[{" else -1))
        if depth > DEEPEST or token.lastgroup == "dots":
            return token.start()
    return None


class _Scanner:
    """Walks valid TOML token by token and notes where everything stands."""

    def __init__(self, text: str) -> None:
        self.stream = (t for t in _TOKEN.finditer(text) if t.lastgroup != "space")
        self.index = LineIndex(text)
        self.table: Path = ()
        self.counts: dict[Path, int] = {}
        self.ended = False
        self.past = 0
        self.mark, self.kind, self.start = "", "newline", 0
        self._step()

    def run(self) -> LineIndex:
        while not self.ended:
            if self.kind == "newline":
                self._step()
            elif self.mark == "[":
                self._header()
            else:
                self._pair(self.table)
        return self.index

    def _step(self) -> None:
        self.past = self.start + len(self.mark)
        token = next(self.stream, None)
        if token is None:
            self.ended, self.mark, self.kind, self.start = True, "", "newline", len(self.index.text)
        else:
            self.mark, self.kind, self.start = token.group(), token.lastgroup or "", token.start()

    def _key(self) -> list[str]:
        parts: list[str] = []
        while self.kind in ("bare", "string") or self.mark == ".":
            if self.mark != ".":
                parts.append(_unquoted(self.mark))
            self._step()
        return parts

    def _resolved(self, parts: list[str]) -> Path:
        path: Path = ()
        for part in parts:
            path = (*path, part)
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        return path

    def _header(self) -> None:
        start = self.start
        self._step()
        array = self.mark == "["
        if array:
            self._step()
        parts = self._key()
        if array and parts:
            table = (*self._resolved(parts[:-1]), parts[-1])
            count = self.counts.get(table, 0)
            self.counts[table] = count + 1
            self.index.spots.setdefault(table, Spot(start, start))
            self.table = (*table, count)
        else:
            self.table = self._resolved(parts)
        self.index.spots.setdefault(self.table, Spot(start, start))
        self.index.headers.append((self.table, start))
        self._skip_line()

    def _pair(self, base: Path) -> None:
        start = self.start
        parts = self._key()
        path = (*base, *parts)
        if self.mark != "=":
            self._skip_line()
            return
        self._step()
        for length in range(len(base) + 1, len(path)):
            self.index.spots.setdefault(path[:length], Spot(start, start))
        self.index.spots.setdefault(path, Spot(start, self.start))
        self._value(path)
        self.index.ends.setdefault(path, self.past)

    def _value(self, path: Path) -> None:
        if self.mark == "[":
            self._array(path)
        elif self.mark == "{":
            self._inline_table(path)
        else:
            while self.mark not in (",", "]", "}") and self.kind != "newline":
                self._step()

    def _array(self, path: Path) -> None:
        self._step()
        item = 0
        while not self.ended and self.mark != "]":
            if self.mark == "," or self.kind == "newline":
                item += self.mark == ","
                self._step()
                continue
            if item < _MOST_ITEMS:
                self.index.spots[(*path, item)] = Spot(self.start, self.start)
            before = self.start
            self._value((*path, item))
            if self.start == before:
                self._step()
            if item < _MOST_ITEMS:
                self.index.ends[(*path, item)] = self.past
        self._step()

    def _inline_table(self, path: Path) -> None:
        self._step()
        while not self.ended and self.mark != "}":
            before = self.start
            if self.mark == "," or self.kind == "newline":
                self._step()
            else:
                self._pair(path)
            if self.start == before and not self.ended:
                self._step()
        self._step()

    def _skip_line(self) -> None:
        while self.kind != "newline":
            self._step()


def _unquoted(token: str) -> str:
    if token[:1] == "'":
        return token[1:-1]
    if token[:1] == '"':
        return re.sub(r"\\u([0-9A-Fa-f]{4})|\\U([0-9A-Fa-f]{8})|\\(.)", _escaped, token[1:-1])
    return token


def _escaped(match: re.Match[str]) -> str:
    if match.group(3):
        plain = {"n": "\n", "t": "\t", "r": "\r", "b": "\b", "f": "\f", "e": "\x1b"}
        return plain.get(match.group(3), match.group(3))
    return chr(int(match.group(1) or match.group(2), 16))


def index_lines(text: str) -> LineIndex:
    """The place of every key, table, array item and value of a valid TOML text."""
    return _Scanner(text).run()

"""Changes to the text of a shoot file that touch nothing but what they change: comments, order, spelling stay.

Each method answers the new text; the caller reads it again and holds it against what was meant (see edits.py).
A path is of keys and positions. Tables stand under headers, after dots, or in braces; all three are met.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any

from sidelong.shoot.lines import Path, index_lines
from sidelong.shoot.toml_text import key_text, value_text

HEADED = {"place", "air", "plume", "kit", "camera", "movement", "free"}
"""Tables that get a header of their own where they are new; the others stand in braces."""
ORDER = ("place", "marks", "people", "kit", "shots", "readings")
"""In which order tables stand in a file."""


class Splicer:
    """One text, its index, and the changes that can be made to it."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.end_of_line = "\r\n" if "\r\n" in text else "\n"
        self.index = index_lines(text)

    def written(self, path: Path) -> str | None:
        """How a value stands in the text; None for a table under headers, or what is absent."""
        end = self.index.ends.get(path)
        return None if end is None else self.text[self.index.spots[path].value : end]

    def replaced(self, path: Path, text: str) -> str:
        """With another text for the value at a path, which must stand there as a value."""
        return self._cut(self.index.spots[path].value, self.index.ends[path], text)

    def with_key(self, holder: Path, key: str, value: Any, written: str | None = None) -> str:
        """With a new key in the table at a path."""
        if self._in_braces(holder):
            return self._with_key_in_braces(holder, f"{key_text(key)} = {written or value_text(value)}")
        if written is None and isinstance(value, Mapping) and key in HEADED:
            return self._insert(self._end_of_own(holder), self._sections((*holder, key), value, False))
        if written is None and _is_tables(value):
            parts = [self._sections((*holder, key), item, True) for item in value]
            return self._insert(self._place_for((*holder, key)), self.end_of_line.join(parts))
        base, names = self._nearest_header(holder)
        line = f"{'.'.join(map(key_text, (*names, key)))} = {written or value_text(value)}{self.end_of_line}"
        if base is None:
            return self._insert(self._place_for(holder), f"[{_dotted(holder)}]{self.end_of_line}{line}")
        return self._put_line(self._after_pairs(base, holder), line)

    def with_item(self, path: Path, position: int, value: Any, count: int, written: str | None = None) -> str:
        """With an item in the list at a path, before a position, of `count` that it has."""
        if path in self.index.ends:
            return self._with_inline_item(path, position, written or value_text(value))
        text = written if written is not None else self._sections((*path,), value, True)
        if position < count:
            start, _ = self.spans((*path, position))[0]
            return self._cut(start, start, text + self.end_of_line)
        if count:
            _, end = self.spans((*path, count - 1))[-1]
            return self._insert(end, text)
        return self._insert(self._place_for(path), text)

    def without(self, path: Path) -> str:
        """Without the key or list item at a path."""
        last = path[-1]
        if path in self.index.ends and (isinstance(last, int) or self._in_braces(path[:-1])):
            return self._without_inline(path)
        text = self.text
        for start, end in sorted([*self._lines_of(path), *self.spans(path)], reverse=True):
            text = text[:start] + text[end:]
        return text

    def moved(self, path: Path, position: int, count: int) -> str:
        """With the list item at a path at another position of its list, of `count` that it has."""
        holder, old = path[:-1], path[-1]
        assert isinstance(old, int)
        order = [k for k in range(count) if k != old]
        order.insert(position, old)
        if holder in self.index.ends:
            pieces = [(self.index.spots[(*holder, k)].value, self.index.ends[(*holder, k)]) for k in range(count)]
            texts = [self.text[a:b] for a, b in pieces]
            text = self.text
            for (a, b), k in reversed(list(zip(pieces, order, strict=True))):
                text = text[:a] + texts[k] + text[b:]
            return text
        spans = [self.spans((*holder, k)) for k in range(count)]
        texts = ["".join(self.text[a:b] for a, b in part) for part in spans]
        where, text = spans[0][0][0], self.text
        for start, end in sorted((s for part in spans for s in part), reverse=True):
            text = text[:start] + text[end:]
        return text[:where] + self._joined([texts[k] for k in order]) + text[where:]

    def block(self, path: Path) -> str:
        """The text of everything under the headers of a table or list item, with its own comments."""
        return "".join(self.text[a:b] for a, b in self.spans(path))

    def spans(self, path: Path) -> list[tuple[int, int]]:
        """From where to where the headers of a table or list item, and of what is in it, stand with their pairs.

        Comments right above a header go with it; those that follow a blank line after the last pair stay behind.
        """
        found: list[tuple[int, int]] = []
        headers = self.index.headers
        before = -2
        for k, (table, offset) in enumerate(headers):
            if table[: len(path)] == path:
                start = found.pop()[0] if before == k - 1 else self._with_comments(offset)
                found.append((start, self._past_blank(self._pairs_end(k))))
                before = k
        return found

    def _pairs_end(self, k: int) -> int:
        """Past the line of the last pair under the k-th header, or of the header itself; -1 is the top."""
        last = self._last_pairs.get(k)
        if last is None:
            return _past_line(self.text, self.index.headers[k][1]) if k >= 0 else 0
        return _past_line(self.text, last)

    @cached_property
    def _last_pairs(self) -> dict[int, int]:
        """Past the last pair under each header, by its number; -1 is the top."""
        starts = [offset for _, offset in self.index.headers]
        found: dict[int, int] = {}
        for path, end in self.index.ends.items():
            k = bisect_right(starts, self.index.spots[path].key) - 1
            found[k] = max(found.get(k, 0), end)
        return found

    def _past_blank(self, offset: int) -> int:
        while self.text.startswith(("\n", "\r\n"), offset):
            offset = _past_line(self.text, offset)
        return offset

    def _joined(self, texts: Sequence[str]) -> str:
        """Blocks one after another, a blank line after each but where it had none at the end of the file."""
        blank = self.end_of_line * 2
        ended = [
            t if t.endswith(blank) or k == len(texts) - 1 else t.rstrip("\r\n") + blank for k, t in enumerate(texts)
        ]
        return "".join(ended)

    def _in_braces(self, path: Path) -> bool:
        """Whether the table at a path, or one around it, stands in braces."""
        return any(path[:length] in self.index.ends for length in range(1, len(path) + 1))

    def _with_comments(self, offset: int) -> int:
        """Start of the comment lines that stand right above the line at an offset, and of that line."""
        start = self.text.rfind("\n", 0, offset) + 1
        while start:
            above = self.text.rfind("\n", 0, start - 1) + 1
            if not self.text[above:start].lstrip().startswith("#"):
                break
            start = above
        return start

    def _nearest_header(self, holder: Path) -> tuple[Path | None, tuple[str, ...]]:
        """The table around `holder` (or itself) that new pairs are written under, and the keys from there to it.

        None where the table has neither header nor pairs of its own yet, and needs a header.
        """
        tables = {table for table, _ in self.index.headers} | {()}
        if holder in tables:
            return holder, ()
        for length in range(len(holder) - 1, -1, -1):
            base, names = holder[:length], holder[length:]
            if base in tables and all(isinstance(n, str) for n in names):
                dotted = any(p[: len(holder)] == holder for p in self.index.ends if self._owner(p) == base)
                return (base, tuple(map(str, names))) if dotted else (None, ())
        return None, ()

    def _owner(self, path: Path) -> Path:
        """The table under whose header a pair stands."""
        offset = self.index.spots[path].key
        owner: Path = ()
        for table, start in self.index.headers:
            if start > offset:
                break
            owner = table
        return owner

    def _number(self, table: Path) -> int:
        return next((k for k, (path, _) in enumerate(self.index.headers) if path == table), -1)

    def _after_pairs(self, base: Path, holder: Path) -> int:
        """Past the line of the last pair under a header; of `holder`'s where that is written by dots."""
        own = [
            end
            for path, end in self.index.ends.items()
            if path[: len(holder)] == holder and self._owner(path) == base
        ]
        return _past_line(self.text, max(own)) if own and holder != base else self._pairs_end(self._number(base))

    def _end_of_own(self, holder: Path) -> int:
        """Where a table new inside `holder` is put: after holder's own pairs, before its inner tables."""
        base, _ = self._nearest_header(holder)
        if base is None or (not holder and not self.index.headers):
            return self._place_for(holder)
        return self._past_blank(self._pairs_end(self._number(base))) if holder else self._place_for(holder)

    def _place_for(self, path: Path) -> int:
        """Where a new table or list goes that has no header yet: at the end of what holds it, in a file's order."""
        for length in range(len(path) - 1, 0, -1):
            spans = self.spans(path[:length])
            if spans:
                return spans[-1][1]
        inner = self.spans(path)
        if inner:
            return inner[0][0]
        rank = ORDER.index(str(path[0])) if path and path[0] in ORDER else len(ORDER)
        for table, offset in self.index.headers:
            if table and table[0] in ORDER and ORDER.index(str(table[0])) > rank:
                return self._with_comments(offset)
        return len(self.text)

    def _sections(self, path: Path, value: Mapping[str, Any], array: bool) -> str:
        """A table as text under its header, its tables and lists of tables under theirs."""
        name, end = _dotted(path), self.end_of_line
        lines, inner = [f"[[{name}]]{end}" if array else f"[{name}]{end}"], []
        for key, item in value.items():
            if isinstance(item, Mapping) and key in HEADED:
                inner.append(self._sections((*path, key), item, False))
            elif _is_tables(item):
                inner += [self._sections((*path, key), one, True) for one in item]
            else:
                lines.append(f"{key_text(key)} = {value_text(item)}{end}")
        return end.join(["".join(lines), *inner])

    def _insert(self, offset: int, section: str) -> str:
        """With sections put at an offset, a blank line before and after."""
        before, after, end = self.text[:offset], self.text[offset:], self.end_of_line
        if before and not before.endswith("\n"):
            before += end
        gap = "" if not before or before.endswith(end * 2) else end
        rest = "" if not after or after.startswith(("\n", "\r\n")) else end
        return before + gap + section.rstrip("\r\n") + end + rest + after

    def _put_line(self, offset: int, line: str) -> str:
        before = self.text[:offset]
        if before and not before.endswith("\n"):
            before += self.end_of_line
        return before + line + self.text[offset:]

    def _cut(self, start: int, end: int, text: str) -> str:
        return self.text[:start] + text + self.text[end:]

    def _with_key_in_braces(self, holder: Path, pair: str) -> str:
        end = self.index.ends[holder] - 1
        inside = self.text[self.index.spots[holder].value + 1 : end]
        kept = inside.rstrip()
        start = end - len(inside) + len(kept)
        return self._cut(start, end, f"{', ' if kept.strip() else ' '}{pair} ")

    def _with_inline_item(self, path: Path, position: int, text: str) -> str:
        here = self.index.spots.get((*path, position))
        if here is not None:
            return self._cut(here.value, here.value, f"{text}, ")
        last = self.index.ends.get((*path, position - 1)) if position else None
        if last is None:
            start = self.index.spots[path].value + 1
            return self._cut(start, start, text)
        return self._cut(last, last, f", {text}")

    def _without_inline(self, path: Path) -> str:
        """Without an item of an array or a pair in braces, and one comma."""
        start = self.index.spots[path].key if isinstance(path[-1], str) else self.index.spots[path].value
        end = self.index.ends[path]
        after = re.compile(r"[ \t]*,[ \t]*").match(self.text, end)
        if after:
            return self._cut(start, after.end(), "")
        before = re.compile(r",[ \t]*$").search(self.text[:start])
        return self._cut(before.start() if before else start, end, "")

    def _lines_of(self, path: Path) -> list[tuple[int, int]]:
        """The lines of the pairs at and under a path that stand under headers of tables around it."""
        found = []
        for pair, end in self.index.ends.items():
            inside = pair[: len(path)] == path and not any(pair[:k] in self.index.ends for k in range(1, len(pair)))
            if inside and len(self._owner(pair)) < len(path):
                start = self.text.rfind("\n", 0, self.index.spots[pair].key) + 1
                found.append((start, _past_line(self.text, end)))
        return found


def _past_line(text: str, offset: int) -> int:
    end = text.find("\n", offset)
    return len(text) if end < 0 else end + 1


def _dotted(path: Path) -> str:
    return ".".join(key_text(step) for step in path if isinstance(step, str))


def _is_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(item, Mapping) for item in value)


def means(written: str, value: Any) -> bool:
    """Whether a text is TOML for a value, on its own and for nothing besides."""
    try:
        data = tomllib.loads(f"value = {written}\n")
    except (tomllib.TOMLDecodeError, ValueError, RecursionError):
        return False
    return list(data) == ["value"] and data["value"] == value

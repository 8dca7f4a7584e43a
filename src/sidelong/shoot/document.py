"""The shoot file as text on the disk: reading with every bound checked first, parsing, editing, saving.

Reading never follows what could hurt (a device, a pipe, an endless file); saving is atomic and keeps the previous
version beside the file; nothing that could not be read is ever written.
"""

from __future__ import annotations

import contextlib
import itertools
import math
import os
import re
import stat
import tempfile
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sidelong.errors import Fault, FileFault, ShootFault
from sidelong.shoot.lines import DEEPEST, LineIndex, index_lines, too_deep
from sidelong.shoot.lines import Path as KeyPath

FILE_NAME = "shoot.toml"
BIGGEST = 256 * 1024
"""A shoot file is a few pages of text; scans, readings and frames live in files of their own. [bytes]"""
PREVIOUS = ".previous"
"""Put behind the name of the file for the version before the last saving."""
_WHERE = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$")


@dataclass
class Document:
    """A parsed shoot file: its path as the user named it, its text, its tables; the line index is made when asked."""

    path: Path
    name: str
    text: str
    data: dict[str, Any]
    _lines: LineIndex | None = None

    @property
    def folder(self) -> Path:
        """The folder that the file lies in, links resolved."""
        return self.path.resolve().parent

    @property
    def lines(self) -> LineIndex:
        """Where every key stands."""
        if self._lines is None:
            self._lines = index_lines(self.text)
        return self._lines

    def fault(self, path: KeyPath, found: str, expected: str, hint: str = "", of_key: bool = False) -> Fault:
        """A fault at a key path of this document."""
        line, column = self.lines.find(path, of_key)
        return fault_at(self.name, self.lines, line, column, found, expected, hint)


def shown(value: Any, most: int = 60) -> str:
    """A value as a message can show it: on one line, short, without control characters."""
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) > 10**30:
        return f"a whole number of {value.bit_length()} bits"
    if isinstance(value, str):
        text = f'"{value[: most + 1]}"' if len(value) <= most else f'"{value[:most]}..."'
    elif isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, dict):
        text = f"a table with {', '.join(shown(k, 20) for k in list(value)[:4]) or 'nothing in it'}"
    elif isinstance(value, list):
        inside = ", ".join(shown(v, 20) if not isinstance(v, (list, dict)) else "..." for v in value[:6])
        text = f"[{inside}{', ...' if len(value) > 6 else ''}]"
    else:
        text = str(value)
    clean = "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in text)
    return clean if len(clean) <= 3 * most else clean[: 3 * most] + "..."


def fault_at(name: str, lines: LineIndex, line: int, column: int, found: str, expected: str, hint: str = "") -> Fault:
    """A fault at a line and column, with the line itself where it is short enough to help."""
    source = lines.line(line) if line else ""
    source = "".join(c if c.isprintable() else " " for c in source) if len(source) <= 160 else ""
    if column > len(source) + 1:
        source = ""
    return Fault(name, line, column, found, expected, hint, source)


def _one_fault(name: str, found: str, expected: str, hint: str = "") -> ShootFault:
    return ShootFault([Fault(shown_name(name), 0, 0, found, expected, hint)])


def shown_name(name: str) -> str:
    """A file's name without control characters, its end kept when it is long."""
    clean = "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in name)
    return clean if len(clean) <= 200 else "..." + clean[-200:]


def locate(shoot: str | Path) -> Path:
    """The path of the shoot file that a folder or a file's name stands for.

    Raises
    ------
    ShootFault
        There is nothing at that path, or what is there is neither a folder nor a plain file.
    """
    path, name = Path(shoot), str(shoot)
    if "\0" in name:
        raise _one_fault(name, "a path with a zero character in it", "the path of a shoot's folder or file")
    try:
        if path.is_dir():
            path = path / FILE_NAME
            if path.is_dir():
                raise _one_fault(str(path), "a folder", f"a text file named {FILE_NAME}")
        kind = path.stat().st_mode
    except FileNotFoundError:
        hint = f"make a first one with: sidelong new {shown_name(name)}" if path.name == FILE_NAME else ""
        raise _one_fault(str(path), "nothing", "a shoot's folder or its shoot.toml", hint) from None
    except OSError as error:
        raise _one_fault(name, f"a path that cannot be followed ({error.strerror})", "a shoot") from None
    if not stat.S_ISREG(kind):
        raise _one_fault(str(path), "a pipe, a device or a socket", "a plain text file")
    return path


def read_text(path: Path) -> str:
    """The text of a shoot file, within its bounds of size and nesting.

    Raises
    ------
    ShootFault
        Too big, not UTF-8, empty, nested too deeply, or not readable.
    """
    name = str(path)
    try:
        # non-blocking, so that a pipe put there between the look and the opening cannot hold us
        with open(path, "rb", opener=lambda p, f: os.open(p, f | getattr(os, "O_NONBLOCK", 0))) as file:
            size = os.fstat(file.fileno()).st_size
            raw = file.read(BIGGEST + 1) if size <= BIGGEST else b""
    except OSError as error:
        raise _one_fault(name, f"a file that cannot be read ({error.strerror})", "a shoot file") from None
    if size > BIGGEST or len(raw) > BIGGEST:
        raise _one_fault(
            name,
            f"a file of {max(size, len(raw)) / 1e6:.1f} MB",
            f"a shoot file of at most {BIGGEST // 1024} KiB",
            "keep scans, readings and frames in files of their own",
        )
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        before = raw[: error.start].decode("utf-8")
        line, column = before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1
        found = f"the byte 0x{raw[error.start]:02x}, which is not UTF-8"
        fault = Fault(shown_name(name), line, column, found, "UTF-8 text", "save the file as UTF-8")
        raise ShootFault([fault]) from None
    text = text.removeprefix("\ufeff")
    if not text.strip():
        raise _one_fault(name, "an empty file", "a shoot that starts with sidelong = 1", "see: sidelong new FOLDER")
    return text


def parse(path: Path, text: str) -> Document:
    """The tables of a shoot file's text.

    Raises
    ------
    ShootFault
        Not TOML, nested too deeply, or a number that is infinite, not a number, or over 64 bits; each with its
        line and column.
    """
    name, lines = shown_name(str(path)), LineIndex(text)
    deep = too_deep(text)
    if deep is not None:
        found = f"more than {DEEPEST} levels of nesting"
        raise ShootFault([fault_at(name, lines, *lines.position(deep), found, "at most the levels the format has")])
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ShootFault([_toml_fault(name, lines, str(error))]) from None
    except (ValueError, OverflowError):
        # a whole number with thousands of digits: tomllib lets Python's own refusal through
        long = re.search(r"\d[\d_]{4000}", text)
        line, column = lines.position(long.start()) if long else (0, 0)
        fault = fault_at(name, lines, line, column, "a number too long to read", "a number of at most 64 bits")
        raise ShootFault([fault]) from None
    document = Document(path, name, text, data)
    if not _usable(data):
        expected = "a finite number of at most 64 bits"
        bad = itertools.islice(_unusable(data, ()), 50)
        raise ShootFault([document.fault(where, shown(value), expected) for where, value in bad])
    return document


def _usable(value: Any) -> bool:
    """Whether every number of the tables is finite and fits 64 bits; nesting was bounded before."""
    if isinstance(value, dict):
        return all(map(_usable, value.values()))
    if isinstance(value, list):
        return all(map(_usable, value))
    if isinstance(value, float):
        return math.isfinite(value)
    return not isinstance(value, int) or -(2**63) <= value < 2**63


def _unusable(value: Any, path: KeyPath) -> Iterator[tuple[KeyPath, Any]]:
    """Every number that is not usable, with its path."""
    if isinstance(value, (dict, list)):
        for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield from _unusable(inner, (*path, key))
    elif not _usable(value):
        yield path, value


def _toml_fault(name: str, lines: LineIndex, message: str) -> Fault:
    where = _WHERE.search(message)
    said = shown(_WHERE.sub("", message).rstrip("."), 120).strip('"')
    if where and where.group(1):
        line, column = int(where.group(1)), int(where.group(2))
    else:
        line, column = lines.position(len(lines.text.rstrip()))
    return fault_at(name, lines, line, column, f"text that is not TOML ({said})", "valid TOML 1.0")


def open_document(shoot: str | Path) -> Document:
    """The parsed shoot file of a folder or path; raises ShootFault when it cannot be read."""
    path = locate(shoot)
    return parse(path, read_text(path))


def set_value(shoot: str | Path, keys: KeyPath, value: Any) -> None:
    """Change one value of a shoot file and save it, as `set_values` does."""
    set_values(shoot, [(keys, value)])


def set_values(shoot: str | Path, changes: Sequence[tuple[KeyPath, Any]]) -> None:
    """Change values of a shoot file and save it once; comments, order and line ends stay.

    Each key path is one of names and array positions; the table that holds the last key must exist, the key may be
    new. A value None takes the key away.

    Raises
    ------
    ShootFault
        The file cannot be read as it is, or a path leads nowhere; nothing is written.
    """
    import tomlkit  # late: slow import

    document = open_document(shoot)
    tree = tomlkit.parse(document.text)
    for keys, value in changes:
        _change(document, tree, keys, value)
    text = tomlkit.dumps(tree)
    parse(document.path, text)
    save_text(document.path, text)


def _change(document: Document, tree: Any, keys: KeyPath, value: Any) -> None:
    holder = tree
    for depth, key in enumerate(keys[:-1]):
        try:
            holder = holder[key]
        except (KeyError, IndexError, TypeError):
            raise _nowhere(document, keys[: depth + 1]) from None
    last = keys[-1]
    try:
        if value is None:
            del holder[last]
        else:
            holder[last] = value
    except (KeyError, IndexError, TypeError, ValueError):
        raise _nowhere(document, keys) from None


def _nowhere(document: Document, keys: KeyPath) -> ShootFault:
    where = ".".join(str(k) for k in keys)
    return ShootFault([document.fault(keys, f"no {shown(where)}", "a key or table that the file has")])


def save_text(path: Path, text: str) -> None:
    """Write a file at once and for good: temporary file, flush to the disk, rename; the version before is kept.

    The previous version stands beside it with `.previous` behind its name. A link is followed, its target written.

    Raises
    ------
    FileFault
        The folder cannot be written, or the disk is full; the file is as it was.
    """
    target = Path(os.path.realpath(path))
    try:
        if target.exists():
            _write_over(target.with_name(target.name + PREVIOUS), target.read_bytes(), target.stat().st_mode)
        _write_over(target, text.encode("utf-8"), target.stat().st_mode if target.exists() else None)
    except OSError as error:
        raise FileFault(f"{shown_name(str(path))} could not be saved ({error.strerror}); it is as it was") from error


def _write_over(target: Path, content: bytes, mode: int | None) -> None:
    handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}-", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if mode is None:
            umask = os.umask(0)
            os.umask(umask)
            mode = 0o666 & ~umask
        os.chmod(temporary, stat.S_IMODE(mode))
        os.replace(temporary, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise
    if hasattr(os, "O_DIRECTORY"):
        folder = os.open(target.parent, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)

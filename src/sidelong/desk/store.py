"""The shoot file as the desk holds it: its versions, edits on top of any of them, changes made by others.

Every edit is in the file before it is acknowledged. What another program wrote meanwhile is read first, and an edit
that touches what it changed is refused, not written over it.
"""

from __future__ import annotations

import hashlib
import json
import zlib
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from threading import RLock
from typing import Any

from sidelong.desk.merge import conflicts_of, rebased
from sidelong.desk.messages import EditsDone, EditsRefused, EditsRequest
from sidelong.errors import Fault, InputFault, ShootFault
from sidelong.shoot.check import Checked, check_document
from sidelong.shoot.document import BIGGEST, Document, locate, parse, read_text, save_text
from sidelong.shoot.edits import apply_edits
from sidelong.shoot.toml_text import to_json
from sidelong.shoot.values import Shoot

MOST_VERSIONS = 2000
"""Versions kept to merge with and to go back to."""
_TRIES = 5
"""How often an edit begins anew because the file was written by another in that very moment."""


@dataclass(frozen=True)
class Version:
    """One version of the file, packed, with a digest of its tables; `run` counts how often others wrote so far."""

    revision: int
    packed: bytes
    digest: bytes
    run: int

    @property
    def text(self) -> str:
        """The file's text."""
        return zlib.decompress(self.packed).decode()


@dataclass(frozen=True)
class Now:
    """The newest version, checked. `data` is of the last that could be read; `checked.document` None tells that this
    one could not."""

    revision: int
    text: str
    data: dict[str, Any]
    checked: Checked


class Clash(Exception):
    """An edit touches what was changed since the version it was made on; `answer` tells what."""

    def __init__(self, answer: EditsRefused) -> None:
        self.answer = answer
        super().__init__("changed by another meanwhile")


class Faulty(ShootFault):
    """An edit would leave faults that the file has not; `document` is the file as it would be."""

    def __init__(self, faults: Sequence[Fault], document: Document) -> None:
        self.document = document
        super().__init__(faults)


class ShootStore:
    """One shoot file. Every method may be called from any thread."""

    def __init__(self, shoot: Path) -> None:
        self.path = locate(shoot)
        self.folder = self.path.resolve().parent
        self.lock = RLock()
        self._versions: OrderedDict[int, Version] = OrderedDict()
        self._listeners: list[Callable[[int], None]] = []
        self._seen: tuple[int, ...] | None = None
        self._run = 0
        self._good: Now | None = None
        self._now = self._read(1, {})

    def on_change(self, tell: Callable[[int], None]) -> None:
        """Have a function called with every new revision, in whatever thread made it."""
        self._listeners.append(tell)

    def now(self) -> Now:
        """The newest version, the file looked at again."""
        with self.lock:
            self.look()
            return self._now

    def good(self) -> Now | None:
        """The newest version that could be composed; None if there was none yet."""
        with self.lock:
            self.look()
            return self._good

    def look(self) -> bool:
        """Read the file again if it was written by another; whether its text is another."""
        with self.lock:
            if _stamp(self.path) == self._seen:
                return False
            before = self._now
            self._run += 1
            self._now = self._read(before.revision + 1, before.data)
            if self._now.text == before.text and self._now.checked.faults == before.checked.faults:
                self._versions.pop(self._now.revision, None)
                self._now, self._run = before, self._run - 1
                return False
        self._tell()
        return True

    def save(self, asked: EditsRequest) -> EditsDone:
        """Save edits made on a version, on top of the newest.

        Raises
        ------
        Clash
            A path that they touch was changed to something else since that version; nothing is written.
        Faulty
            The file would have faults that it has not, and they were not allowed; nothing is written.
        InputFault
            An edit leads nowhere; nothing is written.
        FileFault
            The file cannot be written.
        """
        with self.lock:
            for _ in range(_TRIES):
                done = self._try_to_save(asked)
                if done is not None:
                    break
            else:
                raise Clash(EditsRefused(revision=self._now.revision, conflicts=[]))
        self._tell()
        return done

    def _try_to_save(self, asked: EditsRequest) -> EditsDone | None:
        """The same; None where another wrote the file between reading and writing."""
        self.look()
        before = self._now
        if before.checked.document is None:
            raise ShootFault(before.checked.faults)
        base = self._data_of(asked.base)
        found = conflicts_of(asked.edits, base, before.data)
        if found:
            raise Clash(EditsRefused(revision=before.revision, conflicts=found))
        edited = apply_edits(before.text, before.data, [rebased(e, base, before.data) for e in asked.edits])
        if edited.text == before.text:
            return EditsDone(revision=before.revision, inverse=[])
        text = self._earlier(edited.data) or edited.text
        if len(text.encode()) > BIGGEST:
            raise InputFault(f"the file would grow over {BIGGEST // 1024} KiB, the most it may have")
        document = parse(self.path, text)
        checked = check_document(document)
        if not asked.allow_faults:
            _refuse_new_faults(before.checked, checked, document)
        if _stamp(self.path) != self._seen:
            return None
        save_text(self.path, text)
        self._seen = _stamp(self.path)
        self._now = self._keep(Now(before.revision + 1, text, document.data, checked))
        return EditsDone(revision=self._now.revision, inverse=list(edited.inverse))

    def _read(self, revision: int, last: dict[str, Any]) -> Now:
        """The file as it is on the disk; what cannot be read is told as faults beside the `last` tables."""
        self._seen = _stamp(self.path)
        text = ""
        try:
            text = read_text(self.path)
            document = parse(self.path, text)
        except ShootFault as fault:
            return self._keep(Now(revision, text, last, Checked(fault.faults, (), None, None)))
        return self._keep(Now(revision, text, document.data, check_document(document)))

    def _keep(self, now: Now) -> Now:
        packed = zlib.compress(now.text.encode())
        self._versions[now.revision] = Version(now.revision, packed, _digest(now.data), self._run)
        while len(self._versions) > MOST_VERSIONS:
            self._versions.popitem(last=False)
        if now.checked.asked is not None:
            self._good = now
        return now

    def _earlier(self, data: dict[str, Any]) -> str | None:
        """The text of an earlier version that says the same, if none but the desk wrote since: so that what is taken
        back comes back to the letter."""
        digest = _digest(data)
        for version in reversed(self._versions.values()):
            if version.run != self._run:
                return None
            if version.digest == digest:
                return version.text
        return None

    def _data_of(self, revision: int) -> dict[str, Any]:
        if revision == self._now.revision:
            return self._now.data
        version = self._versions.get(revision)
        if version is None:
            raise Clash(EditsRefused(revision=self._now.revision, conflicts=[]))
        try:
            return parse(self.path, version.text).data
        except ShootFault:
            raise Clash(EditsRefused(revision=self._now.revision, conflicts=[])) from None

    def _tell(self) -> None:
        for tell in self._listeners:
            tell(self._now.revision)


def composed(now: Now) -> Shoot:
    """The shoot of a version that could be composed."""
    shoot = now.checked.asked
    assert shoot is not None
    return shoot


def _refuse_new_faults(before: Checked, after: Checked, document: Document) -> None:
    old = {(f.found, f.expected) for f in before.faults}
    new = [f for f in after.faults if (f.found, f.expected) not in old]
    if new:
        raise Faulty(new, document)


def _digest(data: dict[str, Any]) -> bytes:
    text = json.dumps(to_json(data), sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(text.encode()).digest()


def _stamp(path: Path) -> tuple[int, ...] | None:
    try:
        told = path.stat()
    except OSError:
        return None
    return told.st_ino, told.st_size, told.st_mtime_ns

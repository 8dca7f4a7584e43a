"""The pictures of a shoot: those asked for, traced one after another, and those kept under its out/desk."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from threading import Lock
from typing import Any

from pydantic import ValidationError

from sidelong.desk.events import Events
from sidelong.desk.messages import PictureEvent
from sidelong.desk.messages_work import PictureAsked, PictureEntry, PictureState
from sidelong.desk.one_by_one import OneByOne
from sidelong.desk.store import Now
from sidelong.desk.worker_process import Failed, Stopped, WorkerProcess
from sidelong.errors import FileFault, InputFault
from sidelong.shoot.document import save_text

MOST_WAITING = 50
_ID = re.compile(r"[0-9a-z-]{1,64}")
FILES = ("image.png", "preview.png", "layers.json", "layers.bin")


class Pictures:
    """The queue and what is kept. Every method may be called from any thread."""

    def __init__(self, folder: Path, good: Callable[[], Now], path: str, events: Events, queue: OneByOne) -> None:
        self._shoot_folder, self._good, self._path, self._events = folder, good, path, events
        self._queue = queue
        self._folder = folder / "out" / "desk"
        self._worker = WorkerProcess()
        self._lock = Lock()
        self._entries: dict[str, PictureEntry] = {}
        self._dropped: set[str] = set()
        self._number = 0
        self._read_kept()

    def all(self) -> list[PictureEntry]:
        """Every entry, the newest first."""
        with self._lock:
            return sorted(self._entries.values(), key=lambda e: (e.made, e.id), reverse=True)

    def ask(self, asked: PictureAsked) -> PictureEntry:
        """Put a picture of a shot, as the file now has it, into the queue.

        Raises
        ------
        InputFault
            No shot has that id, or too many wait.
        FileFault
            The folder for pictures cannot be made, or leads out of the shoot's.
        """
        now = self._good()
        shoot = now.checked.asked
        if shoot is None or all(shot.id != asked.shot for shot in shoot.shots):
            raise InputFault(f'found no shot "{asked.shot}"; expected the id of one')
        with self._lock:
            if self._queue.waiting >= MOST_WAITING:
                raise InputFault(f"found {MOST_WAITING} pictures waiting; expected fewer: cancel some")
            made = datetime.now(UTC)
            self._number += 1
            slug = re.sub(r"[^0-9a-z]+", "-", asked.shot.lower()).strip("-")[:30] or "shot"
            id_ = f"{made:%Y%m%d-%H%M%S}-{self._number}-{slug}"
            entry = PictureEntry(
                id=id_, shot=asked.shot, quality=asked.quality, state="waiting", fraction=0.0,
                made=made.isoformat(timespec="seconds"), settings={}, width=0, height=0, revision=now.revision,
            )  # fmt: skip
            folder = self._made_folder(id_)
            self._entries[id_] = entry
            what = "day" if asked.quality.startswith("day") else "picture"
            job = {"what": what, "text": now.text, "path": self._path, "shot": asked.shot,
                   "quality": asked.quality, "folder": str(folder)}  # fmt: skip
            self._queue.put(id_, lambda: self._trace(id_, job))
        self._tell(entry)
        return entry

    def drop(self, id_: str) -> None:
        """Cancel a picture that waits or is traced; take away one that is done.

        Raises
        ------
        InputFault
            There is no such picture.
        """
        with self._lock:
            entry = self._entries.get(id_)
            if entry is None:
                raise InputFault(f'found no picture "{id_}"; expected one of the list')
            running = not self._queue.withdraw(id_) and self._queue.is_running(id_)
            if running:
                self._dropped.add(id_)
                self._worker.stop()
            else:
                del self._entries[id_]
                shutil.rmtree(self._folder / id_, ignore_errors=True)
        if not running:
            self._tell(entry.model_copy(update={"state": "cancelled"}))

    def file(self, id_: str, name: str) -> Path:
        """A file of a picture.

        Raises
        ------
        InputFault
            There is no such picture, or it is not made yet.
        """
        with self._lock:
            known = id_ in self._entries
        path = self._folder / id_ / name
        if not known or name not in FILES or path.is_symlink() or not path.is_file():
            raise InputFault(f'found no {name} of the picture "{id_}"; expected one that is made')
        return path

    def end(self) -> None:
        """End what is under way."""
        self._queue.end()
        self._worker.stop()

    def _trace(self, id_: str, job: dict[str, Any]) -> None:
        def hear(message: dict[str, Any]) -> None:
            self._note(id_, "tracing", fraction=message.get("fraction"))

        self._note(id_, "tracing")
        try:
            done = self._worker.run(job, hear, lambda: id_ not in self._dropped)
        except Stopped:
            self._note(id_, "cancelled")
        except Failed as failed:
            self._note(id_, "failed", words=str(failed))
        else:
            more = {"settings": done["settings"], "width": done["width"], "height": done["height"]}
            self._note(id_, "done", fraction=1.0, more=more)

    def _note(
        self,
        id_: str,
        state: PictureState,
        fraction: float | None = None,
        words: str | None = None,
        more: dict[str, Any] | None = None,
    ) -> None:
        with self._lock:
            entry = self._entries[id_]
            update = {"state": state, "words": words, **(more or {})}
            if fraction is not None:
                update["fraction"] = fraction
            entry = self._entries[id_] = entry.model_copy(update=update)
            if state in ("done", "failed", "cancelled"):
                with suppress(FileFault):
                    save_text(self._folder / id_ / "entry.json", entry.model_dump_json())
        self._tell(entry)

    def _tell(self, entry: PictureEntry) -> None:
        self._events.tell(PictureEvent(id=entry.id, state=entry.state, fraction=entry.fraction))

    def _made_folder(self, id_: str) -> Path:
        try:
            if not self._folder.resolve().is_relative_to(self._shoot_folder.resolve()):
                raise FileFault(f"{self._folder.name} leads out of the shoot's folder; take the link away")
            folder = self._folder / id_
            folder.mkdir(parents=True)
        except OSError as error:
            raise FileFault(f"the folder for pictures cannot be made ({error.strerror})") from error
        return folder

    def _read_kept(self) -> None:
        """The entries that were made before; what was under way then is cancelled."""
        if not self._folder.is_dir() or not self._folder.resolve().is_relative_to(self._shoot_folder.resolve()):
            return
        for file in sorted(self._folder.glob("*/entry.json")):
            id_ = file.parent.name
            if not _ID.fullmatch(id_) or file.is_symlink() or file.parent.is_symlink():
                continue
            try:
                entry = PictureEntry.model_validate(json.loads(file.read_text(encoding="utf-8")[:100_000]))
            except (OSError, ValueError, ValidationError):
                continue
            if entry.id == id_:
                self._entries[id_] = entry

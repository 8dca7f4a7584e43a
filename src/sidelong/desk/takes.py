"""The takes of a shoot, in the folder's takes.json: what was taken, kept, and noted."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from threading import Lock

from pydantic import TypeAdapter, ValidationError

from sidelong.desk.messages_shot import Take, TakeAsked
from sidelong.errors import FileFault
from sidelong.shoot.document import save_text

FILE_NAME = "takes.json"
BIGGEST = 4_000_000
"""[bytes]"""
MOST_TAKES = 20_000
_LIST = TypeAdapter(list[Take])


class Takes:
    """The takes in a folder; every method may be called from any thread."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / FILE_NAME
        self._lock = Lock()

    def all(self) -> list[Take]:
        """Every take, in the order noted; none where there is no file.

        Raises
        ------
        FileFault
            The file is not what it should be.
        """
        with self._lock:
            return self._read()

    def note(self, asked: TakeAsked) -> Take:
        """Note a take, or change what was noted of the one with its shot and number; saved at once.

        Raises
        ------
        FileFault
            The file is not what it should be, or cannot be written.
        """
        with self._lock:
            takes = self._read()
            made = datetime.now(UTC).isoformat(timespec="seconds")
            old = next((t for t in takes if (t.shot, t.number) == (asked.shot, asked.number)), None)
            take = Take(
                shot=asked.shot,
                number=asked.number,
                kept=asked.kept,
                note=asked.note,
                made=old.made if old is not None else made,
            )
            if old is None:
                takes.append(take)
            else:
                takes[takes.index(old)] = take
            if len(takes) > MOST_TAKES:
                raise FileFault(f"{FILE_NAME} holds {MOST_TAKES} takes, the most it may")
            text = json.dumps([t.model_dump() for t in takes], ensure_ascii=False, indent=1)
            save_text(self.path, text + "\n")
            return take

    def _read(self) -> list[Take]:
        if self.path.is_symlink():
            raise FileFault(f"{FILE_NAME} is a link; the desk keeps to the shoot's folder: take the link away")
        try:
            if self.path.stat().st_size > BIGGEST:
                raise FileFault(f"{FILE_NAME} is larger than {BIGGEST // 1_000_000} MB; move it away")
            return _LIST.validate_json(self.path.read_bytes())
        except FileNotFoundError:
            return []
        except OSError as error:
            raise FileFault(f"{FILE_NAME} cannot be read ({error.strerror})") from error
        except ValidationError:
            raise FileFault(f"{FILE_NAME} is not a list of takes as the desk writes it; move it away") from None

"""The focus of a shot with edits that are not saved: what follows a drag, within a few milliseconds.

Only what an edit touches is read anew: a person, a mark, a shot; anything else, and the whole file is. Faults are
told in words, as they stand in the way of an answer.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError

from sidelong.desk.cuts import bounds_of
from sidelong.desk.focus_room import cuts_within
from sidelong.desk.messages import LiveRequest
from sidelong.desk.store import Now
from sidelong.errors import Impossible, InputFault
from sidelong.lens.solve import Found
from sidelong.people.eyes import eyes
from sidelong.plan.focus import plan_focus_following
from sidelong.plan.focus_answer import setting_answer
from sidelong.shoot.compose import compose, shot_names
from sidelong.shoot.document import Document
from sidelong.shoot.edits import tables_after
from sidelong.shoot.lines import Path
from sidelong.shoot.model import ShootFile
from sidelong.shoot.model_place import MarkTable
from sidelong.shoot.model_shot import PersonTable, ShotTable
from sidelong.shoot.references import check_references
from sidelong.shoot.report import Report
from sidelong.shoot.structure import validate
from sidelong.shoot.values import Shoot, Shot

PIECES: dict[str, type[BaseModel]] = {"people": PersonTable, "marks": MarkTable, "shots": ShotTable}
"""Lists of tables of which one can be read by itself."""


@dataclass(frozen=True)
class _Base:
    """A saved version, ready to have edits put on it."""

    revision: int
    document: Document
    model: ShootFile


class Followed:
    """One page's last found movement of each shot, for as long as one saved version is dragged from."""

    def __init__(self) -> None:
        self._revision = -1
        self._found: dict[str, Found] = {}

    def last(self, revision: int, shot: str) -> Found | None:
        """What was found for a shot before, on top of this version; None where nothing was."""
        if revision != self._revision:
            self._revision = revision
            self._found.clear()
        return self._found.get(shot)

    def keep(self, shot: str, found: Found | None) -> None:
        """Keep what was found now; nothing where no movement was looked for."""
        if found is None:
            self._found.pop(shot, None)
        else:
            self._found[shot] = found


class Live:
    """Answers on top of the newest saved version. Every method may be called from any thread."""

    def __init__(self, good: Callable[[], Now]) -> None:
        self._good = good
        self._base: _Base | None = None
        self._bounds: tuple[Any, Any] | None = None

    def warm(self) -> None:
        """Load what the first answer needs, so that the first drag is as quick as any."""
        base = self._based()
        if base.model.shots:
            self.answer(LiveRequest(seq=0, shot=shot_names(base.model)[0], edits=[]))

    def answer(self, asked: LiveRequest, followed: Followed | None = None) -> dict[str, Any]:
        """The answer to one request, from what its page's answers before found on; never raises for what it asks."""
        begun = time.perf_counter()
        focus, people, fault, impossible = None, [], None, None
        try:
            shoot, shot = self._edited(asked)
            people = [{"name": p.name, "eyes": eyes(p), "at": p.at} for p in shoot.people]
            focus = self._focus(shoot, shot, followed or Followed())
        except Impossible as error:
            impossible = {"words": str(error), "ways_out": []}
        except InputFault as error:
            fault = str(error)
        except ValueError as error:
            fault = str(error)  # camera_frame: there is no view straight up or down
        return {
            "seq": asked.seq,
            "shot": asked.shot,
            "focus": focus,
            "people": people,
            "fault": fault,
            "impossible": impossible,
            "took_ms": (time.perf_counter() - begun) * 1e3,
        }

    def _focus(self, shoot: Shoot, shot: Shot, followed: Followed) -> dict[str, Any]:
        last = followed.last(self._based().revision, shot.id)
        planned, found = plan_focus_following(shoot, shot, last)
        followed.keep(shot.id, found)
        key = (shoot.place, tuple(m.at for m in shoot.marks))
        if self._bounds is None or self._bounds[0] != key:
            self._bounds = key, bounds_of(shoot)
        return {**setting_answer(planned), "id": shot.id, "cuts": cuts_within(shoot, shot, planned, self._bounds[1])}

    def _edited(self, asked: LiveRequest) -> tuple[Shoot, Shot]:
        base = self._based()
        data, touched = tables_after(base.document.data, asked.edits)
        document = Document(base.document.path, base.document.name, base.document.text, data)
        model = _model_after(base.model, data, touched, document)
        names = shot_names(model)
        if asked.shot not in names:
            raise InputFault(f'found no shot "{asked.shot}"; expected one of {", ".join(names)[:300]}')
        report = Report(document)
        check_references(model, report)
        _refuse(report, touched)
        only = frozenset(i for i, name in enumerate(names) if name != asked.shot)
        shoot = compose(model, document.folder, only, report.luminaires)
        return shoot, shoot.shots[0]

    def _based(self) -> _Base:
        now = self._good()
        base = self._base
        if base is None or base.revision != now.revision:
            assert now.checked.document is not None
            assert now.checked.model is not None
            base = self._base = _Base(now.revision, now.checked.document, now.checked.model)
        return base


def _model_after(model: ShootFile, data: dict[str, Any], touched: Sequence[Path], document: Document) -> ShootFile:
    """The model with what was touched read anew.

    Raises
    ------
    InputFault
        It cannot be read; with what was found and expected.
    """
    pieces = {path[:2] for path in touched}
    small = all(len(p) == 2 and p[0] in PIECES and isinstance(p[1], int) for p in pieces)
    small = small and all(len(path) > 2 for path in touched)
    if small:
        try:
            return _with_pieces(model, data, pieces)
        except ValidationError:
            pass  # told below in the file's own terms
    whole, faults = validate(document)
    if whole is None:
        raise InputFault("; ".join(f"found {f.found}; expected {f.expected}" for f in faults[:3]))
    return whole


def _with_pieces(model: ShootFile, data: dict[str, Any], pieces: set[Path]) -> ShootFile:
    update: dict[str, list[Any]] = {}
    for path in pieces:
        name, position = str(path[0]), path[1]
        items = update.setdefault(name, list(getattr(model, name)))
        assert isinstance(position, int)
        items[position] = PIECES[name].model_validate(data[name][position])
    return model.model_copy(update=update)


def _refuse(report: Report, touched: Sequence[Path]) -> None:
    """Raise InputFault for faults between tables; beside what is touched there are none, for the file has none."""
    if report.faults and touched:
        raise InputFault("; ".join(f"found {f.found}; expected {f.expected}" for f in report.faults[:3]))

"""The shoot and its edits as they pass between page and server: the state, what is changed, faults, events."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from sidelong.desk.message import Answer, Asked, Id
from sidelong.desk.messages_drawn import Drawn
from sidelong.shoot.edit_values import Edit, Named


class FaultOf(Answer):
    """One thing that is wrong in the file; line and column from 1, 0 unknown; `path` of keys and positions."""

    line: int
    column: int
    found: str
    expected: str
    hint: str
    path: list[str | int]


class ShootState(Answer):
    """The shoot as it is: `file` its tables as JSON (dates as ISO text), `drawn` composed.

    `drawn` is None only if no version could be composed yet; `stale` tells that it is of the last version without
    faults.
    """

    revision: int
    folder: str
    file: dict[str, Any]
    faults: list[FaultOf]
    doubts: list[str]
    drawn: Drawn | None
    stale: bool


Edits = Annotated[list[Edit], Field(min_length=1, max_length=200)]


class EditsRequest(Asked):
    """Edits on top of the revision `base`, all or none; `label` says in words what is done."""

    base: Annotated[int, Field(ge=0, le=2**53)]
    label: Annotated[str, Field(max_length=200)] = ""
    edits: Edits
    allow_faults: bool = False


class EditsDone(Answer):
    """The revision that holds the edits, and the edits that take them back."""

    revision: int
    inverse: list[Edit]


class FileKept(Answer):
    """A file that came in: its path from the shoot's folder."""

    file: str


class Conflict(Answer):
    """A path that was changed to something else since: what it is now, and what was wanted."""

    path: list[str | int | Named]
    theirs: Any
    yours: Any


class EditsRefused(Answer):
    """Nothing was written: the paths that clash with what was saved since."""

    revision: int
    conflicts: list[Conflict]


class WayOutOf(Answer):
    """A change that has been tried and works: in words, and as keys of the shot (None: left out)."""

    words: str
    change: dict[str, Any]


class ErrorOf(Answer):
    """What went wrong, in words; the file's faults or the ways out where there are any."""

    words: str
    faults: list[FaultOf] | None = None
    ways_out: list[WayOutOf] | None = None


class ErrorAnswer(Answer):
    """Every refusal."""

    error: ErrorOf


class ShootEvent(Answer):
    """The shoot has a new revision."""

    kind: Literal["shoot"] = "shoot"
    revision: int


class PictureEvent(Answer):
    """A picture of the queue went on."""

    kind: Literal["picture"] = "picture"
    id: str
    state: str
    fraction: float


class MeteringEvent(Answer):
    """The light of a shot went on."""

    kind: Literal["metering"] = "metering"
    shot: str
    state: str
    fraction: float


class PlainEvent(Answer):
    """The list of devices, or of takes, has changed."""

    kind: Literal["devices", "takes"]


Event = ShootEvent | PictureEvent | MeteringEvent | PlainEvent


class LiveRequest(Asked):
    """The focus of a shot with edits that are not saved, on top of the saved file; `seq` comes back."""

    seq: Annotated[int, Field(ge=0, le=2**53)]
    shot: Id
    edits: Annotated[list[Edit], Field(max_length=500)]

"""Pictures in the queue, and the devices that share the desk."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from sidelong.desk.message import Answer, Asked, Id

PictureQuality = Literal["draft", "default", "fine", "day", "day-anew"]
"""The last two: a strip of drafts through the day, with the shot's settings or each hour exposed anew; no layers."""
PictureState = Literal["waiting", "tracing", "done", "failed", "cancelled"]


class PictureEntry(Answer):
    """A picture of the queue; `settings` in words by what they are; `words` says what failed."""

    id: str
    shot: str
    quality: PictureQuality
    state: PictureState
    fraction: float
    made: str
    settings: dict[str, Any]
    width: int
    height: int
    revision: int
    words: str | None = None


class PictureAsked(Asked):
    """Ask for the picture of a shot."""

    shot: Id
    quality: PictureQuality


class ShareAsked(Asked):
    """Let phones on the same network in, or no longer."""

    on: bool
    allow_edits: bool = False


class Share(Answer):
    """How a phone comes in: `code` once, until `expires` (ISO); None while off or when none is left."""

    on: bool
    allow_edits: bool
    address: str | None
    code: str | None
    qr_svg: str | None
    expires: str | None


class JoinAsked(Asked):
    """The code that the phone was shown, and what it calls itself."""

    code: Annotated[str, Field(min_length=4, max_length=64)]
    name: Annotated[str, Field(max_length=60)] = ""


class Joined(Answer):
    """The phone is let in."""

    allow_edits: bool


class Device(Answer):
    """A device that shares the desk."""

    id: str
    name: str
    address: str
    since: str
    seen: str
    allow_edits: bool


class DeviceAsked(Asked):
    """Let a device edit, or only look."""

    allow_edits: bool


class Me(Answer):
    """Who asks: the desk's own browser or a shared device, and whether it may edit."""

    host: bool
    allow_edits: bool
    name: str

"""Routes of one shot: focus, light, card, takes."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Request

from sidelong.desk.desk import works_of
from sidelong.desk.messages_shot import Card, FocusAnswer, LightAnswer, Take, TakeAsked
from sidelong.desk.plain_json import PlainJson

router = APIRouter(prefix="/api")
ShotId = Annotated[str, Path(min_length=1, max_length=100)]


@router.get("/shots/{shot}/focus", response_model=FocusAnswer)
def get_focus(request: Request, shot: ShotId) -> PlainJson:
    """How the lens is to be set, how everyone comes out, and where plane and zone of focus cut the place."""
    return PlainJson(works_of(request).focus_of(shot))


@router.get("/shots/{shot}/light", response_model=LightAnswer)
def get_light(request: Request, shot: ShotId) -> PlainJson:
    """The light of a shot as far as it is known. Nothing is metered by it."""
    return PlainJson(works_of(request).light_of(shot))


@router.post("/shots/{shot}/light", response_model=LightAnswer)
def post_light(request: Request, shot: ShotId) -> PlainJson:
    """Meter the light of a shot as the file has it now."""
    return PlainJson(works_of(request).meter(shot))


@router.delete("/shots/{shot}/light", response_model=LightAnswer)
def delete_light(request: Request, shot: ShotId) -> PlainJson:
    """Stop metering a shot; what was known of its light stays."""
    return PlainJson(works_of(request).stop_metering(shot))


@router.get("/shots/{shot}/card")
def get_card(request: Request, shot: ShotId) -> Card:
    """What is needed on the set."""
    return works_of(request).card(shot)


@router.get("/takes")
def get_takes(request: Request) -> list[Take]:
    """Every take noted."""
    return works_of(request).takes.all()


@router.post("/takes")
def post_take(request: Request, asked: TakeAsked) -> Take:
    """Note a take, or change what was noted of it."""
    return works_of(request).note_take(asked)

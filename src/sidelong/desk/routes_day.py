"""Routes of the day: the sun's hours, and the sun at one instant."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request

from sidelong.desk.desk import works_of
from sidelong.desk.messages_shot import Day, Sun

router = APIRouter(prefix="/api")


@router.get("/day")
def get_day(request: Request, date: Annotated[str, Query(pattern=r"^\d{4}-\d{2}-\d{2}$")]) -> Day:
    """The sun over a day of the place."""
    return works_of(request).day(date)


@router.get("/sun")
def get_sun(request: Request, when: Annotated[str, Query(min_length=10, max_length=40)]) -> Sun:
    """The sun at one instant (ISO, on the place's clock where it names no offset), and its patches."""
    return works_of(request).sun(when)

"""Routes of the shoot itself: its state, and edits."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response

from sidelong.desk.desk import works_of
from sidelong.desk.messages import EditsDone, EditsRefused, EditsRequest, ShootState
from sidelong.desk.store import Clash

router = APIRouter(prefix="/api")


@router.get("/shoot", response_model=ShootState)
def get_shoot(request: Request) -> Response:
    """The shoot as it is."""
    return Response(works_of(request).shown.as_json(), media_type="application/json")


@router.post("/edits", responses={409: {"model": EditsRefused, "description": "Changed by another meanwhile."}})
def post_edits(request: Request, asked: EditsRequest) -> EditsDone:
    """Save edits: all of them, or none."""
    works = works_of(request)
    try:
        return works.store.save(asked)
    except Clash as clash:
        return JSONResponse(clash.answer.model_dump(mode="json", by_alias=True), 409)  # type: ignore[return-value]

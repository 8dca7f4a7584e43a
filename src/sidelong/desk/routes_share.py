"""Routes of sharing: letting phones in, the devices that are in, and who one is."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Request
from fastapi.responses import HTMLResponse, JSONResponse, Response
from starlette.exceptions import HTTPException

from sidelong.desk.access import Session, TooFast
from sidelong.desk.desk import desk_of
from sidelong.desk.join_page import JOIN_FILES
from sidelong.desk.messages_work import Device, DeviceAsked, JoinAsked, Joined, Me, Share, ShareAsked

router = APIRouter(prefix="/api")
DeviceId = Annotated[str, Path(pattern=r"^[0-9a-f]{16}$")]
join_router = APIRouter(include_in_schema=False)


def host_only(request: Request) -> None:
    """Raise HTTPException 403 for a shared device."""
    session: Session = request.scope["sidelong.session"]
    if not session.host:
        raise HTTPException(403, "only the desk itself shares and shuts out")


@router.get("/me")
def get_me(request: Request) -> Me:
    """Who asks."""
    session: Session = request.scope["sidelong.session"]
    return Me(host=session.host, allow_edits=session.allow_edits, name=session.name)


@router.get("/share")
def get_share(request: Request) -> Share:
    """Whether the desk is shared, and the code that now holds."""
    host_only(request)
    return desk_of(request).sharing.state()


@router.post("/share")
async def post_share(request: Request, asked: ShareAsked) -> Share:
    """Begin or end sharing."""
    host_only(request)
    return await desk_of(request).sharing.switch(asked)


@router.get("/devices")
def get_devices(request: Request) -> list[Device]:
    """The devices that are in."""
    host_only(request)
    return desk_of(request).sharing.devices()


@router.delete("/devices/{id}")
def delete_device(request: Request, id: DeviceId) -> list[Device]:
    """Shut a device out, at once."""
    host_only(request)
    return desk_of(request).sharing.shut_out(id)


@router.patch("/devices/{id}")
def patch_device(request: Request, id: DeviceId, asked: DeviceAsked) -> list[Device]:
    """Let a device edit, or only look."""
    host_only(request)
    return desk_of(request).sharing.allow(id, asked.allow_edits)


@router.post("/join", response_model=Joined)
def post_join(request: Request, asked: JoinAsked) -> Response:
    """A phone gives its code; it is answered with its cookie."""
    try:
        token, allowed = desk_of(request).sharing.join(asked, request.client.host if request.client else "")
    except TooFast:
        raise HTTPException(429, "too many tries; wait a little") from None
    if token is None:
        raise HTTPException(403, "that code does not hold (it is used up, too old, or mistyped); ask for a new one")
    answer = JSONResponse({"allow_edits": allowed})
    name, value = desk_of(request).sharing.cookie(token)
    answer.raw_headers.append((name, value))
    return answer


@join_router.api_route("/join", methods=["GET", "HEAD"])
@join_router.api_route("/join.css", methods=["GET", "HEAD"])
@join_router.api_route("/join.js", methods=["GET", "HEAD"])
async def get_join(request: Request) -> Response:
    """The page on which a phone gives its code."""
    kind, text = JOIN_FILES[request.url.path]
    return HTMLResponse(text, media_type=kind)

"""What stays open: the websocket on which focus follows a drag, and the stream of events."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request, WebSocket
from fastapi.responses import StreamingResponse

from sidelong.desk.desk import desk_of
from sidelong.desk.live_socket import serve_live

router = APIRouter(prefix="/api")
EVENTS: dict[int | str, dict[str, Any]] = {
    200: {"content": {"text/event-stream": {"schema": {"$ref": "#/components/schemas/Event"}}}}
}


@router.get("/events", response_class=StreamingResponse, responses=EVENTS)
async def get_events(request: Request) -> StreamingResponse:
    """Server-sent events, each one JSON object, from now on."""
    stream = desk_of(request).events.stream(request.scope["sidelong.session"])
    return StreamingResponse(stream, media_type="text/event-stream", headers={"x-accel-buffering": "no"})


@router.websocket("/live")
async def live(socket: WebSocket) -> None:
    """Focus with edits that are not saved: `LiveRequest` in, `LiveAnswer` out."""
    await serve_live(socket)

"""The websocket on which focus follows a drag: the newest request is answered, those that waited are passed over."""

from __future__ import annotations

import asyncio
import json
from concurrent.futures import ThreadPoolExecutor

from fastapi import WebSocket, WebSocketDisconnect
from pydantic import ValidationError

from sidelong.desk.access import Session
from sidelong.desk.desk import Desk, desk_of
from sidelong.desk.live import Followed
from sidelong.desk.messages import LiveRequest
from sidelong.desk.plain_json import plain_text
from sidelong.errors import SidelongError

TWO_DRAGS = ThreadPoolExecutor(2, thread_name_prefix="live")
"""Two people may drag at once; numpy gives up the interpreter only for moments, so more would not be quicker."""


async def serve_live(socket: WebSocket) -> None:
    """Answer requests until the page leaves or its session is shut."""
    session: Session = socket.scope["sidelong.session"]
    desk = desk_of(socket)
    loop = asyncio.get_running_loop()
    await socket.accept()
    newest: asyncio.Queue[str | None] = asyncio.Queue()
    followed = Followed()

    def shut() -> None:
        loop.call_soon_threadsafe(newest.put_nowait, None)

    session.closers.add(shut)
    listening = asyncio.create_task(_listen(socket, newest))
    try:
        while True:
            text = await newest.get()
            if text is None or session.shut:
                break
            answer = await loop.run_in_executor(TWO_DRAGS, _answered, desk, text, followed)
            await socket.send_text(answer)
    except (WebSocketDisconnect, RuntimeError):
        pass  # it left while it was being answered
    finally:
        session.closers.discard(shut)
        listening.cancel()
        await asyncio.gather(listening, return_exceptions=True)
        if session.shut:
            await asyncio.gather(socket.close(4403, "shut out"), return_exceptions=True)


async def _listen(socket: WebSocket, newest: asyncio.Queue[str | None]) -> None:
    try:
        while True:
            text = await socket.receive_text()
            while not newest.empty():
                newest.get_nowait()
            newest.put_nowait(text)
    except (WebSocketDisconnect, KeyError, RuntimeError):
        newest.put_nowait(None)


def _answered(desk: Desk, text: str, followed: Followed) -> str:
    try:
        asked = LiveRequest.model_validate_json(text)
    except ValidationError as error:
        told = error.errors(include_url=False, include_input=False, include_context=False)[0]
        return _fault(text, f"{'.'.join(map(str, told['loc']))}: {told['msg']}")
    try:
        return plain_text(desk.works.live.answer(asked, followed))
    except SidelongError as error:
        return _fault(text, str(error))


def _fault(text: str, words: str) -> str:
    """An answer to what could not be understood or has no shoot; with its number where that can be read."""
    seq, shot = 0, ""
    try:
        given = json.loads(text)
    except (ValueError, RecursionError):
        given = None
    if isinstance(given, dict):
        seq = given["seq"] if isinstance(given.get("seq"), int) else 0
        shot = given["shot"] if isinstance(given.get("shot"), str) else ""
    told = {"seq": seq, "shot": shot, "focus": None, "people": [], "fault": words, "impossible": None, "took_ms": 0.0}
    return json.dumps(told)

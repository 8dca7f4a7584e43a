"""The route by which a file comes into the shoot's folder."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request

from sidelong.desk.desk import works_of
from sidelong.desk.messages import FileKept

router = APIRouter(prefix="/api")
ANY = {"schema": {"type": "string", "format": "binary"}}
BODY = {"required": True, "content": {"application/octet-stream": ANY}}


async def body_of(request: Request) -> bytes:
    """The body, which the guard has bounded."""
    return await request.body()


@router.post("/files", openapi_extra={"requestBody": BODY})
def post_file(
    request: Request,
    name: Annotated[str, Query(min_length=1, max_length=200)],
    content: Annotated[bytes, Depends(body_of)],
) -> FileKept:
    """Keep a mesh or a luminaire in the shoot's folder, once it has been read. Only the desk itself may."""
    return FileKept(file=works_of(request).keep_file(name, content))

"""Routes of the pictures: the queue, its images, their layers."""

from __future__ import annotations

import json
from typing import Annotated, Any

from fastapi import APIRouter, Path, Request
from fastapi.responses import FileResponse, Response

from sidelong.desk.desk import works_of
from sidelong.desk.layers import halved
from sidelong.desk.message import Plain
from sidelong.desk.messages_work import PictureAsked, PictureEntry
from sidelong.desk.plain_json import PlainJson

router = APIRouter(prefix="/api")
PictureId = Annotated[str, Path(pattern=r"^[0-9a-z-]{1,64}$")]
PNG: dict[int | str, dict[str, Any]] = {
    200: {"content": {"image/png": {"schema": {"type": "string", "format": "binary"}}}}
}
BYTES: dict[int | str, dict[str, Any]] = {
    200: {"content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}
}


@router.get("/pictures")
def get_pictures(request: Request) -> list[PictureEntry]:
    """Every picture of the queue and every one kept, the newest first."""
    return works_of(request).pictures.all()


@router.post("/pictures")
def post_picture(request: Request, asked: PictureAsked) -> PictureEntry:
    """Ask for the picture of a shot as the file now has it."""
    return works_of(request).pictures.ask(asked)


@router.delete("/pictures/{id}")
def delete_picture(request: Request, id: PictureId) -> list[PictureEntry]:
    """Cancel a picture that waits or is traced; take away one that is done."""
    works = works_of(request)
    works.pictures.drop(id)
    return works.pictures.all()


@router.get("/pictures/{id}/image.png", response_class=FileResponse, responses=PNG)
def get_image(request: Request, id: PictureId) -> Response:
    """The picture."""
    return FileResponse(works_of(request).pictures.file(id, "image.png"), media_type="image/png")


@router.get("/pictures/{id}/preview.png", response_class=FileResponse, responses=PNG)
def get_preview(request: Request, id: PictureId) -> Response:
    """The picture as far as it is."""
    return FileResponse(works_of(request).pictures.file(id, "preview.png"), media_type="image/png")


@router.get("/pictures/{id}/layers.json", response_model=Plain)
def get_layers(request: Request, id: PictureId, half: bool = False) -> Response:
    """What the layers are: their names, and how they are weighed, exposed and developed; `half` as large each way for
    a small screen."""
    file = works_of(request).pictures.file(id, "layers.json")
    if not half:
        return FileResponse(file, media_type="application/json")
    return PlainJson(halved(*_layers(request, id))[0])


@router.get("/pictures/{id}/layers.bin", response_class=FileResponse, responses=BYTES)
def get_layer_values(request: Request, id: PictureId, half: bool = False) -> Response:
    """The layers' values, as layers.json describes them."""
    file = works_of(request).pictures.file(id, "layers.bin")
    if not half:
        return FileResponse(file, media_type="application/octet-stream")
    return Response(halved(*_layers(request, id))[1], media_type="application/octet-stream")


def _layers(request: Request, id_: str) -> tuple[dict[str, Any], bytes]:
    files = works_of(request).pictures
    head: dict[str, Any] = json.loads(files.file(id_, "layers.json").read_bytes())
    return head, files.file(id_, "layers.bin").read_bytes()

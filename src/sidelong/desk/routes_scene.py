"""Routes of the place and its people as one model, with what its coarse light needs, for the finder."""

from __future__ import annotations

import gzip
import hashlib
from typing import Annotated, Any

from fastapi import APIRouter, Path, Request
from fastapi.responses import Response

from sidelong.desk.desk import works_of
from sidelong.desk.message import Plain
from sidelong.desk.messages_drawn import Cables
from sidelong.desk.plain_json import PlainJson
from sidelong.trace.kept import Kept

router = APIRouter(prefix="/api")
_PACKED: Kept[bytes, bytes] = Kept()
GLB: dict[int | str, dict[str, Any]] = {
    200: {"content": {"model/gltf-binary": {"schema": {"type": "string", "format": "binary"}}}}
}
BYTES: dict[int | str, dict[str, Any]] = {
    200: {"content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}
}


@router.get("/scene.glb", response_class=Response, responses=GLB)
def get_scene(request: Request) -> Response:
    """Place and people as a binary glTF, y up; nodes are named like people and blocks."""
    return _tagged(request, works_of(request).scene(), "model/gltf-binary")


@router.get("/scene-shade.bin", response_class=Response, responses=BYTES)
def get_shade(request: Request) -> Response:
    """Four half floats for each vertex of scene.glb: how open it is to sky and ground; some seconds at first."""
    return _tagged(request, works_of(request).scene_shade(), "application/octet-stream")


@router.get("/shots/{shot}/scene-light", response_model=Plain)
def get_scene_light(request: Request, shot: Annotated[str, Path(min_length=1, max_length=100)]) -> PlainJson:
    """Heads, sun and sky of a shot in few numbers."""
    return PlainJson(works_of(request).scene_light(shot))


@router.get("/shots/{shot}/cables")
def get_cables(request: Request, shot: Annotated[str, Path(min_length=1, max_length=100)]) -> Cables:
    """The cables from outlets, batteries and generators to the heads of a shot."""
    return works_of(request).cables(shot)


@router.get("/shots/{shot}/scene.glb", response_class=Response, responses=GLB)
def get_shot_scene(request: Request, shot: Annotated[str, Path(min_length=1, max_length=100)]) -> Response:
    """What stands in a shot alone, as scene.glb: fronts of lights, panels, scrims and flags."""
    return _tagged(request, works_of(request).scene_of_shot(shot), "model/gltf-binary")


def _tagged(request: Request, content: bytes, kind: str) -> Response:
    """Content that a browser may keep as long as it is the same; packed for a device on the network."""
    tag = f'"{hashlib.sha256(content).hexdigest()[:24]}"'
    headers = {"etag": tag, "cache-control": "no-cache", "vary": "accept-encoding"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    far = request.client is None or not request.client.host.startswith("127.")
    if far and "gzip" in request.headers.get("accept-encoding", ""):
        packed = _PACKED.of((content,), lambda: gzip.compress(content, 5, mtime=0))
        return Response(packed, media_type=kind, headers={**headers, "content-encoding": "gzip"})
    return Response(content, media_type=kind, headers=headers)

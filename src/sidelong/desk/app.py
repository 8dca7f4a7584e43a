"""The desk as a web application: its routes, its page, and how it answers what goes wrong."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Literal

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.openapi.utils import get_openapi
from fastapi.responses import JSONResponse
from pydantic import TypeAdapter
from starlette.exceptions import HTTPException

from sidelong import __version__
from sidelong.desk import (
    messages,
    messages_shot,
    routes_day,
    routes_files,
    routes_live,
    routes_pictures,
    routes_scene,
    routes_share,
    routes_shoot,
    routes_shot,
)
from sidelong.desk.messages import ErrorAnswer
from sidelong.desk.page_files import page_router
from sidelong.desk.refused import ShotRefused
from sidelong.errors import Impossible, InputFault, Missing, ShootFault, SidelongError

if TYPE_CHECKING:
    from sidelong.desk.desk import Desk

LOG = logging.getLogger("sidelong.desk")
ROUTES = (
    routes_shoot, routes_shot, routes_day, routes_files, routes_pictures, routes_scene, routes_share, routes_live,
)  # fmt: skip
SENT_BESIDES: dict[str, Any] = {
    "LiveRequest": messages.LiveRequest,
    "LiveAnswer": messages_shot.LiveAnswer,
    "Event": messages.Event,
}
"""What passes through the websocket and the event stream, which no route describes."""


def desk_app(desk: Desk | None) -> FastAPI:
    """The application of a desk; without one, only for its schema."""
    app = FastAPI(
        title="Sidelong desk",
        version=__version__,
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
        responses={"4XX": {"model": ErrorAnswer, "description": "Refused, in words."}},
        generate_unique_id_function=lambda route: route.name,
    )
    app.state.desk = desk
    for module in ROUTES:
        app.include_router(module.router)
    if desk is not None:
        app.include_router(page_router(desk.page))
    app.add_exception_handler(SidelongError, _our_error)
    app.add_exception_handler(ShotRefused, _not_had)
    app.add_exception_handler(RequestValidationError, _not_understood)
    app.add_exception_handler(HTTPException, _plain_refusal)
    app.add_exception_handler(Exception, _our_failure)
    return app


def schema() -> dict[str, Any]:
    """The OpenAPI description of every route, with what passes through websocket and events among its schemas."""
    app = desk_app(None)
    described = get_openapi(title=app.title, version="1", routes=app.routes)
    known = described["components"]["schemas"]
    for name in ("HTTPValidationError", "ValidationError"):
        known.pop(name, None)
    for path in described["paths"].values():
        for route in path.values():
            route["responses"].pop("422", None)
    for name, model in SENT_BESIDES.items():
        mode: Literal["validation", "serialization"] = "validation" if name == "LiveRequest" else "serialization"
        made = TypeAdapter(model).json_schema(mode=mode, ref_template="#/components/schemas/{model}")
        for inner, part in made.pop("$defs", {}).items():
            known.setdefault(inner, part)
        known[name] = made
    described["components"]["schemas"] = dict(sorted(known.items()))
    made_plain: dict[str, Any] = _without_titles(described)
    return made_plain


def _without_titles(value: Any, names: bool = False) -> Any:
    """A schema without the titles that repeat each name; under `properties` "title" is a name itself."""
    if isinstance(value, list):
        return [_without_titles(v) for v in value]
    if not isinstance(value, dict):
        return value
    kept = {k: v for k, v in value.items() if names or k != "title" or not isinstance(v, str)}
    return {k: _without_titles(v, k in ("properties", "schemas")) for k, v in kept.items()}


def error_answer(status: int, words: str, more: Mapping[str, Any] | None = None) -> JSONResponse:
    """A refusal as every route gives it."""
    return JSONResponse({"error": {"words": words, "faults": None, "ways_out": None, **(more or {})}}, status)


async def _our_error(request: Request, error: Exception) -> JSONResponse:
    if isinstance(error, ShootFault):
        from sidelong.desk.state import faults_of  # late: slow import

        found = faults_of(error.faults, getattr(error, "document", None))
        words = "; ".join(f"found {f.found}; expected {f.expected}" for f in found[:3])
        return error_answer(422, words, {"faults": [fault.model_dump(mode="json") for fault in found]})
    if isinstance(error, (InputFault, Impossible)):
        return error_answer(422, str(error))
    return error_answer(424 if isinstance(error, Missing) else 422, str(error))


async def _not_had(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, ShotRefused)
    ways = [way.model_dump(mode="json") for way in error.refusal.ways_out]
    return error_answer(422, error.refusal.words, {"ways_out": ways})


async def _not_understood(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, RequestValidationError)
    found = []
    for one in error.errors()[:10]:
        where = ".".join(str(step) for step in one["loc"] if step != "body")
        found.append(f"{where[:200]}: {one['msg']}" if where else str(one["msg"]))
    return error_answer(422, "; ".join(found))


async def _plain_refusal(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, HTTPException)
    words = error.detail if isinstance(error.detail, str) else str(error.detail)
    return error_answer(error.status_code, "there is nothing at this address" if words == "Not Found" else words)


async def _our_failure(request: Request, error: Exception) -> JSONResponse:
    LOG.error("%s %s failed", request.method, request.url.path, exc_info=error)
    return error_answer(500, f"the desk failed, and the fault is ours: {type(error).__name__}")

"""The built page as a fixed table of files: what is not in the table is not served, whatever the address says."""

from __future__ import annotations

import hashlib
import mimetypes
from dataclasses import dataclass
from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.exceptions import HTTPException

KINDS = {
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".woff2": "font/woff2",
    ".ttf": "font/ttf",
    ".svg": "image/svg+xml",
}
NOT_BUILT = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Sidelong</title></head><body><h1>The
page is not built</h1><p>Run <code>python start.py setup</code> once; it builds the page of the desk.</p></body>
</html>
"""


@dataclass(frozen=True)
class PageFile:
    """One file of the page."""

    kind: str
    content: bytes
    tag: str


def page_files(folder: Path) -> dict[str, PageFile]:
    """Every file of the built page by its path from the folder, read once; empty where it is not built."""
    found = {}
    for path in sorted(folder.rglob("*")) if folder.is_dir() else ():
        if path.is_file() and not path.is_symlink():
            kind = KINDS.get(path.suffix) or mimetypes.guess_type(path.name)[0] or "application/octet-stream"
            content = path.read_bytes()
            tag = f'"{hashlib.sha256(content).hexdigest()[:24]}"'
            found[path.relative_to(folder).as_posix()] = PageFile(kind, content, tag)
    return found


def page_router(files: dict[str, PageFile]) -> APIRouter:
    """Routes of the page: its front at /, its parts by their names."""
    router = APIRouter(include_in_schema=False)

    @router.api_route("/", methods=["GET", "HEAD"])
    async def front(request: Request) -> Response:
        return _answer(request, files["index.html"]) if "index.html" in files else HTMLResponse(NOT_BUILT, 503)

    @router.api_route("/favicon.ico", methods=["GET", "HEAD"])
    async def icon() -> Response:
        """Browsers ask for it unasked; the page names its own where it has one."""
        return Response(status_code=204)

    @router.api_route("/{name:path}", methods=["GET", "HEAD"])
    async def part(request: Request, name: str) -> Response:
        file = files.get(name)
        if file is None:
            raise HTTPException(404)
        return _answer(request, file)

    return router


def _answer(request: Request, file: PageFile) -> Response:
    headers = {"etag": file.tag, "cache-control": "no-cache"}
    if request.headers.get("if-none-match") == file.tag:
        return Response(status_code=304, headers=headers)
    return Response(file.content, media_type=file.kind, headers=headers)

"""The page's own files, read once from the package: no address is ever looked up on a disk."""

from __future__ import annotations

import gzip
import html
from collections.abc import Iterator
from functools import cache
from hashlib import sha256
from importlib.resources import files
from importlib.resources.abc import Traversable

from fastapi import APIRouter, HTTPException, Request, Response

from sheetmark.desk.server.desk import DeskOf
from sheetmark.typesetting.lettering import font_file

router = APIRouter(include_in_schema=False)

TYPES = {
    "js": "text/javascript",
    "css": "text/css",
    "html": "text/html",
    "ttf": "font/ttf",
    "svg": "image/svg+xml",
    "png": "image/png",
    "webmanifest": "application/manifest+json",
}
_INDEX = "index.html"


@router.get("/")
def index(desk: DeskOf) -> Response:
    """The page, with the token that every POST must carry."""
    text = page_files()[_INDEX].decode().replace("TOKEN", html.escape(desk.token))
    return Response(text, media_type="text/html; charset=utf-8")


@router.get("/page/{name:path}")
def asset(name: str, request: Request) -> Response:
    """Scripts, styles, fonts and icons; the browser keeps them and asks whether they changed."""
    content = page_files().get(name)
    if content is None or _ending(name) == "html":
        raise HTTPException(404, "there is no such file")
    tag = _tag(name)
    headers = {"Cache-Control": "no-cache", "ETag": tag, "Vary": "Accept-Encoding"}
    if tag in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    if "gzip" in request.headers.get("accept-encoding", ""):
        content = _packed(name)
        headers["Content-Encoding"] = "gzip"
    return Response(content, media_type=TYPES[_ending(name)], headers=headers)


@cache
def _tag(name: str) -> str:
    return f'W/"{sha256(page_files()[name]).hexdigest()[:32]}"'


@cache
def _packed(name: str) -> bytes:
    return gzip.compress(page_files()[name], mtime=0)


@router.get("/favicon.ico")
def icon() -> Response:
    """Asked for by a browser that shows a PDF on its own."""
    return Response(page_files()["icons/icon.svg"], media_type=TYPES["svg"])


@cache
def page_files() -> dict[str, bytes]:
    """Content by path, such as `case/view.js`."""
    own = dict(_read(files("sheetmark.desk") / "page", ""))
    fonts = {"regular.ttf": False, "bold.ttf": True}
    return own | {name: font_file(bold).read_bytes() for name, bold in fonts.items()}


def _read(folder: Traversable, prefix: str) -> Iterator[tuple[str, bytes]]:
    for entry in folder.iterdir():
        name = prefix + entry.name
        if entry.is_dir():
            yield from _read(entry, f"{name}/")
        elif _ending(name) in TYPES:
            yield name, entry.read_bytes()


def _ending(name: str) -> str:
    return name.rpartition(".")[2]

"""The page's own files, read once from the package: no address is ever looked up on a disk."""

from __future__ import annotations

import html
from functools import cache
from importlib.resources import files

from fastapi import APIRouter, HTTPException, Response

from sheetmark.desk.server.desk import DeskOf
from sheetmark.typesetting.lettering import font_file

router = APIRouter(include_in_schema=False)

_TYPES = {"js": "text/javascript", "css": "text/css", "html": "text/html", "ttf": "font/ttf"}
_INDEX = "index.html"


@router.get("/")
def index(desk: DeskOf) -> Response:
    """The page, with the token that it sends when it asks for more than to look."""
    text = _assets()[_INDEX].decode().replace("TOKEN", html.escape(desk.token))
    return Response(text, media_type="text/html; charset=utf-8")


@router.get("/page/{name}")
def asset(name: str) -> Response:
    """Scripts, style and font."""
    content = _assets().get(name)
    if content is None or name == _INDEX:
        raise HTTPException(404, "there is no such file")
    return Response(content, media_type=_TYPES[name.rpartition(".")[2]])


@cache
def _assets() -> dict[str, bytes]:
    folder = files("sheetmark.desk") / "page"
    own = {
        entry.name: entry.read_bytes()
        for entry in folder.iterdir()
        if entry.name.rpartition(".")[2] in _TYPES
    }
    fonts = {"regular.ttf": False, "bold.ttf": True}
    return own | {name: font_file(bold).read_bytes() for name, bold in fonts.items()}

"""The page's own files, read once from the package: no address is ever looked up on a disk.

Each address holds a hash of all of them, so that a browser keeps a file and asks for it once.
"""

from __future__ import annotations

import gzip
import html
import re
from collections.abc import Iterator
from functools import cache
from hashlib import sha256
from importlib.resources import files
from importlib.resources.abc import Traversable
from posixpath import dirname, join, normpath

from fastapi import APIRouter, HTTPException, Request, Response

from sheetmark.desk.server.desk import DeskOf

router = APIRouter(include_in_schema=False)

TYPES = {
    "js": "text/javascript",
    "css": "text/css",
    "html": "text/html",
    "woff2": "font/woff2",
    "svg": "image/svg+xml",
    "png": "image/png",
    "webmanifest": "application/manifest+json",
}
_PAGE = "/page"
_INDEX = "index.html"
_FIRST = ("main.js", "case/view.js")
_IMPORTED = re.compile(r'^(?:import|\}) .*from "(\.{1,2}/[^"]+)";$', re.MULTILINE)
_PACKED = ("woff2", "png")  # of themselves
_KEPT = "max-age=31536000, immutable"


@router.get("/")
def index(desk: DeskOf) -> Response:
    """The page, with the token that every POST must carry."""
    text = _index().replace("TOKEN", html.escape(desk.token))
    return Response(text, media_type="text/html; charset=utf-8")


@router.get("/page/{version}/{name:path}")
def asset(version: str, name: str, request: Request) -> Response:
    """Scripts, styles, fonts and icons; another version's page must not mix with these."""
    content = page_files().get(name)
    if content is None or version != page_version() or _ending(name) == "html":
        raise HTTPException(404, "there is no such file; reload the page")
    # Some browsers ask again all the same.
    tag = f'W/"{version}"'
    headers = {"Cache-Control": _KEPT, "ETag": tag, "Vary": "Accept-Encoding"}
    if tag in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    if _ending(name) not in _PACKED and "gzip" in request.headers.get("accept-encoding", ""):
        content = _packed(name)
        headers["Content-Encoding"] = "gzip"
    return Response(content, media_type=TYPES[_ending(name)], headers=headers)


@cache
def _index() -> str:
    """The page with links to the scripts that its first view is made of: a browser then fetches
    them all at once, and not each when another has named it."""
    scripts: dict[str, None] = {}
    waiting = list(_FIRST)
    while waiting:
        name = waiting.pop(0)
        if name not in scripts:
            scripts[name] = None
            text = page_files()[name].decode()
            waiting += [normpath(join(dirname(name), other)) for other in _IMPORTED.findall(text)]
    links = [f'<link rel="modulepreload" href="{page_address(name)}">\n' for name in scripts]
    return html_file(_INDEX).replace("</head>", f"{''.join(links)}</head>")


def html_file(name: str) -> str:
    """One of the page's documents, with the addresses of today's files."""
    return page_files()[name].decode().replace(f"{_PAGE}/", page_address(""))


def page_address(name: str) -> str:
    """Where the desk has one of the page's files."""
    return f"{_PAGE}/{page_version()}/{name}"


@cache
def page_version() -> str:
    """A hash of the page's files, names included."""
    parts = (f"{name} {sha256(data).hexdigest()}" for name, data in sorted(page_files().items()))
    return sha256("\n".join(parts).encode()).hexdigest()[:16]


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
    return dict(_read(files("sheetmark.desk") / "page", ""))


def _read(folder: Traversable, prefix: str) -> Iterator[tuple[str, bytes]]:
    for entry in folder.iterdir():
        name = prefix + entry.name
        if entry.is_dir():
            yield from _read(entry, f"{name}/")
        elif _ending(name) in TYPES:
            yield name, entry.read_bytes()


def _ending(name: str) -> str:
    return name.rpartition(".")[2]

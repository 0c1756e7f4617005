"""The desk inside a browser's worker: the same application, asked in place, without a server.

A page in one file has no disk. What a person saves goes to a folder in memory, whose files the
page keeps in the browser's storage and hands back at the next start.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import anyio.to_thread
from starlette.types import ASGIApp, Message

from sheetmark.anatomy.arch_model import load_model, model_names
from sheetmark.base.file_kinds import refuse_other_kinds
from sheetmark.base.findings import InputError
from sheetmark.base.toml import toml_text
from sheetmark.base.user_folder import (
    PRACTICE_FILE,
    default_path,
    models_folder,
    settings_folder,
)
from sheetmark.desk.server.app import make_app
from sheetmark.desk.server.desk import Desk
from sheetmark.desk.server.findings import problems_shown
from sheetmark.desk.server.first_use import use_once
from sheetmark.practice.file.check import check_text, parse_text
from sheetmark.typesetting.lettering import unwritable

# The page and its worker are one: what these guard against elsewhere cannot come in here.
_HOST = b"sheetmark"
_TOKEN = b"inside"
_JAWS = {"upper", "lower"}


class Inside:
    """The desk's application, and the files that are kept for it."""

    def __init__(self, kept: str) -> None:
        """`kept` holds the text of each file by its name, as JSON; `kept` gives it back."""
        _run_in_place()
        self.put(kept)
        use_once()
        desk = Desk(default_path(), _TOKEN.decode(), frozenset({_HOST.decode()}))
        self._app: ASGIApp = make_app(desk)

    async def ask(
        self, method: str, address: str, content_type: str = "", body: Any = b""
    ) -> tuple[int, dict[str, str], bytes]:
        """Status, headers and body of the answer to a request of the page."""
        path, _, query = address.partition("?")
        headers = [(b"host", _HOST), (b"x-sheetmark-token", _TOKEN)]
        if content_type:
            headers.append((b"content-type", content_type.encode()))
        scope = {
            "type": "http",
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "method": method,
            "scheme": "http",
            "path": path,
            "raw_path": path.encode(),
            "query_string": query.encode(),
            "root_path": "",
            "headers": headers,
            "client": None,
            "server": None,
        }
        messages: list[Message] = [{"type": "http.request", "body": bytes(body)}]
        sent: list[Message] = []

        async def receive() -> Message:
            if not messages:
                await asyncio.Event().wait()  # the page stays as long as its worker
            return messages.pop()

        async def send(message: Message) -> None:
            sent.append(message)

        await self._app(scope, receive, send)
        start, *rest = sent
        named = {name.decode(): value.decode() for name, value in start["headers"]}
        return start["status"], named, b"".join(part.get("body", b"") for part in rest)

    def put(self, kept: str) -> None:
        """Replace the files by those that the page has kept."""
        files: Mapping[str, str] = json.loads(kept)
        folder = settings_folder()
        for name in _names() - files.keys():
            (folder / name).unlink()
        for name, text in files.items():
            _write(folder / name, text)

    def kept(self) -> str:
        """The text of each file by its name in the settings folder, as JSON."""
        folder = settings_folder()
        return json.dumps({name: (folder / name).read_text("utf-8") for name in sorted(_names())})

    def take(self, name: str, content: Any, *, replace: bool = False) -> str:
        """Take over a practice file or an arch model that a person has opened.

        As JSON: `taken`, the name under which it is kept, or none; `problems`, a line for each; or
        `question`, to be answered before a file is replaced.
        """
        try:
            place, text = _checked(name, bytes(content))
        except InputError as error:
            return json.dumps({"problems": problems_shown(error)})
        path = settings_folder() / place
        if path.exists() and path.read_text("utf-8") != text and not replace:
            return json.dumps({"question": f"{place} is kept already. Replace it with {name}?"})
        _write(path, text)
        return json.dumps({"taken": place})


def _names() -> set[str]:
    """The files that are there, as they lie below the settings folder."""
    folder = settings_folder()
    found = [folder / PRACTICE_FILE, *models_folder().glob("*.toml")]
    return {path.relative_to(folder).as_posix() for path in found if path.is_file()}


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")


def _checked(name: str, content: bytes) -> tuple[str, str]:
    """Where a file belongs, and its text. Raises InputError for one that cannot be used."""
    wanted = "a practice file or an arch model"
    refuse_other_kinds(content, name, ("practice", "arch"), wanted, f"choose {wanted}")
    text = toml_text(content, name)
    if _JAWS & parse_text(text, name).keys():
        return _model_place(name, text), text
    check_text(text, name, unwritable)
    return PRACTICE_FILE, text


def _model_place(name: str, text: str) -> str:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "model.toml"
        path.write_text(text, "utf-8")
        try:
            model = load_model(str(path))
        except InputError as error:
            raise InputError(*(line.replace(str(path), name) for line in error.problems)) from None
    if model.name in model_names():
        raise InputError(f"{name}: {model.name} is the name of a model that is here already")
    return (models_folder() / f"{model.name}.toml").relative_to(settings_folder()).as_posix()


def _run_in_place() -> None:
    """A worker has no threads: what the server would hand to one runs at once."""

    async def run_sync(work: Callable[..., Any], *arguments: Any, **_: Any) -> Any:
        return work(*arguments)

    setattr(anyio.to_thread, "run_sync", run_sync)  # noqa: B010  of another type by intent

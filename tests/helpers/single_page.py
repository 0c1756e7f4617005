"""The page in one file: what it is built from, and its answers to requests, asked in Node.js."""

from __future__ import annotations

import json
import os
import shlex
import shutil
import subprocess
from base64 import b64decode
from pathlib import Path
from urllib.parse import urlencode

import pytest
from msgspec import Struct

from sheetmark.base.findings import InputError
from sheetmark.desk.single.carried import carried
from sheetmark.desk.single.core import read_core
from tests.helpers.paths import ROOT

CORE = ROOT / "core"
ASKING = ROOT / "tests" / "js" / "ask_single.mjs"

# Method, address, content type, body.
Request = tuple[str, str, str, str]


class Answer(Struct, frozen=True):
    """An answer of the page's application."""

    status: int
    headers: dict[str, str]
    content: bytes


class Figures(Struct, frozen=True):
    """Seconds of processor time until the bare core and until the application is ready, and for
    each answer; bytes of the core's memory."""

    bare: float
    ready: float
    each: float
    heap: int


def core_for_tests() -> Path:
    """Where the core is. Without it CI fails; elsewhere the test is skipped in words."""
    reason = "no Node.js" if shutil.which("node") is None else ""
    if not reason:
        try:
            read_core(CORE, carried().compiled)
        except InputError:
            reason = "nothing to build the page in one file from: run python -m tests.fetch_core"
    if reason and os.environ.get("CI"):
        pytest.fail(reason)
    if reason:
        pytest.skip(reason)
    return CORE


def ask(page: Path, requests: list[Request], folder: Path) -> tuple[list[Answer], Figures]:
    """The answers that what the page carries gives in Node.js, one after another."""
    given, made = folder / "requests.json", folder / "answers.json"
    given.write_text(json.dumps(requests), "utf-8")
    node = str(shutil.which("node"))
    done = subprocess.run(
        [node, str(ASKING), str(page), str(given), str(made)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    result = json.loads(made.read_text("utf-8"))
    answers = [
        Answer(answer["status"], answer["headers"], b64decode(answer["content"]))
        for answer in result["answers"]
    ]
    return answers, Figures(**result["figures"])


def query_of(command: str) -> str:
    """A case as the page's address has it, from the command line of its plan."""
    _, _, *rest = shlex.split(command)
    pairs: list[tuple[str, str]] = []
    while rest:
        part = rest.pop(0)
        if not part.startswith("-"):
            pairs.append(("treat", part))
        elif part == "--no-shift":
            pairs.append(("shift", "none"))
        elif part in ("--missing", "--present"):
            state = part.removeprefix("--")
            pairs += [("with", f"{tooth} {state}") for tooth in rest.pop(0).split(",")]
        else:
            pairs.append((part.removeprefix("--"), rest.pop(0)))
    return urlencode(pairs)

"""The chairside page on a port of this machine, as the tests that drive it meet it."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

TOKEN = "token-of-the-test"


class Running(Struct, frozen=True):
    """A desk that answers: its address, its settings folder and the practice file in that."""

    url: str
    folder: Path
    practice_file: Path

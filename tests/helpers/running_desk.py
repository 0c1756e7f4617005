"""The chairside page on a port of this machine, as the tests that drive it meet it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

TOKEN = "token-of-the-test"


@dataclass(frozen=True)
class Running:
    """A desk that answers: its address, its settings folder and the practice file in that."""

    url: str
    folder: Path
    practice_file: Path

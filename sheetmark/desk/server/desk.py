"""What a running desk knows: the practice file, its page's token, the hosts it answers to."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Annotated

from fastapi import Depends, Request

from sheetmark.practice.file.check import check_text, read_text
from sheetmark.practice.settings import Practice


@dataclass(frozen=True, slots=True)
class Desk:
    """`practice_file` need not be there yet. `hosts` are the names and addresses, with port,
    under which a browser may ask for the page; `token` goes to the page alone."""

    practice_file: Path
    token: str
    hosts: frozenset[str]

    def practice(self) -> Practice:
        """The settings in force, read anew. Raises InputError for a file with a problem."""
        if not self.practice_file.exists():
            return Practice()
        return _checked(read_text(self.practice_file), self.practice_file.name).practice


# A file is read for each click, but checked only when its text has changed.
_checked = lru_cache(maxsize=4)(check_text)


def _desk(request: Request) -> Desk:
    desk: Desk = request.app.state.desk
    return desk


DeskOf = Annotated[Desk, Depends(_desk)]

"""What a running desk knows: the practice file, its page's token, the hosts it answers to."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from threading import Event
from typing import Annotated

from fastapi import Depends, Request
from msgspec import Struct, field

from sheetmark.base.user_folder import is_there
from sheetmark.practice.file.check import check_text, read_text
from sheetmark.practice.settings import Practice


class Desk(Struct, frozen=True):
    """`hosts` are the names and addresses, with port, under which a browser may ask for the page;
    `token` goes to the page alone.

    `practice_file` need not be there yet, unless a person `named` it; once it was there it must
    stay, so that nobody prints with other settings while a share is away.
    """

    practice_file: Path
    token: str
    hosts: frozenset[str]
    named: bool = False
    _seen: Event = field(default_factory=Event)

    def practice(self) -> Practice:
        """The settings in force, read anew. Raises InputError for a file with a problem."""
        text = self.practice_text()
        return Practice() if text is None else _checked(text, self.practice_file.name).practice

    def practice_text(self) -> str | None:
        """The practice file's text, None while there never was one. Raises InputError."""
        if self.named or is_there(self.practice_file):
            self._seen.set()
        return read_text(self.practice_file) if self._seen.is_set() else None


# A file is read for each click, but checked only when its text has changed.
_checked = lru_cache(maxsize=4)(check_text)


async def _desk(request: Request) -> Desk:  # or each request would wait for a thread for it
    desk: Desk = request.app.state.desk
    return desk


DeskOf = Annotated[Desk, Depends(_desk)]

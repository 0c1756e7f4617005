"""How far a long run is, on stderr; nothing where no person looks on, or with -q."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TypeVar

from sheetmark.cli.talk import is_quiet

_Item = TypeVar("_Item")


def _watched() -> bool:
    return sys.stderr.isatty() and not is_quiet()


@contextmanager
def working(what: str) -> Iterator[None]:
    """Shows that work goes on whose length is not known, with the seconds so far."""
    if not _watched():
        yield
        return
    from rich.console import Console
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    columns = (SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        progress.add_task(f"{what} (Ctrl-C stops)", total=None)
        yield


@contextmanager
def counted(items: Sequence[_Item], what: str, *, least: int = 0) -> Iterator[Iterable[_Item]]:
    """The items, with a bar and the time left where there are at least so many."""
    if len(items) < least or not _watched():
        yield items
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as progress:
        yield progress.track(items, description=what)

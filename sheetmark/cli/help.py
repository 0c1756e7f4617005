"""`sheetmark help`: a term in plain words."""

from __future__ import annotations

from textwrap import fill
from typing import Annotated

import typer

from sheetmark.jobs.glossary import Term, find_term, terms

_WIDTH = 80


def command(
    term: Annotated[
        list[str] | None,
        typer.Argument(metavar="TERM", help="The term; without one, all are listed."),
    ] = None,
) -> None:
    """Explain a term of the pages in plain words."""
    if term:
        _show(find_term(" ".join(term)))
        return
    print(fill(", ".join(known.title for known in terms().values()), _WIDTH))


def _show(term: Term) -> None:
    print(term.title)
    print(fill(term.text, _WIDTH))
    if term.also:
        print(fill(f"Also: {', '.join(term.also)}.", _WIDTH))
    related = ", ".join(terms()[key].title for key in term.see)
    print(fill(f"See: {related}.", _WIDTH))

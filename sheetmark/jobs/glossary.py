"""The terms of the pages and of the program in plain words, from `glossary.toml`."""

from __future__ import annotations

from difflib import get_close_matches
from functools import cache
from pathlib import Path

import msgspec

from sheetmark.base.findings import InputError
from sheetmark.base.toml import read_toml

_FILE = "glossary.toml"


class Term(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A term: its title, what it means, other words for it, and the keys of related terms."""

    title: str
    text: str
    also: tuple[str, ...] = ()
    see: tuple[str, ...] = ()


class _Glossary(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    terms: dict[str, Term]


@cache
def terms() -> dict[str, Term]:
    """Every term by its key, in the order of their titles."""
    table = read_toml(Path(__file__).with_name(_FILE), _FILE, _Glossary).terms
    return dict(sorted(table.items(), key=lambda item: item[1].title.casefold()))


def find_term(text: str) -> Term:
    """The term of that key, title or other word, whatever its letter case.

    Raises InputError for another text, with the nearest terms.
    """
    known = {
        word.casefold(): term
        for key, term in terms().items()
        for word in (key, key.replace("-", " "), term.title, *term.also)
    }
    wanted = " ".join(text.split()).casefold()
    found = known.get(wanted) or known.get(wanted.removesuffix("s"))
    if found is None:
        near = list(dict.fromkeys(known[w].title for w in get_close_matches(wanted, known, n=2)))
        meant = f"did you mean {' or '.join(near)}?" if near else "sheetmark help lists the terms"
        raise InputError(f"term {text!r}: not in the glossary; {meant}")
    return found

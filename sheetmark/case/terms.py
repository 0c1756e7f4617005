"""The terms that practices use, in four languages, and ours for them.

The table is `terms.toml`; a practice adds words of its own in its file.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Literal

from sheetmark.base.records import convert

Kind = Literal["heading", "procedure", "state"]
Meanings = Mapping[str, str]
"""A meaning for each word; the words as `plain` has them."""

_NO_LETTER = re.compile(r"[^\w]+")


@cache
def plain(text: str) -> str:
    """A word as it is compared: without accents, capitals, dots and dashes."""
    letters = unicodedata.normalize("NFKD", text.casefold())
    kept = "".join(letter for letter in letters if not unicodedata.combining(letter))
    return " ".join(_NO_LETTER.sub(" ", kept).replace("_", " ").split())


@cache
def known_terms(kind: Kind) -> Meanings:
    """The words of the shipped table, and each meaning's own name."""
    meanings = _table()[kind]
    own = {plain(meaning): meaning for meaning in meanings}
    return own | {
        plain(word): meaning
        for meaning, languages in meanings.items()
        for names in languages.values()
        for word in names
    }


def meant(text: str, meanings: Meanings) -> frozenset[str]:
    """What a text means: the meaning of all of it, else those of the words in it.

    A word inside a longer one that is known, such as canal in root canal, does not count.
    """
    whole = plain(text)
    if whole in meanings:
        return frozenset((meanings[whole],))
    left, found = f" {whole} ", set()
    for word in sorted(meanings, key=len, reverse=True):
        if f" {word} " in left:
            found.add(meanings[word])
            left = left.replace(f" {word} ", "  ")
    return frozenset(found)


@cache
def _table() -> Mapping[str, Mapping[str, Mapping[str, list[str]]]]:
    content = Path(__file__).with_name("terms.toml").read_bytes()
    data = tomllib.loads(content.decode())
    return convert(data, dict[str, dict[str, dict[str, list[str]]]])

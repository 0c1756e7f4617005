"""What a remark of a list says about teeth: `17 fehlt`, `Implantat 15`, `pont 14-16`."""

from __future__ import annotations

import re

from sheetmark.anatomy.teeth import Notation, read
from sheetmark.base.findings import InputError
from sheetmark.case.exceptions import read_states
from sheetmark.case.terms import known_terms, meant, plain

_PARTS = re.compile(r"[;\n]|,(?!\d)|\.(?=\s|$)")
_TEETH = re.compile(r"\b\d\d(?:\s*-\s*\d\d)?\b")
# Words beside a tooth that change nothing.
_FILLERS = frozenset(
    ["is", "are", "ist", "sind", "est", "sont", "es", "son", "la", "le", "el", "los", "les"]
)


def exceptions_in(remark: str, notation: Notation) -> tuple[str, bool]:
    """The exceptions that a remark states, as `--with` takes them, and whether that is all of it.

    A part is taken only where every word of it is understood.
    """
    found, whole = [], True
    for part in filter(None, (part.strip() for part in _PARTS.split(remark))):
        terms = _terms(part, notation)
        found += terms
        whole &= bool(terms)
    return "; ".join(found), whole


def _terms(part: str, notation: Notation) -> list[str]:
    try:
        read_states([part], notation)
    except InputError:
        return _translated(part, notation)
    return [part]


def _translated(part: str, notation: Notation) -> list[str]:
    terms = known_terms("state")
    teeth = [re.sub(r"\s", "", tooth) for tooth in _TEETH.findall(part)]
    rest = f" {plain(_TEETH.sub(' ', part))} "
    states = meant(rest, terms)
    for word in sorted(terms, key=len, reverse=True):
        rest = rest.replace(f" {word} ", "  ")
    heads = known_terms("heading")
    left = [word for word in rest.split() if word not in _FILLERS and heads.get(word) != "teeth"]
    if len(states) != 1 or left or not teeth:
        return []
    (state,) = states
    if any(("-" in tooth) != (state == "bridge") for tooth in teeth):
        return []
    try:
        for tooth in teeth:
            read(tooth[:2], notation)
    except InputError:
        return []
    return [f"{tooth} {state}" for tooth in teeth]

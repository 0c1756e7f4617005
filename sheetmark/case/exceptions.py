"""What is different in a mouth, as terms: `24 pontic`, `15 missing gap 4`, `24-26 bridge`.

A tooth comes first, and any of TERMS behind it. `facial`, `lingual`, `mesial`, `distal`, `rotated`
and `gap` take a number. `24-26 bridge` makes the ends abutments and every tooth between a pontic.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any

from msgspec.structs import replace

from sheetmark.anatomy.teeth import Notation, Tooth, read, tooth_at, write
from sheetmark.base.findings import InputError
from sheetmark.case.case import Run, ToothState, read_run, write_number
from sheetmark.case.terms import known_terms, meant

_PLAIN: dict[str, dict[str, Any]] = {
    "missing": {"missing": True},
    "closed": {"gap_mm": 0.0},
    "present": {"present": True},
    "pontic": {"pontic": True},
    "abutment": {"abutment": True},
    "implant": {"implant": True},
    "partly-erupted": {"partly_erupted": True},
    "lesion": {"lesion": True},
    "broken-down": {"broken_down": True},
}
_NUMBERED: dict[str, tuple[str, float]] = {
    "gap": ("gap_mm", 1.0),
    "facial": ("facial_mm", 1.0),
    "lingual": ("facial_mm", -1.0),
    "mesial": ("mesial_mm", 1.0),
    "distal": ("mesial_mm", -1.0),
    "rotated": ("rotated_deg", 1.0),
}
_HYPHEN = re.compile("(?<=[a-z])-(?=[a-z])")
TERMS = (*_PLAIN, *_NUMBERED, "bridge")


def read_states(texts: Iterable[str], notation: Notation) -> tuple[ToothState, ...]:
    """Tooth states from texts, each with one tooth or several set apart by semicolons."""
    states: dict[Tooth, ToothState] = {}
    for text in texts:
        for part in text.split(";"):
            for state in _read_part(part, notation):
                states[state.tooth] = _merged(states.get(state.tooth), state, notation)
    return tuple(states.values())


def write_state(state: ToothState, notation: Notation) -> str:
    """The inverse of `read_states` for one tooth."""
    return f"{write(state.tooth, notation)} {' '.join(state_terms(state))}"


def state_terms(state: ToothState) -> list[str]:
    """What is different about a tooth, without its number, as it is typed."""
    return _terms(state)


def state_prose(state: ToothState) -> str:
    """The same for a page: with units, and without the hyphens of `partly-erupted`."""
    return ", ".join(_HYPHEN.sub(" ", term) for term in _terms(state, mm=" mm", deg="°"))


def _terms(state: ToothState, mm: str = "", deg: str = "") -> list[str]:
    terms: list[str] = []
    for word, change in _PLAIN.items():
        ((field, value),) = change.items()
        if getattr(state, field) == value and value is not None and word != "closed":
            terms.append(word)
    if state.gap_mm is not None:
        terms.append("closed" if state.gap_mm == 0 else f"gap {write_number(state.gap_mm)}{mm}")
    for towards, away, by in (
        ("facial", "lingual", state.facial_mm),
        ("mesial", "distal", state.mesial_mm),
    ):
        if by:
            terms.append(f"{towards if by > 0 else away} {write_number(abs(by))}{mm}")
    if state.rotated_deg:
        terms.append(f"rotated {write_number(state.rotated_deg)}{deg}")
    return terms


def _read_part(part: str, notation: Notation) -> list[ToothState]:
    terms = part.split()
    if not terms:
        return []
    if terms[1:] == ["bridge"]:
        return _bridge(read_run(terms[0], notation))
    state = blank = ToothState(read(terms[0], notation))
    if len(terms) == 1:
        raise InputError(f"{part.strip()!r}: says nothing of the tooth; use {', '.join(TERMS)}")
    rest = iter(terms[1:])
    for word in rest:
        if word in _PLAIN:
            state = _merged(state, replace(blank, **_PLAIN[word]), notation)
        elif word in _NUMBERED:
            field, sign = _NUMBERED[word]
            number = _number(next(rest, ""), word, part)
            if number == 0 and word != "gap":  # a gap of 0 is closed
                raise InputError(f"{part.strip()!r}: {word} 0 changes nothing; leave it out")
            change: dict[str, Any] = {field: sign * number}
            state = _merged(state, replace(blank, **change), notation)
        else:
            near = sorted(meant(word, known_terms("state"))) or get_close_matches(word, TERMS, n=1)
            hint = f"did you mean {' or '.join(near)}" if near else f"use {', '.join(TERMS)}"
            raise InputError(f"{part.strip()!r}: unknown word {word!r}; {hint}")
    if state.gap_mm is not None and not (state.missing or state.pontic):
        state = replace(state, missing=True)
    return [state]


def _number(text: str, word: str, part: str) -> float:
    try:
        # Nothing else in the grammar is a comma, so that a decimal comma is plain.
        return float(text.replace(",", "."))
    except ValueError:
        unit = "degrees" if word == "rotated" else "mm"
        raise InputError(
            f"{part.strip()!r}: {word} needs a number of {unit} behind it, not {text!r}"
        ) from None


def _bridge(run: Run) -> list[ToothState]:
    if run.start.jaw != run.end.jaw:
        raise InputError("bridge: its ends stand in different jaws; name two teeth of one jaw")
    low, high = sorted((run.start.along, run.end.along))
    if run.start.primary or run.end.primary or high - low < 2 or 0 in (low, high):
        raise InputError(
            f"bridge {run.start.iso}-{run.end.iso} (ISO): needs two permanent abutments with at "
            f"least one tooth between them"
        )
    jaw = run.start.jaw
    between = [tooth_at(jaw, along) for along in range(low + 1, high) if along]
    return [
        ToothState(tooth_at(jaw, low), abutment=True),
        *(ToothState(tooth, pontic=True) for tooth in between),
        ToothState(tooth_at(jaw, high), abutment=True),
    ]


def _merged(old: ToothState | None, new: ToothState, notation: Notation) -> ToothState:
    """Both texts of one tooth taken together; a field given twice must be given alike."""
    if old is None:
        return new
    blank = ToothState(new.tooth)
    changes: dict[str, Any] = {}
    for field in ToothState.__struct_fields__:
        was, now, empty = getattr(old, field), getattr(new, field), getattr(blank, field)
        if now == empty or field == "tooth":
            continue
        if was not in (empty, now):
            raise InputError(
                f"tooth {write(new.tooth, notation)}: {field.replace('_', ' ')} given twice, "
                f"{was:g} and {now:g}; leave one out"
            )
        changes[field] = now
    return replace(old, **changes)

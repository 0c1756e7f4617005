"""Teeth as lists write them: `16 mod`, `Zahn 16/15`, `1.6`, `26 + 27`; and in a calendar's line."""

from __future__ import annotations

import re

from sheetmark.anatomy.teeth import Notation
from sheetmark.base.findings import InputError
from sheetmark.case.terms import known_terms, plain

# A spreadsheet may write the whole numbers of a column as 16.0.
_WHOLE = re.compile(r"\b(\d+)\.0+\b")
_WITH_POINT = re.compile(r"(?<![\d.])([1-8])\.([1-8])(?![\d.])")
# Letters of surfaces behind a number: mesial, occlusal or incisal, distal, buccal or vestibular,
# lingual, palatal, cervical.
_SURFACES = re.compile(r"(?<=\d)\s*-?\s*[MODIBVLPCmodibvlpc]{1,6}\b")
_BETWEEN = re.compile(r"\s*(?:[/+&;]|\b(?:and|und|et|y|u\.)(?=\s))\s*")
# Of a calendar's line, what is a number and no tooth: a time, a length, an age, a room.
_NO_TOOTH = re.compile(
    r"\d+\s*(?:min|minutes|minuten|h|uhr|eur|€|%|mm|x|j|jahre|ans|años|years?|yrs?)\b"
    r"|\d+[:.]\d\d(?!\d)|\d{3,}"
    r"|\b(?:room|raum|zimmer|salle|sala|box|chair|stuhl|fauteuil|sillón|nr|no|n°)\W{0,2}\d+",
    re.IGNORECASE,
)
_NUMBERS = re.compile(r"\d+(?:[\s,]+\d+)*")


def teeth_in(cell: str, notation: Notation) -> str:
    """A cell with what stands round its teeth taken off, as `anatomy.teeth.read_list` takes it."""
    text = _WHOLE.sub(r"\1", cell)
    if notation != "iso":
        return text
    text = _BETWEEN.sub(" ", _SURFACES.sub("", _WITH_POINT.sub(r"\1\2", text)))
    heads = known_terms("heading")
    # A word for tooth is no part of the number; any other word is left, and refused as a tooth.
    return " ".join(word for word in text.split() if heads.get(plain(word)) != "teeth")


def teeth_in_summary(summary: str, notation: Notation) -> str:
    """The teeth in a line of words; empty where it holds no number.

    Raises InputError for numbers in several places of the line, of which only some may be teeth,
    and where the practice's notation is not ISO: letters of names would be read as teeth.
    """
    if notation != "iso":
        raise InputError("teeth are read from a calendar's line in ISO notation alone")
    text = _BETWEEN.sub(" ", _SURFACES.sub("", _WITH_POINT.sub(r"\1\2", summary)))
    groups = _NUMBERS.findall(_NO_TOOTH.sub("; ", text))
    if len(groups) > 1:
        raise InputError("numbers stand in several places; write the teeth side by side")
    return groups[0] if groups else ""

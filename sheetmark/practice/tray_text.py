"""The tray in a line: `4 molar winged; 2 premolar wingless`; a CSV or the settings say the rest."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import get_args

from sheetmark.base.choice import pick
from sheetmark.base.findings import InputError
from sheetmark.practice.tray import Clamp, ClampKind

_KINDS: tuple[ClampKind, ...] = get_args(ClampKind)
_ENTRY = re.compile(
    r"(?:(\d{1,2})\s*x?\s+)?([a-z-]+(?: molar)?)\s+(winged|wingless)", re.IGNORECASE
)


def read_tray(text: str) -> tuple[Clamp, ...]:
    """Sorts of clamps set apart by semicolons: how many, what for, winged or wingless.

    Raises InputError for any other text, and for a sort that is named twice.
    """
    clamps: dict[str, Clamp] = {}
    for entry in filter(None, (part.strip() for part in text.split(";"))):
        match = _ENTRY.fullmatch(entry)
        if match is None:
            raise InputError(
                f"clamps {entry!r}: write how many, what for and winged or wingless, "
                f"such as 4 molar winged"
            )
        kind = pick("clamps for", match[2].replace(" ", "-"), _KINDS)
        wings = match[3].lower()
        label = f"{kind.replace('-', ' ')} {wings}"
        if label in clamps:
            raise InputError(f"clamps {entry!r}: named twice; write it once, with its number")
        clamps[label] = Clamp(label, kind, winged=wings == "winged", count=int(match[1] or 1))
    if not clamps:
        raise InputError("clamps: none named; write them such as 4 molar winged; 2 front winged")
    return tuple(clamps.values())


def write_tray(tray: Sequence[Clamp]) -> str:
    """How many of each sort, as far as a line says it; the inverse of `read_tray`."""
    return "; ".join(
        f"{clamp.count} {clamp.kind} {'winged' if clamp.winged else 'wingless'}" for clamp in tray
    )

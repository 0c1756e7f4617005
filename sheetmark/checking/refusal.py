"""Why a photograph is not judged. A refusal is bad input, with a kind that programs can tell."""

from __future__ import annotations

from typing import Literal, get_args

from sheetmark.base.findings import InputError

RefusalKind = Literal[
    "not-a-photograph",
    "too-few-marks",
    "blur",
    "mirrored",
    "other-page",
    "page-bent",
    "tilt",
    "no-sheet",
    "sheet-not-flat",
    "contrast",
    "no-card",
]
REFUSALS: tuple[RefusalKind, ...] = get_args(RefusalKind)


class RefusedError(InputError):
    """A photograph that cannot be judged: what, value, limit, what to do, in one line."""

    def __init__(self, kind: RefusalKind, problem: str) -> None:
        super().__init__(problem)
        self.kind = kind

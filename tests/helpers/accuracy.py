"""What a study of drawn patients says of each kind of row, as the table of errors holds it."""

from __future__ import annotations

from collections.abc import Iterator

from sheetmark.anatomy.row_kind import RowKind, kind_of_row
from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.studies.coverage.study import Coverage


def rows(found: Coverage) -> Iterator[tuple[Jaw, RowKind, float, float]]:
    """Jaw, kind of row, half and 95 %, mm: the worst of the usual rows of that kind."""
    for jaw in JAWS:
        errors: dict[RowKind, list[tuple[float, float]]] = {}
        for served in found.served:
            if served.situation.jaw == jaw:
                kind = kind_of_row(served.situation.teeth)
                assert kind is not None
                errors.setdefault(kind, []).append(served.hole_mm)
        for kind, pairs in errors.items():
            half, most = max(pairs)
            yield jaw, kind, half, most

"""A jaw of a new model from what callipers measured."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import msgspec
from msgspec.structs import replace

from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.placed import MeasuredRow
from sheetmark.anatomy.teeth import Jaw, Notation, Tooth, write
from sheetmark.fitting.figure import Figure
from sheetmark.fitting.fit import PREDICTED_KEY, JawFit, Origin, placed_rows, side_row, teeth_of
from sheetmark.fitting.how_far import measured_rows
from sheetmark.fitting.matrix import Matrix
from sheetmark.fitting.measured import measure_arch
from sheetmark.fitting.measures import DEFAULT_POINT, Measure
from sheetmark.fitting.predict import Mouth, Prior, mouth_of
from sheetmark.fitting.readings import row_depth, width_across

# A result reports the widths at these places and the depth, measured or not.
_REPORTED_PLACES = (3, 6)


def fit_callipers(jaw: Jaw, measures: Sequence[Measure], origin: Origin) -> JawFit:
    """The base's jaw with every tooth where it most likely stands.

    Raises InputError for a figure that no mouth has, and as `measured.measure_arch`.
    """
    base = origin.base
    held = teeth_of(jaw, base.jaw(jaw))
    arch = build_arch(base, jaw, side_row(held, "right"), side_row(held, "left"))
    own = base.jaw(jaw).row
    standing = tuple(tooth for tooth in held if tooth.slot in own)
    done = measure_arch(arch, base, measures, standing, origin.notation)
    predicted = done.predicted
    table = msgspec.structs.replace(
        base.jaw(jaw),
        placed=placed_rows(done.arch, (), origin),
        worst_hole=rows_off(done.prior, predicted.mouth, predicted.errors, standing),
    )
    others = not_measured(done.prior, predicted.mouth, standing, origin.notation, measures)
    figures = (
        *done.figures,
        *(replace(figure, sd_mm=predicted.sd_mm(of)) for figure, of in others),
    )
    return JawFit(jaw, table, standing, figures, done.findings)


def rows_off(
    prior: Prior, mouth: Mouth, errors: Matrix, standing: Sequence[Tooth]
) -> tuple[MeasuredRow, ...]:
    """How far the holes of the jaw's usual rows may be off."""
    numbers = {tooth: prior.at(tooth.along) for tooth in standing}
    return measured_rows(mouth.centres, errors, numbers, PREDICTED_KEY)


def not_measured(
    prior: Prior,
    mouth: Mouth,
    standing: Sequence[Tooth],
    notation: Notation,
    measures: Sequence[Measure] = (),
) -> tuple[tuple[Figure, Callable[[Mouth], float]], ...]:
    """The widths and the depth of a jaw that were not measured, mm at the gum line."""
    before = mouth_of(prior.state)
    known = {(m.kind, m.teeth[0].position) for m in measures if m.point == DEFAULT_POINT}
    by_place = {tooth.along: tooth for tooth in standing}
    wanted: list[tuple[str, Callable[[Mouth], float]]] = []
    for place in _REPORTED_PLACES:
        if place in by_place and -place in by_place and ("across", place) not in known:
            name = "-".join(write(by_place[side * place], notation) for side in (-1, 1))
            wanted.append((name, width_across([prior.at(-place), prior.at(place)])))
    if 6 in by_place and -6 in by_place and ("depth", 6) not in known:
        wanted.append((f"{prior.jaw} depth", row_depth(prior)))
    return tuple((Figure(what, of(mouth), None, f"{of(before):.2f}"), of) for what, of in wanted)

"""The arch of this mouth: the model's, with what was measured, and what is worth saying of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from sheetmark.anatomy.arch_model import ArchModel
from sheetmark.anatomy.jaw import Arch, build_arch
from sheetmark.anatomy.teeth import Tooth, tooth_at
from sheetmark.base.codes import Code
from sheetmark.base.findings import Finding
from sheetmark.case.case import Case
from sheetmark.plan.dentition import Dentition

if TYPE_CHECKING:
    # Measuring is no part of a plain overlay.
    from sheetmark.fitting.measured import Measured


class MouthArch(Struct, frozen=True):
    """The jaw of a case, what is worth saying of it, and what was measured of it for this case."""

    arch: Arch
    """The jaw's teeth, mouth frame."""
    findings: tuple[Finding, ...]
    """What is worth saying of it."""
    measured: Measured | None


def arch_of(case: Case, model: ArchModel, teeth: Dentition) -> MouthArch:
    """The jaw of the case. Raises InputError for a measure that no mouth has."""
    arch = build_arch(model, teeth.jaw, teeth.right, teeth.left)
    findings = (*_missed(case, arch), *_kept(case, arch))
    measures = [measure for measure in case.measures if measure.jaw == arch.jaw]
    done = None
    others = [measure for measure in case.measures if measure.jaw != arch.jaw]
    if measures:
        # Loaded here: measuring is no part of a plain overlay.
        from sheetmark.fitting.measured import measure_arch

        standing = [tooth for tooth in arch.teeth if not case.state(tooth).missing]
        done = measure_arch(arch, model, measures, standing, case.notation)
        arch, findings = done.arch, (*_kept(case, arch), *done.findings)
    if others:
        names = ", ".join(measure.text(case.notation) for measure in others)
        message = f"Measured in the other jaw: {names}. It changes nothing here."
        findings += (Finding(Code.OTHER_JAW, "info", message, field="measure"),)
    return MouthArch(arch, findings, done)


def predicted_places(case: Case, arch: Arch, row: Sequence[Tooth]) -> tuple[Finding, ...]:
    """A finding where some of the row were not seen though others of the mouth were."""
    unseen = [tooth for tooth in row if tooth not in arch.seen]
    if not (arch.seen and unseen):
        return ()
    return (
        Finding(
            Code.PREDICTED_PLACE,
            "warning",
            f"{case.write(unseen)}: not seen when the arch was measured, so predicted.",
            "Measure there too, or hold the page to the teeth.",
            field="arch",
        ),
    )


def _kept(case: Case, arch: Arch) -> tuple[Finding, ...]:
    """A finding for each gap that leaves the teeth behind it where they were seen."""
    gaps = [
        state.tooth
        for state in case.special
        if state.tooth.jaw == arch.jaw and state.gap_mm is not None
    ]
    return tuple(
        Finding(
            Code.PLACE_KEPT,
            "info",
            f"The gap at {case.write([gap])} moves nothing: the teeth behind it stand where they "
            f"were seen.",
            field="with",
        )
        for gap in gaps
        if any(t.side == gap.side and t.position > gap.position for t in arch.seen)
    )


def _missed(case: Case, arch: Arch) -> tuple[Finding, ...]:
    """A finding for each width across the arch that the teeth cannot reach."""
    return tuple(
        Finding(
            Code.WIDTH_MISSED,
            "warning",
            f"The width of the arch at {case.write([tooth_at(arch.jaw, -place)])} and "
            f"{case.write([tooth_at(arch.jaw, place)])} is out of reach of these teeth: the "
            f"nearest arch is {abs(off):.1f} mm {'wider' if off > 0 else 'narrower'} there.",
            "Measure that width, and the teeth in front of it, again.",
            field="arch",
            value=off,
        )
        for place, off in arch.missed_mm
    )

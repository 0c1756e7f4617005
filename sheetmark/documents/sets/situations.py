"""The usual situations of an arch model, and the cases that each serves.

Which there are comes from the isolation rules: each tooth is planned for each procedure, and cases
whose sheets are punched alike share one. Left and right are two.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import ArchModel
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw, Tooth, in_arch_order, write
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case, Procedure
from sheetmark.documents.parts import findings
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.plan.rows import SECOND_MOLAR
from sheetmark.practice.settings import Practice
from sheetmark.typesetting.paragraphs import Paragraph

# A gumline lesion moves its hole, so that its sheet serves one tooth only.
USUAL: tuple[Procedure, ...] = ("restoration", "crown", "root-canal", "full-arch")


class Situation(Struct, frozen=True):
    """One page: a plan in which no tooth is the treated one, and the cases that it serves."""

    plan: Plan
    cases: tuple[tuple[Procedure, Tooth], ...]
    warnings: tuple[Paragraph, ...]

    @property
    def jaw(self) -> Jaw:
        """The jaw that the sheet is for."""
        return self.plan.arch.jaw

    def write(self, teeth: Iterable[Tooth]) -> str:
        """Teeth in the notation of the set."""
        return self.plan.case.write(teeth)

    @property
    def treated(self) -> tuple[Tooth, ...]:
        """The teeth that may be treated with this sheet, from the patient's right to the left."""
        return in_arch_order({tooth for _, tooth in self.cases})

    @property
    def title(self) -> str:
        """Such as `Upper right · molar 16`."""
        row, jaw = self.plan.isolation.row, self.jaw.capitalize()
        if len(row) == 1:
            (tooth,) = row
            return f"{jaw} {tooth.side} · {tooth.tooth_class} {self.write(row)} alone"
        if row[0].side == row[-1].side:
            classes = dict.fromkeys(tooth.tooth_class for tooth in self.treated)
            return f"{jaw} {row[0].side} · {', '.join(classes)} {self.write(self.treated)}"
        if any(procedure == "full-arch" for procedure, _ in self.cases):
            return f"{jaw} jaw · full arch"
        return f"{jaw} front · {self.write(self.treated)}"

    @property
    def serves(self) -> tuple[str, ...]:
        """A line for each set of teeth, with the procedures that share it."""
        teeth = {
            procedure: in_arch_order(tooth for p, tooth in self.cases if p == procedure)
            for procedure, _ in self.cases
        }
        lines: dict[tuple[Tooth, ...], list[Procedure]] = {}
        for procedure, treated in teeth.items():
            lines.setdefault(treated, []).append(procedure)
        return tuple(
            f"{', '.join(p.replace('-', ' ') for p in procedures)}: {self._any(treated)}"
            for treated, procedures in lines.items()
        )

    def _any(self, treated: tuple[Tooth, ...]) -> str:
        row = self.plan.isolation.row
        return "any of its teeth" if treated == row and len(row) > 1 else self.write(treated)


class DrawerSet(Struct, frozen=True):
    """The situations in the order of the pages.

    `left_out` has a line for each reason that rules cases out.
    """

    situations: tuple[Situation, ...]
    left_out: tuple[str, ...]


def situations(
    models: Sequence[ArchModel],
    practice: Practice,
    procedures: Sequence[Procedure] = USUAL,
    command: str = "",
) -> DrawerSet:
    """Every tooth and procedure of the models, those that are punched alike put together.

    Raises InputError where none of them can be done.
    """
    found: list[Situation] = []
    left_out: dict[str, None] = {}
    for model in models:
        for jaw in JAWS:
            merged, refused = _of_jaw(model, jaw, practice, procedures, command)
            found += sorted(merged, key=_order)
            left_out |= dict.fromkeys(refused)
    if not found:
        raise InputError(f"drawer: no situation can be done; {next(iter(left_out))}")
    return DrawerSet(tuple(found), tuple(left_out))


def _of_jaw(
    model: ArchModel, jaw: Jaw, practice: Practice, procedures: Sequence[Procedure], command: str
) -> tuple[list[Situation], list[str]]:
    groups: dict[object, list[Plan]] = {}
    refused: dict[tuple[Procedure, str], list[Tooth]] = {}
    teeth = [t for t in build_arch(model, jaw).teeth if t.position <= SECOND_MOLAR]
    for procedure in procedures:
        for tooth in teeth:
            case = Case(treat=(tooth,), notation=practice.notation, procedure=procedure)
            try:
                plan = make_plan(case, model, practice)
            except InputError as error:
                refused.setdefault((procedure, error.problems[0]), []).append(tooth)
                continue
            groups.setdefault(punched_alike(plan), []).append(plan)
    lines = [
        f"{model.name}, {procedure.replace('-', ' ')} of "
        f"{', '.join(write(tooth, practice.notation) for tooth in refused_teeth)}: {reason}"
        for (procedure, reason), refused_teeth in refused.items()
    ]
    return [_situation(plans, command) for plans in groups.values()], lines


def punched_alike(plan: Plan) -> object:
    """What two plans must have in common to share a page: row, anchors, holes, shift."""
    holes = tuple(
        (hole.tooth, hole.hole.diameter_mm, *(round(c, 6) for c in hole.centre_mm))
        for hole in plan.holes
    )
    shift = tuple(round(c, 6) for c in plan.shift_mm)
    return (plan.isolation.row, plan.isolation.anchors, holes, shift)


def _situation(plans: Sequence[Plan], command: str) -> Situation:
    first = plans[0]
    cases = tuple((plan.case.procedure, plan.case.treat[0]) for plan in plans)
    warnings = dict.fromkeys(block for plan in plans for block in findings(plan))
    # Which tooth is treated differs from case to case, so that no hole shows it.
    shared = replace(
        first,
        holes=tuple(
            replace(h, treated=False, role="anchor" if h.role == "anchor" else "exposed")
            for h in first.holes
        ),
        isolation=replace(first.isolation, treated=()),
        command=command or first.command,
    )
    return Situation(shared, cases, tuple(warnings))


def _order(situation: Situation) -> tuple[int, int]:
    """Full arch, front, molars and premolars from the right to the left, single teeth."""
    row = situation.plan.isolation.row
    if len(row) == 1:
        return (3, row[0].along)
    if row[0].side == row[-1].side:
        return (2, situation.treated[0].along)
    return (0 if "full arch" in situation.title else 1, 0)

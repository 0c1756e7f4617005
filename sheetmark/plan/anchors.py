"""Which teeth of a row hold the sheet, and whether they can. Knows no millimetres.

That an anchor must be a whole, firm tooth, well out of the gum, is common practice, no source. A
tooth near its mean age of eruption may be only partly out, and the primary tooth before it may be
loose: the margin is an assumption.
"""

from __future__ import annotations

from collections.abc import Sequence

from sheetmark.anatomy.eruption import mean_eruption_years, years_at
from sheetmark.anatomy.teeth import Tooth, in_arch_order, tooth_at
from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Choice, Finding
from sheetmark.case.case import Case
from sheetmark.plan.mouth import Mouth

# A tooth this near to its mean age of eruption may be only partly erupted, and from then on the
# primary tooth in its place loose (assumption).
ERUPTING_YEARS = 1.5

_LEAVE_ROOM = "The clamp sits on the tooth to treat: check that it leaves room to work."

_UNSOUND = {
    "partly_erupted": "partly erupted",
    "broken_down": "broken down",
    "implant": "an implant crown",
}


def row_ends(row: Sequence[Tooth]) -> tuple[Tooth, ...]:
    """The rearmost tooth of a row on one side; both ends of a row that crosses the midline.

    An end on an incisor holds the sheet only where nothing behind it would.
    """
    ends = (row[0], row[-1])
    rearmost = max(tooth.position for tooth in ends)
    if ends[0].side == ends[1].side:
        return (next(tooth for tooth in ends if tooth.position == rearmost),)
    return tuple(
        tooth for tooth in ends if tooth.position == rearmost or tooth.tooth_class != "incisor"
    )


def sound_anchors(
    case: Case,
    mouth: Mouth,
    anchors: Sequence[Tooth],
    among: Sequence[Tooth],
    findings: list[Finding],
) -> tuple[Tooth, ...]:
    """The anchors, each replaced by the next sound tooth of `among` where it is none itself."""
    chosen: set[Tooth] = set()
    for tooth in anchors:
        why = unsound(case, tooth)
        others = [other for other in _sound_instead(case, mouth, tooth) if other in among]
        other = others[0] if why and others else None
        if why:
            findings.append(_not_sound(case, tooth, why, other))
        chosen.add(other or tooth)
    return in_arch_order(chosen)


def anchor_findings(case: Case, mouth: Mouth, anchors: Sequence[Tooth]) -> tuple[Finding, ...]:
    """What is to say of the anchors in use: treated, not sound though chosen, or still erupting."""
    chosen = [
        _not_sound(case, tooth, why, None)
        for tooth in anchors
        if tooth in case.anchors and (why := unsound(case, tooth))
    ]
    of_age = [
        _doubtful(case, mouth, tooth)
        for tooth in anchors
        if _in_doubt(case, tooth) and not unsound(case, tooth)
    ]
    return (*_treated(case, mouth, anchors), *chosen, *of_age)


def _treated(case: Case, mouth: Mouth, anchors: Sequence[Tooth]) -> list[Finding]:
    """Back teeth that are treated and hold the sheet, since no tooth stands behind them."""
    chosen = case.expose or case.anchors or case.procedure in {"root-canal", "full-arch"}
    return [
        Finding(
            Code.NO_TOOTH_BEHIND,
            "warning",
            f"No tooth behind {case.write([tooth])}, so it is itself the anchor.",
            _LEAVE_ROOM,
            field="treat",
        )
        for tooth in anchors
        if tooth in case.treat and not (chosen or tooth.front or mouth.behind(tooth))
    ]


def unsound(case: Case, tooth: Tooth) -> str:
    """Why the tooth should not carry a clamp, in a word or two; empty where nothing is against."""
    state = case.state(tooth)
    return next((why for field, why in _UNSOUND.items() if getattr(state, field)), "")


def _sound_instead(case: Case, mouth: Mouth, tooth: Tooth) -> list[Tooth]:
    """Sound teeth of the same side in the order of choice: further back, else in front."""
    others = (*mouth.behind(tooth), *mouth.before(tooth))
    return [other for other in others if not unsound(case, other)]


def _in_doubt(case: Case, tooth: Tooth) -> bool:
    """Whether at this age the tooth may be only partly erupted or, a primary one, loose."""
    if case.age is None:
        return False
    mean = mean_eruption_years(_permanent(tooth))
    if mean is None:
        return False
    beyond = years_at(case.age) - mean
    return beyond >= -ERUPTING_YEARS and (tooth.primary or beyond <= ERUPTING_YEARS)


def _permanent(tooth: Tooth) -> Tooth:
    """The permanent tooth of the place."""
    return tooth_at(tooth.jaw, tooth.along)


def _not_sound(case: Case, tooth: Tooth, why: str, other: Tooth | None) -> Finding:
    name = case.write([tooth])
    if other:
        return Finding(
            Code.ANCHOR_REPLACED,
            "warning",
            f"{name} is {why}, so {case.write([other])} is the anchor in its place.",
            _at_the_other(case, other) + _way_back(case, tooth),
            field="anchor",
            actions=(Action(Choice.ANCHOR, name),),
        )
    return Finding(
        Code.ANCHOR_NOT_SOUND,
        "warning",
        f"Anchor {name} is {why}.",
        "Choose another anchor, or make sure that this one holds a clamp.",
        field="anchor",
        actions=(Action(Choice.ANCHOR),),
    )


def _at_the_other(case: Case, other: Tooth) -> str:
    """What to look after where the clamp goes on another tooth than the usual anchor."""
    if other in case.treat:
        return f"{_LEAVE_ROOM} "
    before = [t for t in case.treat if t.side == other.side and t.position > other.position]
    if before:
        return f"No clamp holds the sheet behind {case.write(before)}: check that it stays there. "
    return ""


def _way_back(case: Case, tooth: Tooth) -> str:
    """When to clamp the usual anchor all the same. A clamp may harm the gum round an implant."""
    name = case.write([tooth])
    if case.state(tooth).implant:
        return f"Choose {name} only if the clinician accepts a clamp on it."
    return f"Where {name} holds a clamp well, choose it as the anchor."


def _doubtful(case: Case, mouth: Mouth, tooth: Tooth) -> Finding:
    name, mean = case.write([tooth]), mean_eruption_years(_permanent(tooth))
    sound = _sound_instead(case, mouth, tooth)
    offered = [case.write([other]) for other in sound if not _in_doubt(case, other)][:1]
    otherwise = f"choose {offered[0]} as the anchor" if offered else "hold the sheet another way"
    if tooth.primary:
        code, firm = Code.PERHAPS_LOOSE, "it is not firm"
        why = f"is a primary tooth and may be loose at age {case.age}; its successor"
    else:
        code, firm = Code.PERHAPS_PARTLY_ERUPTED, "it is not well out of the gum"
        why = f"may be only partly erupted at age {case.age}; it"
    return Finding(
        code,
        "warning",
        f"Anchor {name} {why} erupts at {mean:g} years on average.",
        f"If {firm}, {otherwise}.",
        field="anchor",
        value=case.age,
        limit=mean,
        actions=tuple(Action(Choice.ANCHOR, other) for other in offered),
    )

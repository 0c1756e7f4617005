"""Which clamps of the clinic's tray fit each anchor tooth: ranked, each with its reason.

Common practice, no source, all of it: a clamp is made for a class of tooth; jaws of unlike size
come in two versions by quadrant; where access is tight a wingless clamp is preferred, else a
winged one, since sheet and clamp then go in together; a secondary clamp never stands alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.codes import Code
from sheetmark.base.findings import Finding
from sheetmark.case.case import Access, Case
from sheetmark.practice.tray import Clamp, ClampKind

_KIND_NAMES: dict[ClampKind, str] = {
    "molar": "molar clamp",
    "premolar": "premolar clamp",
    "front": "front-tooth clamp (double bow)",
    "primary-molar": "primary molar clamp",
}
# Versions by corner of the mouth, since quadrant numbers belong to one notation only.
_CORNERS = {True: "upper right or lower left", False: "upper left or lower right"}


@dataclass(frozen=True, slots=True)
class Choice:
    """A clamp that fits, and why it has its rank."""

    clamp: Clamp
    """The clamp of the tray."""
    reason: str
    """Why it has its rank, in a few words."""


@dataclass(frozen=True, slots=True)
class AnchorClamps:
    """The clamps for one anchor."""

    tooth: Tooth
    """The anchor."""
    neck_mm: float
    """The mesiodistal width of its neck."""
    turn: int
    """When its clamp goes on, counted from 1 among the anchors."""
    choices: tuple[Choice, ...]
    """The clamps that fit, best first; the first is set aside for it."""
    missing: str = ""
    """The kind of clamp that is needed when none of the tray fits, else empty."""

    @property
    def first(self) -> Clamp | None:
        """The clamp set aside for the anchor; None where none of the tray fits."""
        return self.choices[0].clamp if self.choices else None


def kind_for(tooth: Tooth) -> ClampKind:
    """The kind of clamp that is made for the tooth's class."""
    if tooth.front:
        return "front"
    if tooth.primary:
        return "primary-molar"
    return "premolar" if tooth.tooth_class == "premolar" else "molar"


def unfit(clamp: Clamp, tooth: Tooth, neck_mm: float) -> str:
    """Why the clamp cannot stand on the tooth, in a word or two; empty when it can."""
    low, high = clamp.span_mm or (neck_mm, neck_mm)
    reasons = {
        "of another kind": clamp.kind != kind_for(tooth),
        "retired": clamp.retired,
        "none left": clamp.count < 1,
        "for the other side": not clamp.serves(tooth.quadrant),
        "too small": neck_mm > high,
        "too large": neck_mm < low,
    }
    return next((reason for reason, holds in reasons.items() if holds), "")


def choose_clamps(
    case: Case, necks_mm: Mapping[Tooth, float], tray: Sequence[Clamp]
) -> tuple[tuple[AnchorClamps, ...], tuple[Finding, ...]]:
    """Ranked clamps for each anchor, with a finding where none fits.

    `necks_mm` holds the anchors in arch order, each with its mesiodistal width at the neck. No
    clamp is set aside more often than the tray has it.
    """
    order = sorted(necks_mm, key=lambda tooth: _turn(tooth, case))
    wishes = {
        tooth: sorted(
            (i for i, clamp in enumerate(tray) if not unfit(clamp, tooth, necks_mm[tooth])),
            key=lambda i: (*_rank(tray[i], case.access), i),
        )
        for tooth in order
    }
    shared, left = _shared_out([wishes[tooth] for tooth in order], tray)
    own = dict(zip(order, shared, strict=True))
    strong = {tooth for tooth, i in own.items() if i is not None and not tray[i].secondary}
    # A secondary clamp goes on when a strong one already holds; an anchor without one comes last.
    order.sort(key=lambda tooth: (own[tooth] is None, tooth not in strong))
    chosen: dict[Tooth, AnchorClamps] = {}
    for turn, tooth in enumerate(order, start=1):
        mine, neck_mm = own[tooth], necks_mm[tooth]
        others = [
            i
            for i in wishes[tooth]
            if i != mine and left[i] > 0 and (not tray[i].secondary or strong - {tooth})
        ]
        choices = tuple(
            Choice(tray[i], _reason(tray[i], tooth, neck_mm, turn, case.access))
            for i in ([] if mine is None else [mine, *others])
        )
        missing = "" if choices else _missing(tooth, neck_mm, case.access)
        chosen[tooth] = AnchorClamps(tooth, neck_mm, turn, choices, missing)
    clamps = tuple(chosen[tooth] for tooth in necks_mm)
    return clamps, tuple(_no_clamp(case, anchor, tray) for anchor in clamps if anchor.missing)


def _turn(tooth: Tooth, case: Case) -> tuple[int, int, int]:
    """The rearmost anchor takes its clamp first, then the one nearer to the treated teeth."""
    return (-tooth.position, min(abs(tooth.along - t.along) for t in case.treat), tooth.along)


def _rank(clamp: Clamp, access: Access) -> tuple[bool, ...]:
    """Sorts the better clamp first; what is equal here stays in the order of the tray."""
    return (
        clamp.secondary,
        access == "tight" and clamp.winged,
        clamp.span_mm is None,
        not clamp.winged,
    )


def _shared_out(
    wishes: Sequence[Sequence[int]], tray: Sequence[Clamp]
) -> tuple[list[int | None], list[int]]:
    """One clamp of the tray for each anchor, by index, and how many of each are left.

    As many anchors as can be have a strong clamp, and as many as can be have any; after that
    each in its turn has the best. None has a secondary clamp when none has a strong one.
    """
    left = [clamp.count for clamp in tray]
    strong = [[i for i in wish if not tray[i].secondary] for wish in wishes]
    if not _served(strong, left):
        return [None] * len(wishes), left
    own: list[int | None] = []
    for at, wish in enumerate(wishes):
        best = (_served(strong[at:], left), _served(wishes[at:], left))
        for i in (*(i for i in wish if left[i]), None):
            after = [count - (number == i) for number, count in enumerate(left)]
            reached = (
                (i in strong[at]) + _served(strong[at + 1 :], after),
                (i is not None) + _served(wishes[at + 1 :], after),
            )
            if reached == best:
                own.append(i)
                left = after
                break
    return own, left


def _served(wishes: Sequence[Sequence[int]], left: Sequence[int]) -> int:
    """The largest number of anchors that can have a clamp each at the same time."""
    takers: dict[int, list[int]] = {}

    def serve(anchor: int, tried: set[int]) -> bool:
        for i in wishes[anchor]:
            if i in tried:
                continue
            tried.add(i)
            held = takers.setdefault(i, [])
            if len(held) >= left[i]:
                # A clamp that is taken comes free when its holder can have another.
                mover = next((holder for holder in held if serve(holder, tried)), None)
                if mover is None:
                    continue
                held.remove(mover)
            held.append(anchor)
            return True
        return False

    return sum(serve(anchor, set()) for anchor in range(len(wishes)))


def _reason(clamp: Clamp, tooth: Tooth, neck_mm: float, turn: int, access: Access) -> str:
    parts = []
    if clamp.secondary:
        parts.append("secondary: only beside a stronger clamp")
    if access == "tight":
        parts.append("winged though access is tight" if clamp.winged else "wingless: tight access")
    else:
        # Only the first clamp goes in with the sheet; later ones go over it.
        winged = "winged: goes in with the sheet" if turn == 1 else "winged"
        parts.append(winged if clamp.winged else "wingless")
    if clamp.span_mm is None:
        parts.append("span not known")
    else:
        low, high = clamp.span_mm
        parts.append(f"span {low:g} to {high:g} mm for a neck of {neck_mm:g} mm")
    if clamp.version:
        parts.append(f"larger jaw to the cheek, {_corners(tooth)}")
    return "; ".join(parts)


def _missing(tooth: Tooth, neck_mm: float, access: Access) -> str:
    wings = "wingless for tight access" if access == "tight" else "winged or wingless"
    return (
        f"a {_KIND_NAMES[kind_for(tooth)]}, {wings}, for a neck of {neck_mm:g} mm, "
        f"jaws alike or the version for {_corners(tooth)}"
    )


def _no_clamp(case: Case, anchor: AnchorClamps, tray: Sequence[Clamp]) -> Finding:
    kind = kind_for(anchor.tooth)
    plural = _KIND_NAMES[kind].replace("clamp", "clamps")
    why = dict.fromkeys(
        unfit(clamp, anchor.tooth, anchor.neck_mm)
        or ("only secondary" if clamp.secondary else "in use at another anchor")
        for clamp in tray
        if clamp.kind == kind
    )
    because = f"its {plural} are {', '.join(why)}" if why else f"it holds no {_KIND_NAMES[kind]}"
    return Finding(
        Code.NO_CLAMP,
        "warning",
        f"No clamp of the tray fits anchor {case.write([anchor.tooth])}: {because}.",
        f"Missing: {anchor.missing}.",
        field="tray",
    )


def _corners(tooth: Tooth) -> str:
    return _CORNERS[(tooth.jaw == "upper") == (tooth.side == "right")]

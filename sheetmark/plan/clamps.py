"""Which clamps of the clinic's tray fit each tooth: ranked, each with its reason.

Common practice, no source, all of it: a clamp is made for a class of tooth and serves some others;
jaws of unlike size come in two versions by quadrant; where access is tight a wingless clamp is
preferred, else a winged one, since sheet and clamp then go in together; a secondary clamp never
stands alone. Over a lesion at the gum line a clamp of its own draws the gum back once the sheet is
on, or else a ligature.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct

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
_MADE_FOR: dict[ClampKind, str] = {
    "molar": "molars",
    "premolar": "premolars",
    "front": "front teeth",
    "primary-molar": "primary molars",
}
# The mean neck is an average: a clamp is tried this far beyond its span (assumption).
SPAN_TOLERANCE_MM = 1.0
# Versions by corner of the mouth, since quadrant numbers belong to one notation only.
_CORNERS = {True: "upper right or lower left", False: "upper left or lower right"}


class Choice(Struct, frozen=True):
    """A clamp that fits, and why it has its rank."""

    clamp: Clamp
    """The clamp of the tray."""
    reason: str
    """Why it has its rank, in a few words."""


class AnchorClamps(Struct, frozen=True):
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


class Retractor(Struct, frozen=True):
    """What draws the gum back from a treated lesion at the gum line, once the sheet is on.

    Lesions are treated one at a time, so one clamp serves them all.
    """

    tooth: Tooth
    """The tooth with the lesion."""
    neck_mm: float
    """The mesiodistal width of its neck."""
    choices: tuple[Choice, ...]
    """The clamps that fit, best first; with none a ligature does it."""
    ligature: str = ""
    """Why a ligature does it, else empty."""

    @property
    def first(self) -> Clamp | None:
        """The best clamp of the tray; None for a ligature."""
        return self.choices[0].clamp if self.choices else None


def together(retractors: Iterable[Retractor]) -> tuple[tuple[Retractor, ...], ...]:
    """Those that one clamp serves, one lesion after the other; those with a ligature likewise."""
    groups: dict[Clamp | None, list[Retractor]] = {}
    for retractor in retractors:
        groups.setdefault(retractor.first, []).append(retractor)
    return tuple(map(tuple, groups.values()))


def kind_for(tooth: Tooth) -> ClampKind:
    """The kind of clamp that is made for the tooth's class."""
    if tooth.front:
        return "front"
    if tooth.primary:
        return "primary-molar"
    return "premolar" if tooth.tooth_class == "premolar" else "molar"


def other_kind_for(tooth: Tooth) -> ClampKind | None:
    """Another kind that serves the tooth, where there is one."""
    if tooth.primary:
        others: dict[int, ClampKind] = {4: "premolar", 5: "molar"}
        return others.get(tooth.position)
    return "premolar" if tooth.tooth_class == "canine" else None


def unfit(clamp: Clamp, tooth: Tooth, neck_mm: float) -> str:
    """Why the clamp cannot stand on the tooth, in a word or two; empty when it can."""
    beyond_mm = _beyond_mm(clamp, neck_mm)
    reasons = {
        "of another kind": clamp.kind not in (kind_for(tooth), other_kind_for(tooth)),
        "retired": clamp.retired,
        "none left": clamp.count < 1,
        "for the other side": not clamp.serves(tooth.quadrant),
        "too small": beyond_mm > SPAN_TOLERANCE_MM,
        "too large": beyond_mm < -SPAN_TOLERANCE_MM,
    }
    return next((reason for reason, holds in reasons.items() if holds), "")


def _beyond_mm(clamp: Clamp, neck_mm: float) -> float:
    """How far the neck is over the clamp's span, or under it if negative, mm; 0 where it fits."""
    low, high = clamp.span_mm or (neck_mm, neck_mm)
    beyond_mm = max(neck_mm - high, 0.0) + min(neck_mm - low, 0.0)
    return round(beyond_mm, 9)  # 7.4 and 8.4 are no more than 1 mm apart


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
            (
                i
                for i, clamp in enumerate(tray)
                if not _unfit_to_hold(clamp, tooth, necks_mm[tooth])
            ),
            key=lambda i: (*_rank(tray[i], tooth, necks_mm[tooth], case), i),
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
            Choice(tray[i], _reason(tray[i], tooth, neck_mm, turn, case))
            for i in ([] if mine is None else [mine, *others])
        )
        missing = "" if choices else _missing(tooth, neck_mm, case.access)
        chosen[tooth] = AnchorClamps(tooth, neck_mm, turn, choices, missing)
    clamps = tuple(chosen[tooth] for tooth in necks_mm)
    return clamps, tuple(_no_clamp(case, anchor, tray) for anchor in clamps if anchor.missing)


def choose_retractors(
    necks_mm: Mapping[Tooth, float], anchors: Sequence[Tooth], tray: Sequence[Clamp]
) -> tuple[Retractor, ...]:
    """What draws the gum back from each treated lesion.

    `necks_mm` holds the treated teeth with a lesion at the gum line, in arch order, each with its
    mesiodistal width at the neck.
    """
    found = []
    for tooth, neck_mm in necks_mm.items():
        order = sorted(
            (c for c in tray if c.cervical and not unfit(c, tooth, neck_mm)),
            key=lambda c: (not c.jaws_towards_gum, *_fit(c, tooth, neck_mm)),
        )
        choices = tuple(Choice(c, "; ".join(_retracting(c, tooth, neck_mm))) for c in order)
        why = "" if choices else "the tray has no clamp for the gum line that fits"
        if tooth in anchors:
            choices, why = (), "the tooth already carries the clamp that holds the sheet"
        found.append(Retractor(tooth, neck_mm, choices, why))
    return tuple(found)


def _retracting(clamp: Clamp, tooth: Tooth, neck_mm: float) -> list[str]:
    gum = ["jaws towards the gum"] if clamp.jaws_towards_gum else []
    return ["goes on when the sheet is on", *gum, *_fit_reasons(clamp, tooth, neck_mm)]


def _turn(tooth: Tooth, case: Case) -> tuple[int, int, int]:
    """The rearmost anchor takes its clamp first, then the one nearer to the treated teeth."""
    return (-tooth.position, min(abs(tooth.along - t.along) for t in case.treat), tooth.along)


def _unfit_to_hold(clamp: Clamp, tooth: Tooth, neck_mm: float) -> str:
    """Why the clamp cannot hold the sheet on the tooth; empty when it can."""
    return unfit(clamp, tooth, neck_mm) or ("for the gum line only" if clamp.cervical else "")


def _rank(clamp: Clamp, tooth: Tooth, neck_mm: float, case: Case) -> tuple[float, ...]:
    """Sorts the better clamp first; what is equal here stays in the order of the tray."""
    crossed, *fit = _fit(clamp, tooth, neck_mm)
    return (
        clamp.secondary,
        crossed,
        clamp.jaws_towards_gum != _low_crown(tooth, case),
        case.access == "tight" and clamp.winged,
        *fit,
        not clamp.winged,
    )


def _fit(clamp: Clamp, tooth: Tooth, neck_mm: float) -> tuple[float, ...]:
    """Sorts the kind made for the tooth first, then a span that holds the neck, then one that is
    not known, then the one that misses it by least."""
    beyond_mm = abs(_beyond_mm(clamp, neck_mm))
    return (clamp.kind != kind_for(tooth), beyond_mm, clamp.span_mm is None)


def _low_crown(tooth: Tooth, case: Case) -> bool:
    state = case.state(tooth)
    return state.partly_erupted or state.broken_down


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


def _reason(clamp: Clamp, tooth: Tooth, neck_mm: float, turn: int, case: Case) -> str:
    reasons = []
    if clamp.secondary:
        reasons.append("secondary: only beside a stronger clamp")
    if case.access == "tight":
        reasons.append(
            "winged though access is tight" if clamp.winged else "wingless: tight access"
        )
    else:
        # Only the first clamp goes in with the sheet; later ones go over it.
        winged = "winged: goes in with the sheet" if turn == 1 else "winged"
        reasons.append(winged if clamp.winged else "wingless")
    if clamp.jaws_towards_gum:
        low = "low crown" if _low_crown(tooth, case) else "mind the gum"
        reasons.append(f"jaws towards the gum: {low}")
    reasons += _fit_reasons(clamp, tooth, neck_mm)
    if clamp.version:
        reasons.append(f"larger jaw to the cheek, {_corners(tooth)}")
    return "; ".join(reasons)


def _fit_reasons(clamp: Clamp, tooth: Tooth, neck_mm: float) -> list[str]:
    """A kind made for other teeth, and the span against the neck where it is known."""
    reasons = []
    if clamp.kind != kind_for(tooth):
        reasons.append(f"made for {_MADE_FOR[clamp.kind]}, often serves here")
    if clamp.span_mm is not None:
        low, high = clamp.span_mm
        off = ": try it on" if _beyond_mm(clamp, neck_mm) else ""
        reasons.append(f"average neck {neck_mm:g} mm, clamp {low:g} to {high:g}{off}")
    return reasons


def _missing(tooth: Tooth, neck_mm: float, access: Access) -> str:
    wings = "wingless for tight access" if access == "tight" else "winged or wingless"
    return (
        f"a {_KIND_NAMES[kind_for(tooth)]}, {wings}, for an average neck of {neck_mm:g} mm, "
        f"jaws alike or the version for {_corners(tooth)}"
    )


def _no_clamp(case: Case, anchor: AnchorClamps, tray: Sequence[Clamp]) -> Finding:
    kind = kind_for(anchor.tooth)
    plural = _KIND_NAMES[kind].replace("clamp", "clamps")
    why = dict.fromkeys(
        _unfit_to_hold(clamp, anchor.tooth, anchor.neck_mm)
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

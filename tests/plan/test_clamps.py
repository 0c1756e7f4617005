"""Clamps for each anchor: which fit, in which order, why, and what is missing when none does.

The rules are common practice, no source; what is expected here is worked out from the rules,
not from the code: quadrants by their ISO 3950 numbers, the sharing out by trying every way.
"""

from __future__ import annotations

from collections import Counter
from itertools import product
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from sheetmark.anatomy.teeth import ALL_TEETH, Tooth
from sheetmark.base.findings import Finding
from sheetmark.case.case import Access, Case, ToothState
from sheetmark.cli.app import run
from sheetmark.day.rows import DayCase
from sheetmark.day.tray import find_clashes, visit_of
from sheetmark.plan.clamps import _KIND_NAMES, _MADE_FOR, AnchorClamps, choose_clamps, kind_for
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.plan.plan_json import plan_json
from sheetmark.practice.settings import Practice
from sheetmark.practice.tray import DEFAULT_TRAY, Clamp, ClampKind, Version
from tests.helpers.cases import few, mirror, teeth

# Plain functions without a page: more cases cost little.
many = settings(few, max_examples=150)

MOLAR = Clamp("big", "molar", winged=True)
PREMOLAR = Clamp("middle", "premolar", winged=True)


def chosen(
    necks: dict[str, float], tray: list[Clamp], *, treat: str = "", access: Access = "normal"
) -> tuple[tuple[AnchorClamps, ...], tuple[Finding, ...]]:
    """The clamps for anchors with these necks; the first of them is treated if nothing is said."""
    case = Case(treat=teeth(treat or next(iter(necks))), access=access)
    return choose_clamps(case, {teeth(iso)[0]: mm for iso, mm in necks.items()}, tray)


def labels(necks: dict[str, float], tray: list[Clamp], **fields: Any) -> list[list[str]]:
    """For each anchor the labels of its clamps, best first."""
    return [[c.clamp.label for c in clamp.choices] for clamp in chosen(necks, tray, **fields)[0]]


def made(treat: str, tray: tuple[Clamp, ...] = DEFAULT_TRAY, **fields: Any) -> Plan:
    return make_plan(Case(treat=teeth(treat), **fields), practice=Practice(tray=tray))


@pytest.mark.parametrize("tooth", ALL_TEETH, ids=lambda tooth: tooth.iso)
def test_each_tooth_takes_the_kind_made_for_its_class(tooth: Tooth) -> None:
    quadrant, position = int(tooth.iso[0]), int(tooth.iso[1])
    if position <= 3:
        expected = "front"
    elif quadrant > 4:
        expected = "primary-molar"
    else:
        expected = "premolar" if position <= 5 else "molar"
    assert kind_for(tooth) == expected
    # The kind made for it first, whatever the order of the tray, then one that may serve.
    other = {"3": "premolar"} if quadrant <= 4 else {"4": "premolar", "5": "molar"}
    serves = [expected, *([other[tooth.iso[1]]] if tooth.iso[1] in other else [])]
    one_of_each = [Clamp(kind, kind, winged=True) for kind in get_args(ClampKind)]
    assert labels({tooth.iso: 6.0}, one_of_each) == [serves]
    assert labels({tooth.iso: 6.0}, one_of_each[::-1]) == [serves]


def test_a_clamp_made_for_other_teeth_says_so() -> None:
    (clamp,), _ = chosen({"13": 5.5}, [PREMOLAR])
    assert clamp.choices[0].reason == (
        "winged: goes in with the sheet; made for premolars, often serves here"
    )
    (clamp,), _ = chosen({"14": 5.5}, [PREMOLAR])
    assert "made for" not in clamp.choices[0].reason


@pytest.mark.parametrize("quadrant", range(1, 9))
def test_a_version_serves_its_two_quadrants_and_their_primary_ones(quadrant: int) -> None:
    iso, kind = (f"{quadrant}6", "molar") if quadrant <= 4 else (f"{quadrant}5", "primary-molar")
    tray = [
        Clamp("1-3", kind, True, "larger-to-cheek", "quadrants-1-3"),  # type: ignore[arg-type]
        Clamp("2-4", kind, True, "larger-to-cheek", "quadrants-2-4"),  # type: ignore[arg-type]
    ]
    assert labels({iso: 7.0}, tray) == [["1-3" if quadrant in (1, 3, 5, 7) else "2-4"]]


@pytest.mark.parametrize(
    ("span", "fits"),
    [
        (None, True),
        ((6.0, 8.0), True),
        ((7.0, 8.0), True),
        ((6.0, 7.0), True),
        ((7.0, 7.0), True),
        # The neck is an average: 1 mm beyond the span is tried (assumption) ...
        ((5.0, 6.0), True),
        ((8.0, 9.0), True),
        # ... and not more.
        ((5.0, 5.99), False),
        ((8.01, 9.0), False),
    ],
)
def test_the_span_must_nearly_hold_the_neck(span: tuple[float, float] | None, fits: bool) -> None:
    assert labels({"16": 7.0}, [replace(MOLAR, span_mm=span)]) == [["big"] if fits else []]


@pytest.mark.parametrize(
    ("clamp", "fits"),
    [
        (MOLAR, True),
        (replace(MOLAR, retired=True), False),
        (replace(MOLAR, count=0), False),
        (replace(MOLAR, secondary=True), False),
        (replace(MOLAR, kind="premolar"), False),
        (replace(MOLAR, kind="primary-molar"), False),
    ],
)
def test_what_never_stands_on_a_lone_anchor(clamp: Clamp, fits: bool) -> None:
    assert labels({"16": 7.0}, [clamp]) == [["big"] if fits else []]


def test_the_better_the_span_holds_the_neck_the_earlier_the_clamp() -> None:
    spans = {"far": (8.0, 9.0), "near": (5.0, 6.6), "unknown": None, "holds": (6.0, 7.4)}
    tray = [replace(MOLAR, label=label, span_mm=span) for label, span in spans.items()]
    (clamp,), _ = chosen({"17": 7.0}, tray)
    assert [(choice.clamp.label, choice.reason.partition("; ")[2]) for choice in clamp.choices] == [
        ("holds", "average neck 7 mm, clamp 6 to 7.4"),
        ("unknown", ""),
        ("near", "average neck 7 mm, clamp 5 to 6.6: try it on"),
        ("far", "average neck 7 mm, clamp 8 to 9: try it on"),
    ]


def test_a_neck_a_tolerance_beyond_the_span_is_within_it_to_the_last_digit() -> None:
    """4.4 - 3.4 is 1 and a hair as floats."""
    assert labels({"14": 4.4}, [replace(PREMOLAR, span_mm=(3.0, 3.4))]) == [["middle"]]


@pytest.mark.parametrize("state", ["partly_erupted", "broken_down"])
def test_jaws_towards_the_gum_are_for_a_low_crown(state: str) -> None:
    low = replace(MOLAR, label="low", jaws_towards_gum=True)
    usual = made("16", (low, MOLAR)).clamps[0]
    assert [choice.clamp.label for choice in usual.choices] == ["big", "low"]
    assert "jaws towards the gum: mind the gum" in usual.choices[1].reason
    states = (ToothState(teeth("17")[0], **{state: True}),)
    own = made("16", (MOLAR, low), states=states, anchors=teeth("17")).clamps[0]
    assert [choice.clamp.label for choice in own.choices] == ["low", "big"]
    assert "jaws towards the gum: low crown" in own.choices[0].reason


GUM = Clamp("gum", "premolar", winged=False, cervical=True)


def test_a_clamp_for_the_gum_line_never_holds_the_sheet() -> None:
    assert labels({"14": 5.0}, [GUM]) == [[]]
    (found,) = chosen({"14": 5.0}, [GUM])[1]
    assert found.message.endswith("its premolar clamps are for the gum line only.")


@pytest.mark.parametrize("treat", ["14", "34"])
def test_a_gumline_lesion_takes_a_clamp_of_its_own(treat: str) -> None:
    # Jaws towards the gum go before a span that is known to hold.
    low = replace(GUM, label="low", jaws_towards_gum=True)
    plain = replace(GUM, span_mm=(4.0, 6.0))
    plan = made(treat, (*DEFAULT_TRAY, plain, low), procedure="cervical")
    (retractor,) = plan.retractors
    assert (retractor.tooth.iso, retractor.ligature) == (treat, "")
    assert [choice.clamp.label for choice in retractor.choices] == ["low", "gum"]
    assert [choice.reason for choice in retractor.choices] == [
        "goes on when the sheet is on; jaws towards the gum",
        "goes on when the sheet is on; average neck 5 mm, clamp 4 to 6",
    ]
    assert all(retractor.tooth != anchors.tooth for anchors in plan.clamps)
    (data,) = plan_json(plan)["retractors"]
    assert (data["tooth"], data["choices"][0]["label"]) == (treat, "low")
    assert data["choices"][0]["cervical"]


def test_without_such_a_clamp_a_ligature_draws_the_gum_back() -> None:
    (retractor,) = made("14", procedure="cervical").retractors
    assert retractor.choices == ()
    assert retractor.ligature == "the tray has no clamp for the gum line that fits"
    # The wrong kind is none.
    (retractor,) = made("16", (*DEFAULT_TRAY, GUM), procedure="cervical").retractors
    assert retractor.choices == ()


def test_the_terminal_says_what_draws_the_gum_back(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["overlay", "14", "--for", "cervical"]) == 0
    assert capsys.readouterr().out.splitlines()[-1] == (
        "gum of 14: ligature (the tray has no clamp for the gum line that fits)"
    )
    assert run(["overlay", "14"]) == 0
    assert "gum of" not in capsys.readouterr().out


def test_two_clamps_never_stand_on_one_tooth() -> None:
    (retractor,) = made(
        "14", (*DEFAULT_TRAY, GUM), procedure="cervical", anchors=teeth("14")
    ).retractors
    assert retractor.choices == ()
    assert retractor.ligature == "the tooth already carries the clamp that holds the sheet"


def test_only_a_treated_lesion_has_its_gum_drawn_back() -> None:
    states = (ToothState(teeth("15")[0], lesion=True),)
    assert made("14", (*DEFAULT_TRAY, GUM), states=states).retractors == ()
    (retractor,) = made("15", (*DEFAULT_TRAY, GUM), states=states).retractors
    assert retractor.tooth.iso == "15"


def test_the_day_counts_a_clamp_for_the_gum_line_and_no_ligature() -> None:
    def wished(tray: tuple[Clamp, ...]) -> list[tuple[str, ...]]:
        plan = made("14", tray, procedure="cervical")
        return [wish.labels for wish in visit_of(DayCase(1, None, plan)).wishes]

    assert [labels[0] for labels in wished((*DEFAULT_TRAY, GUM))][-1:] == ["gum"]
    assert len(wished(DEFAULT_TRAY)) == len(made("14", procedure="cervical").clamps)


def test_one_clamp_serves_lesions_that_are_treated_one_after_the_other() -> None:
    """So the day wants it once, and no case is short of a clamp by itself."""
    tray = (*DEFAULT_TRAY, GUM, replace(GUM, label="small", span_mm=(1.0, 2.0)))
    plan = made("34,35", tray, procedure="cervical")
    wishes = visit_of(DayCase(1, 540, plan)).wishes
    assert [(wish.anchor, wish.labels[0]) for wish in wishes][1:] == [("34, 35", "gum")]
    assert find_clashes([visit_of(DayCase(1, 540, plan))], tray, 60) == []
    # Two cases at one time want it twice, and of teeth of two kinds each has its own.
    both = [visit_of(DayCase(row, 540, plan)) for row in (1, 2)]
    (clash,) = find_clashes(both, tray, 60)
    assert (clash.row, clash.anchor, clash.label) == (2, "34, 35", "gum")
    front = replace(GUM, label="front", kind="front")
    kinds = made("33,34", (*DEFAULT_TRAY, GUM, front), procedure="cervical")
    wishes = visit_of(DayCase(1, 540, kinds)).wishes
    assert [(wish.anchor, wish.labels[0]) for wish in wishes][1:] == [
        ("33", "front"),
        ("34", "gum"),
    ]


def test_only_clamps_that_fit_every_lesion_are_wished_for_them_all() -> None:
    # Average necks of 5.5 and 5.0 mm: the wide one is 0.9 too large for the canine, 1.4 for 34.
    tray = (*DEFAULT_TRAY, GUM, replace(GUM, label="wide", span_mm=(6.4, 7.0)))
    plan = made("33,34", tray, procedure="cervical")
    assert [choice.clamp.label for choice in plan.retractors[0].choices] == ["gum", "wide"]
    *_, wish = visit_of(DayCase(1, 540, plan)).wishes
    assert (wish.anchor, wish.labels) == ("33, 34", ("gum",))


WINGLESS, WINGED = replace(MOLAR, label="wingless", winged=False), replace(MOLAR, label="winged")
SPAN = (6.0, 8.0)


@pytest.mark.parametrize(
    ("access", "tray", "expected"),
    [
        # Winged first where all else is equal, wingless first where access is tight.
        ("normal", [WINGLESS, WINGED], ["winged", "wingless"]),
        ("tight", [WINGED, WINGLESS], ["wingless", "winged"]),
        # A span that is known to hold goes before one that is not known ...
        ("normal", [WINGED, replace(WINGLESS, span_mm=SPAN)], ["wingless", "winged"]),
        ("normal", [MOLAR, replace(WINGED, span_mm=SPAN)], ["winged", "big"]),
        # ... but not before what tight access asks for.
        ("tight", [replace(WINGED, span_mm=SPAN), WINGLESS], ["wingless", "winged"]),
        (
            "tight",
            [WINGLESS, replace(WINGLESS, label="known", span_mm=SPAN)],
            ["known", "wingless"],
        ),
        # What is equal stays as the clinic lists it.
        ("normal", [MOLAR, WINGED], ["big", "winged"]),
        ("normal", [WINGED, MOLAR], ["winged", "big"]),
        ("tight", [MOLAR, WINGED], ["big", "winged"]),
    ],
)
def test_ranks(access: Access, tray: list[Clamp], expected: list[str]) -> None:
    assert labels({"16": 7.0}, tray, access=access) == [expected]


@pytest.mark.parametrize(
    ("access", "clamp", "reason"),
    [
        ("normal", WINGED, "winged: goes in with the sheet"),
        ("normal", WINGLESS, "wingless"),
        ("tight", WINGLESS, "wingless: tight access"),
        ("tight", WINGED, "winged though access is tight"),
        (
            "tight",
            replace(WINGLESS, span_mm=SPAN, jaws="larger-to-cheek", version="quadrants-1-3"),
            "wingless: tight access; average neck 7.5 mm, clamp 6 to 8; "
            "larger jaw to the cheek, upper right or lower left",
        ),
    ],
)
def test_reasons(access: Access, clamp: Clamp, reason: str) -> None:
    (retainer,), _ = chosen({"16": 7.5}, [clamp], access=access)
    assert [choice.reason for choice in retainer.choices] == [reason]


def test_only_the_first_clamp_goes_in_with_the_sheet() -> None:
    clamps, _ = chosen({"14": 5.0, "24": 5.0}, [replace(PREMOLAR, count=2)])
    assert [clamp.choices[0].reason for clamp in clamps] == [
        "winged: goes in with the sheet",
        "winged",
    ]


HOLDER = replace(PREMOLAR, label="holder", secondary=True)


@pytest.mark.parametrize(
    ("necks", "tray", "expected"),
    [
        # Never alone, not even twice.
        ({"14": 5.0}, [HOLDER], [[]]),
        ({"14": 5.0, "24": 5.0}, [replace(HOLDER, count=2)], [[], []]),
        # Beside a stronger one on another anchor, which takes the strong one.
        ({"17": 7.0, "14": 5.0}, [MOLAR, HOLDER], [["big"], ["holder"]]),
        ({"14": 5.0, "24": 5.0}, [HOLDER, PREMOLAR], [["middle"], ["holder"]]),
        # Behind every strong one, and on no anchor whose own clamp is the only strong one.
        (
            {"17": 7.0, "14": 5.0},
            [replace(HOLDER, span_mm=(4, 6)), MOLAR, PREMOLAR],
            [["big"], ["middle", "holder"]],
        ),
        (
            {"17": 7.0, "16": 8.0},
            [MOLAR, replace(MOLAR, label="holder", secondary=True, count=2)],
            [["big"], ["holder"]],
        ),
    ],
)
def test_a_secondary_clamp_never_stands_alone(
    necks: dict[str, float], tray: list[Clamp], expected: list[list[str]]
) -> None:
    assert labels(necks, tray) == expected


def test_a_secondary_clamp_says_so() -> None:
    clamps, _ = chosen({"17": 7.0, "14": 5.0}, [MOLAR, HOLDER])
    assert clamps[1].choices[0].reason.startswith("secondary: only beside a stronger clamp; ")


OTHER = replace(PREMOLAR, label="other")


def test_the_strong_clamp_goes_on_first_and_what_has_none_comes_last() -> None:
    holder = replace(MOLAR, label="holder", secondary=True, version="quadrants-1-3")
    clamps, _ = chosen({"17": 7.0, "15": 5.0, "27": 7.0, "24": 5.0}, [holder, MOLAR, HOLDER])
    assert [
        (clamp.choices[0].clamp.label if clamp.choices else "", clamp.turn) for clamp in clamps
    ] == [
        ("holder", 2),
        ("holder", 3),
        ("big", 1),
        ("", 4),
    ]
    clamps, _ = chosen({"17": 7.0, "15": 5.0, "24": 5.0}, [PREMOLAR, HOLDER])
    assert [clamp.turn for clamp in clamps] == [3, 1, 2]
    clamps, _ = chosen({"17": 7.0, "27": 7.0}, [holder, MOLAR])
    assert "goes in with the sheet" in clamps[1].choices[0].reason
    assert "goes in with the sheet" not in clamps[0].choices[0].reason


@pytest.mark.parametrize(
    ("necks", "tray", "treat", "expected"),
    [
        # One clamp cannot serve two anchors; the nearer to the treated tooth has it.
        ({"14": 5.0, "24": 5.0}, [PREMOLAR], "11", [["middle"], []]),
        ({"14": 5.0, "24": 5.0}, [PREMOLAR], "21", [[], ["middle"]]),
        # The rearmost anchor comes first.
        ({"16": 8.0, "27": 7.0}, [MOLAR], "16", [[], ["big"]]),
        # The other has the next best ...
        ({"14": 5.0, "24": 5.0}, [PREMOLAR, OTHER], "21", [["other"], ["middle"]]),
        # ... and none is left without that could have one: 17 gives up its best.
        (
            {"17": 7.0, "26": 8.0},
            [replace(MOLAR, span_mm=(6, 9)), replace(MOLAR, label="small", span_mm=(6, 6.9))],
            "17",
            [["small"], ["big"]],
        ),
        # As many as can be have a strong one, ...
        (
            {"17": 7.0, "26": 8.0},
            [
                replace(MOLAR, span_mm=(6, 9)),
                replace(MOLAR, label="small", span_mm=(6, 6.9)),
                replace(MOLAR, label="holder", secondary=True, span_mm=(8.1, 9)),
            ],
            "17",
            [["small"], ["big", "holder"]],
        ),
        # ... and as many as can be have any: a secondary one for 17, so that 27 is not left out.
        (
            {"17": 7.0, "27": 7.0},
            [MOLAR, replace(MOLAR, label="holder", secondary=True, version="quadrants-1-3")],
            "17",
            [["holder"], ["big"]],
        ),
        # Two of a sort serve two, and the spare of one is no choice of the other's.
        ({"14": 5.0, "24": 5.0}, [replace(PREMOLAR, count=2)], "11", [["middle"], ["middle"]]),
    ],
)
def test_anchors_of_one_case_share_the_tray(
    necks: dict[str, float], tray: list[Clamp], treat: str, expected: list[list[str]]
) -> None:
    assert labels(necks, tray, treat=treat) == expected


def test_the_default_tray_serves_usual_cases() -> None:
    for treat, kinds in (("16", "molar"), ("36", "molar"), ("34", "premolar"), ("11", "premolar")):
        plan = made(treat, procedure="root-canal" if treat == "34" else "restoration")
        assert [clamp.choices[0].clamp.kind for clamp in plan.clamps] == [kinds] * len(plan.clamps)
        assert not [finding for finding in plan.findings if finding.code == "no-clamp"]
    assert len(made("11").clamps) == 2


@pytest.mark.parametrize(
    ("treat", "tray", "access", "message", "advice"),
    [
        (
            "16",
            (),
            "normal",
            "No clamp of the tray fits anchor 17: it holds no molar clamp.",
            "Missing: a molar clamp, winged or wingless, for an average neck of 7 mm, jaws alike "
            "or the version for upper right or lower left.",
        ),
        (
            "36",
            (
                replace(MOLAR, retired=True),
                replace(MOLAR, jaws="larger-to-cheek", version="quadrants-2-4"),
                replace(MOLAR, span_mm=(4, 5)),
                replace(MOLAR, span_mm=(9.1, 11)),
                replace(MOLAR, count=0),
                replace(MOLAR, secondary=True),
                PREMOLAR,
            ),
            "tight",
            "No clamp of the tray fits anchor 37: its molar clamps are retired, for the other "
            "side, too small, too large, none left, only secondary.",
            "Missing: a molar clamp, wingless for tight access, for an average neck of 8 mm, jaws "
            "alike or the version for upper right or lower left.",
        ),
        (
            "46",
            (replace(MOLAR, jaws="larger-to-cheek", version="quadrants-1-3"),),
            "normal",
            "No clamp of the tray fits anchor 47: its molar clamps are for the other side.",
            "Missing: a molar clamp, winged or wingless, for an average neck of 8 mm, jaws alike "
            "or the version for upper left or lower right.",
        ),
    ],
)
def test_what_is_missing_is_reported(
    treat: str, tray: tuple[Clamp, ...], access: Access, message: str, advice: str
) -> None:
    plan = made(treat, tray, access=access)
    (found,) = [finding for finding in plan.findings if finding.code == "no-clamp"]
    assert (found.severity, found.message, found.advice) == ("warning", message, advice)
    assert plan_json(plan)["clamps"][0]["choices"] == []
    assert f"Missing: {plan_json(plan)['clamps'][0]['missing']}." == advice


def test_a_taken_clamp_is_named_as_the_cause() -> None:
    plan = made("11", (PREMOLAR,))
    (found,) = [finding for finding in plan.findings if finding.code == "no-clamp"]
    assert found.message == (
        "No clamp of the tray fits anchor 24: its premolar clamps are in use at another anchor."
    )


def test_a_front_tooth_and_a_primary_molar_ask_for_their_own() -> None:
    front = made("11", (), procedure="root-canal")
    assert front.clamps[0].missing.startswith("a front-tooth clamp (double bow), ")
    (clamp,), _ = chosen({"75": 7.2}, [])
    assert clamp.missing.startswith("a primary molar clamp, ")


def test_the_plan_lists_them_in_its_json() -> None:
    tray = (
        Clamp("A", "molar", True, "larger-to-cheek", "quadrants-1-3", (6.0, 9.0), count=2),
        Clamp("B", "molar", False),
    )
    assert plan_json(made("16", tray))["clamps"] == [
        {
            "anchor": "17",
            "neck_mm": 7.0,
            "turn": 1,
            "choices": [
                {
                    "rank": 1,
                    "label": "A",
                    "kind": "molar",
                    "winged": True,
                    "version": "quadrants-1-3",
                    "span_mm": [6.0, 9.0],
                    "secondary": False,
                    "cervical": False,
                    "jaws_towards_gum": False,
                    "reason": "winged: goes in with the sheet; average neck 7 mm, clamp 6 to 9; "
                    "larger jaw to the cheek, upper right or lower left",
                },
                {
                    "rank": 2,
                    "label": "B",
                    "kind": "molar",
                    "winged": False,
                    "version": None,
                    "span_mm": None,
                    "secondary": False,
                    "cervical": False,
                    "jaws_towards_gum": False,
                    "reason": "wingless",
                },
            ],
            "missing": "",
        }
    ]


def test_anchors_stand_in_arch_order_and_turns_by_rank() -> None:
    plan = made("11", anchors=teeth("14,25,27"))
    assert [clamp["anchor"] for clamp in plan_json(plan)["clamps"]] == ["14", "25", "27"]
    assert [clamp["turn"] for clamp in plan_json(plan)["clamps"]] == [3, 2, 1]


def test_the_terminal_names_the_first_clamp_of_each_anchor(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["overlay", "11", "--anchor", "12,11,21"]) == 0
    out, err = capsys.readouterr()
    assert out.splitlines()[-3:] == [
        "clamp 12: front double bow (winged: goes in with the sheet)",
        "clamp 11: front double bow (winged)",
        "clamp 21: none of the tray fits",
    ]
    assert "warning: No clamp of the tray fits anchor 21: " in err


@st.composite
def clamps(draw: st.DrawFn) -> Clamp:
    # Mostly such as fit, so that anchors often want the same one.
    kinds: list[ClampKind] = ["molar", "molar", "molar", "premolar"]
    version: Version | None = draw(
        st.sampled_from([None, None, None, "quadrants-1-3", "quadrants-2-4"])
    )
    return Clamp(
        label=draw(st.sampled_from("ABCDEF")),
        kind=draw(st.sampled_from(kinds)),
        winged=draw(st.booleans()),
        jaws="larger-to-cheek" if version else "alike",
        version=version,
        span_mm=draw(st.sampled_from([None, None, (4.0, 6.0), (6.0, 9.0), (7.0, 7.5)])),
        secondary=draw(st.sampled_from([False, False, True])),
        count=draw(st.sampled_from([0, 1, 1, 1, 2])),
        retired=draw(st.sampled_from([False, False, False, False, True])),
    )


trays = st.lists(clamps(), max_size=5)
# Often alike, so that they want the same clamp.
ROWS = [["17", "27"], ["16", "26"], ["17", "16", "27"], ["17", "14", "27"], ["14", "24"], ["26"]]
anchors = st.sampled_from(ROWS).flatmap(
    lambda row: st.fixed_dictionaries({iso: st.sampled_from([7.0, 7.0, 5.0, 8.0]) for iso in row})
)
accesses: st.SearchStrategy[Access] = st.sampled_from(["normal", "tight"])


def fits(clamp: Clamp, iso: str, neck_mm: float) -> bool:
    """By the rules as the clinic knows them, in the upper jaw."""
    side = {"1": "quadrants-1-3", "2": "quadrants-2-4"}[iso[0]]
    low, high = clamp.span_mm or (0.0, 99.0)
    return (
        clamp.kind == ("molar" if int(iso[1]) >= 6 else "premolar")
        and clamp.version in (None, side)
        and low - 1 <= neck_mm <= high + 1
        and clamp.count > 0
        and not clamp.retired
    )


def test_every_kind_has_its_names() -> None:
    assert set(_KIND_NAMES) == set(_MADE_FOR) == set(get_args(ClampKind))


@given(anchors, trays, accesses)
@many
def test_every_choice_fits_and_the_tray_is_not_overdrawn(
    necks: dict[str, float], tray: list[Clamp], access: Access
) -> None:
    found, findings = chosen(necks, tray, access=access)
    assert [retainer.tooth.iso for retainer in found] == list(necks)
    assert sorted(retainer.turn for retainer in found) == list(range(1, len(necks) + 1))
    for retainer in found:
        assert all(
            fits(choice.clamp, retainer.tooth.iso, necks[retainer.tooth.iso])
            for choice in retainer.choices
        )
        assert bool(retainer.missing) == (not retainer.choices)
        if any(choice.clamp.secondary for choice in retainer.choices):
            others = [other for other in found if other is not retainer and other.first]
            assert any(other.first and not other.first.secondary for other in others)
    first = Counter(id(retainer.first) for retainer in found if retainer.first)
    assert all(first[id(clamp)] <= clamp.count for clamp in tray)
    assert len(findings) == sum(not retainer.choices for retainer in found)


@given(anchors, trays, accesses)
@many
def test_the_sharing_out_is_the_best_of_all_ways(
    necks: dict[str, float], tray: list[Clamp], access: Access
) -> None:
    """As many anchors served as can be, of these as many strong, then the best ranks in turn."""
    found, _ = chosen(necks, tray, access=access)
    row = list(necks)
    in_turn = sorted(
        found,
        key=lambda retainer: (
            -retainer.tooth.position,
            abs(retainer.tooth.along - teeth(row[0])[0].along),
            row.index(retainer.tooth.iso),
        ),
    )

    def rank(i: int, neck_mm: float) -> tuple[float, ...]:
        clamp = tray[i]
        tight = access == "tight" and clamp.winged
        low, high = clamp.span_mm or (neck_mm, neck_mm)
        off = max(neck_mm - high, low - neck_mm, 0.0)
        return (clamp.secondary, tight, off, clamp.span_mm is None, not clamp.winged, i)

    options = [
        [i for i, c in enumerate(tray) if fits(c, retainer.tooth.iso, retainer.neck_mm)]
        for retainer in in_turn
    ]
    ways = []
    for way in product(*([*option, None] for option in options)):
        used = [i for i in way if i is not None]
        strong = sum(not tray[i].secondary for i in used)
        if all(used.count(i) <= tray[i].count for i in used) and (strong or not used):
            ranks = [
                (i is None, () if i is None else rank(i, retainer.neck_mm))
                for i, retainer in zip(way, in_turn, strict=True)
            ]
            ways.append((-len(used), -strong, ranks, way))
    best = min(ways, key=lambda way: way[:3])[3]
    numbers = {id(clamp): i for i, clamp in enumerate(tray)}
    assert [retainer.first and numbers[id(retainer.first)] for retainer in in_turn] == list(best)


@given(anchors, trays, accesses)
@many
def test_the_ranking_is_the_same_every_time(
    necks: dict[str, float], tray: list[Clamp], access: Access
) -> None:
    again = dict(reversed(necks.items()))
    clamp, _ = chosen(necks, tray, treat=next(iter(necks)), access=access)
    other, _ = chosen(again, [replace(c) for c in tray], treat=next(iter(necks)), access=access)
    assert sorted(clamp, key=lambda a: a.tooth.iso) == sorted(other, key=lambda a: a.tooth.iso)


def mirrored(clamp: Clamp) -> Clamp:
    other: dict[Version | None, Version | None] = {
        None: None,
        "quadrants-1-3": "quadrants-2-4",
        "quadrants-2-4": "quadrants-1-3",
    }
    return replace(clamp, version=other[clamp.version])


@given(anchors, trays, accesses, st.sampled_from(["13", "11", "22", "16"]))
@many
def test_the_other_side_takes_the_mirrored_version(
    necks: dict[str, float], tray: list[Clamp], access: Access, treat: str
) -> None:
    found, _ = chosen(necks, tray, treat=treat, access=access)
    other_necks = {mirror(iso): mm for iso, mm in necks.items()}
    other_tray = [mirrored(clamp) for clamp in tray]
    other, _ = chosen(other_necks, other_tray, treat=mirror(treat), access=access)
    for retainer, across in zip(found, other, strict=True):
        assert across.tooth.iso == mirror(retainer.tooth.iso)
        assert [c.clamp for c in across.choices] == [mirrored(c.clamp) for c in retainer.choices]


@pytest.mark.parametrize("treat", ["16", "26", "36", "46", "15", "25", "34", "44"])
def test_a_mirrored_case_takes_the_other_of_a_pair(treat: str) -> None:
    kinds: tuple[ClampKind, ...] = ("molar", "premolar")
    versions: tuple[Version, ...] = ("quadrants-1-3", "quadrants-2-4")
    pairs = tuple(
        Clamp(f"{kind} {version}", kind, True, "larger-to-cheek", version)
        for kind in kinds
        for version in versions
    )
    (clamp,), (across,) = made(treat, pairs).clamps, made(mirror(treat), pairs).clamps
    assert clamp.first
    assert clamp.first.label.endswith("1-3" if treat[0] in "13" else "2-4")
    assert across.first == next(
        pair for pair in pairs if pair.kind == clamp.first.kind and pair != clamp.first
    )

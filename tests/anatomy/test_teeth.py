"""Tooth identities and the three notations, held against an outside package."""

from __future__ import annotations

import inspect

import pytest
import toothnotation

from sheetmark.anatomy.teeth import (
    ALL_TEETH,
    NOTATIONS,
    PERMANENT,
    PRIMARY,
    Notation,
    Tooth,
    in_arch_order,
    name_of,
    palmer_quadrant,
    read,
    read_list,
    tooth_at,
    write,
)
from sheetmark.base.findings import InputError

# The outside package's names for the three systems.
OUTSIDE: dict[Notation, str] = {"iso": "fdi", "universal": "universal", "palmer": "palmer"}
each_tooth = pytest.mark.parametrize("tooth", ALL_TEETH, ids=lambda tooth: tooth.iso)
each_notation = pytest.mark.parametrize("notation", NOTATIONS)


def test_the_52_teeth_are_those_of_the_outside_package() -> None:
    assert {tooth.iso for tooth in PERMANENT} == {
        tooth.fdi_str for tooth in toothnotation.all_teeth("permanent")
    }
    assert {tooth.iso for tooth in PRIMARY} == {
        tooth.fdi_str for tooth in toothnotation.all_teeth("primary")
    }
    assert (len(PERMANENT), len(PRIMARY), len(set(ALL_TEETH))) == (32, 20, 52)


@each_tooth
@each_notation
def test_notation_agrees_with_the_outside_package_both_ways(
    tooth: Tooth, notation: Notation
) -> None:
    outside = toothnotation.convert(tooth.iso, "fdi", OUTSIDE[notation])
    assert write(tooth, notation) == outside
    assert read(outside, notation) == tooth
    assert toothnotation.convert(write(tooth, notation), OUTSIDE[notation], "fdi") == tooth.iso


@each_tooth
def test_jaw_side_and_class_agree_with_the_outside_package(tooth: Tooth) -> None:
    outside = toothnotation.parse(tooth.iso, "fdi")
    assert tooth.jaw == outside.arch
    assert tooth.side == outside.side
    assert tooth.tooth_class == outside.tooth_type.split()[-1]
    assert palmer_quadrant(tooth) == outside.quadrant
    assert tooth.primary == (outside.dentition == "primary")
    assert tooth.position == outside.position
    assert tooth.front == (tooth.tooth_class in ("incisor", "canine"))
    assert tooth.slot == outside.palmer.symbol


@pytest.mark.parametrize(
    "universal",
    [
        # Each jaw from the patient's right to the left, by the outside package's numbers.
        [str(number) for number in range(1, 17)],
        [str(number) for number in range(32, 16, -1)],
        list("ABCDEFGHIJ"),
        list("TSRQPONMLK"),
    ],
    ids=["upper", "lower", "upper primary", "lower primary"],
)
def test_the_arch_runs_across_the_midline(universal: list[str]) -> None:
    row = [toothnotation.convert(number, "universal", "fdi") for number in universal]
    teeth = [read(iso, "iso") for iso in row]
    assert list(in_arch_order(reversed(teeth))) == teeth


@each_tooth
def test_mirrored_changes_the_side_and_nothing_else(tooth: Tooth) -> None:
    other = tooth.mirrored
    assert other.side != tooth.side
    assert (other.jaw, other.position, other.primary) == (tooth.jaw, tooth.position, tooth.primary)
    assert other.along == -tooth.along
    assert other.mirrored == tooth


@each_tooth
def test_place_along_the_arch_leads_back_to_the_tooth(tooth: Tooth) -> None:
    assert tooth_at(tooth.jaw, tooth.along, primary=tooth.primary) == tooth
    assert (tooth.along < 0) == (tooth.side == "right")


@each_notation
def test_each_text_means_one_tooth_in_its_notation(notation: Notation) -> None:
    texts = [write(tooth, notation) for tooth in ALL_TEETH]
    assert len(set(texts)) == 52
    assert read_list(texts, notation) == ALL_TEETH
    assert read_list([",".join(texts)], notation) == ALL_TEETH
    assert read_list([" , ".join(texts[:3]), texts[3]], notation) == ALL_TEETH[:4]


@pytest.mark.parametrize(
    ("text", "notation", "iso"),
    [
        (" 16 ", "iso", "16"),
        ("t", "universal", "85"),
        ("ur4", "palmer", "14"),
        ("lle", "palmer", "75"),
    ],
)
def test_case_and_spaces_do_not_matter(text: str, notation: Notation, iso: str) -> None:
    assert read(text, notation).iso == iso


def test_texts_valid_in_two_systems_are_never_guessed() -> None:
    both = {write(tooth, "iso") for tooth in ALL_TEETH} & {
        write(tooth, "universal") for tooth in ALL_TEETH
    }
    assert both == {*map(str, range(11, 19)), *map(str, range(21, 29)), "31", "32"}
    for text in both:
        assert read(text, "iso") != read(text, "universal")
    # The caller has to say which system is meant.
    for reader in (read, read_list, write):
        assert inspect.signature(reader).parameters["notation"].default is inspect.Parameter.empty


BAD: dict[Notation, tuple[str, ...]] = {
    "iso": ("", "6", "10", "19", "20", "30", "49", "50", "56", "86", "91", "116", "1.6", "-16",
            "A", "UR6", "１６", "tooth 16", "16\n17"),
    "universal": ("", "0", "33", "85", "-3", "03", "3.0", "U", "AA", "#33", "##3", "#", "3 4"),
    "palmer": ("", "16", "3", "A", "UR", "UR0", "UR9", "URF", "RU6", "6UR", "UR66", "ULL4"),
}  # fmt: skip
HINT: dict[Notation, str] = {
    "iso": "11-18, 21-28, 31-38, 41-48 or, primary, 51-55, 61-65, 71-75, 81-85",
    "universal": "1-32 or, primary, A-T",
    "palmer": "UR, UL, LL or LR with 1-8 or, primary, A-E, such as UR4 or LLE",
}


@pytest.mark.parametrize(
    ("notation", "text"), [(notation, text) for notation in NOTATIONS for text in BAD[notation]]
)
def test_bad_text_is_refused_with_the_hint_of_its_notation(notation: Notation, text: str) -> None:
    with pytest.raises(InputError) as refused:
        read(text, notation)
    (problem,) = refused.value.problems
    assert "\n" not in problem
    assert problem.startswith(f"tooth {text!r}: ")
    assert f"{notation} notation" in problem
    use, _, meant = problem.partition("; in ")
    assert use.endswith(f"use {HINT[notation]}")
    assert not meant or any(meant.startswith(f"{other} it is the ") for other in NOTATIONS)


@pytest.mark.parametrize(
    ("text", "notation", "meant"),
    [
        ("19", "iso", {"universal": "lower left first molar"}),
        ("ur6", "iso", {"palmer": "upper right first molar"}),
        ("36", "universal", {"iso": "lower left first molar"}),
        ("E", "iso", {"universal": "upper right primary central incisor"}),
        (
            "17",
            "palmer",
            {"iso": "upper right second molar", "universal": "lower left third molar"},
        ),
        ("99", "iso", {}),
    ],
)
def test_a_refusal_says_in_which_notation_the_tooth_is_one(
    text: str, notation: Notation, meant: dict[str, str]
) -> None:
    with pytest.raises(InputError) as refused:
        read(text, notation)
    _, *reported = str(refused.value).split("; in ")
    assert reported == [f"{other} it is the {name}" for other, name in meant.items()]
    assert [action.value for action in refused.value.actions] == list(meant)


def test_a_list_with_one_bad_word_is_refused_by_that_word() -> None:
    with pytest.raises(InputError, match=r"^tooth '19': not a tooth in iso notation"):
        read_list(["16,15", "19 14"], "iso")


@pytest.mark.parametrize(("text", "notation"), [("12-22", "iso"), ("6-11", "universal")])
def test_a_row_of_teeth_is_no_tooth(text: str, notation: Notation) -> None:
    with pytest.raises(InputError, match=f"^tooth '{text}': that is a row of teeth; name each"):
        read(text, notation)


@pytest.mark.parametrize(
    ("quadrant", "position"), [(0, 1), (9, 1), (1, 0), (1, 9), (4, 9), (5, 6), (8, 6), (-1, 3)]
)
def test_a_tooth_that_does_not_exist_cannot_be_made(quadrant: int, position: int) -> None:
    with pytest.raises(InputError, match=f"tooth {quadrant}{position}: ISO 3950 has no such"):
        Tooth(quadrant, position)


# By hand, from the names that every textbook has.
NAMES = {
    "14": "upper right first premolar",
    "21": "upper left central incisor",
    "32": "lower left lateral incisor",
    "43": "lower right canine",
    "25": "upper left second premolar",
    "36": "lower left first molar",
    "48": "lower right third molar",
    "54": "upper right primary first molar",
    "65": "upper left primary second molar",
    "71": "lower left primary central incisor",
    "83": "lower right primary canine",
}


@pytest.mark.parametrize(("iso", "name"), NAMES.items())
def test_teeth_have_names(iso: str, name: str) -> None:
    assert name_of(read(iso, "iso")) == name


def test_no_two_teeth_share_a_name() -> None:
    assert len({name_of(tooth) for tooth in ALL_TEETH}) == len(ALL_TEETH)


def test_a_set_of_teeth_has_one_order_in_every_process() -> None:
    # A record's own hash holds where its class lies in memory.
    assert hash(Tooth(1, 6)) == hash(read("16", "iso")) == 16
    assert len({hash(Tooth(quadrant, 1)) for quadrant in range(1, 9)}) == 8

"""Changing settings in a practice file: what is asked for and nothing else, remarks kept."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from msgspec.structs import replace

from sheetmark.base.findings import InputError
from sheetmark.cli.app import run
from sheetmark.practice.file.check import PracticeError, check_text
from sheetmark.practice.file.edit import store_settings
from sheetmark.practice.file.new_file import new_file
from sheetmark.practice.settings import Practice, StockSheet
from sheetmark.typesetting.lettering import unwritable
from tests.helpers.practice_files import EXAMPLE, practices

NAME = "clinic.toml"
TEXT = EXAMPLE.read_text("utf-8")
DATA = tomllib.loads(TEXT)
FORM = 'format = "sheetmark-practice/1"\n'
few = settings(max_examples=30, derandomize=True, deadline=None)


def flat(data: Mapping[str, Any]) -> dict[str, Any]:
    """Plain data by the keys that problems have, without the form of the file."""
    found: dict[str, Any] = {}
    for key, value in data.items():
        if isinstance(value, dict):
            found |= {f"{key}.{inner}": item for inner, item in value.items()}
        elif key != "format":
            found[key] = value
    return found


def lines_changed(before: str, after: str) -> tuple[list[str], list[str]]:
    """The lines that only one of two texts has."""
    first, other = before.splitlines(), after.splitlines()
    return [line for line in first if line not in other], [x for x in other if x not in first]


def remarked(text: str) -> str:
    """The text with a remark of its own beside every line that holds a key or begins a table."""
    lines = text.splitlines()
    for number, line in enumerate(lines):
        if line and not line.startswith("#"):
            lines[number] = f"{line}  # remark {number}."
    return "\n".join(lines) + "\n"


def remarks(text: str) -> list[str]:
    return re.findall(r"# remark \d+\.", text)


def refusal(text: str | None, values: Mapping[str, object]) -> tuple[str, ...]:
    with pytest.raises(InputError) as caught:
        store_settings(text, values, NAME, unwritable)
    return caught.value.problems


# --- what is asked for ------------------------------------------------------------------------


@few
@given(practices(), practices())
def test_any_file_can_be_made_to_hold_any_settings(first: Practice, other: Practice) -> None:
    """And the way back gives the first settings again."""
    before, after = new_file(first), new_file(other)
    values = flat(tomllib.loads(after))
    # Where a file states no row, it leaves the list out.
    lists: dict[str, object] = {"sheets": [], "tray": [], "printers": []}
    changed = store_settings(before, lists | values, NAME)
    assert replace(check_text(changed, NAME).practice, origin=None) == other
    back = store_settings(changed, lists | flat(tomllib.loads(before)), NAME)
    assert replace(check_text(back, NAME).practice, origin=None) == first


@few
@given(practices())
def test_nothing_changes_where_nothing_differs(practice: Practice) -> None:
    text = remarked(new_file(practice))
    assert store_settings(text, flat(tomllib.loads(text)), NAME) == text
    assert store_settings(text, {}, NAME) == text
    assert store_settings(text.rstrip(), {}, NAME) == text.rstrip()


# Another value for each key of the example.
OTHERWISE: dict[str, Any] = {
    "name": 'Quay "2" #\\',
    "notation": "palmer",
    "numbers": "point",
    "tray_turn_round_min": 45,
    "page.paper": "letter",
    "page.margin_mm": 10.5,
    "page.printer": "none",
    "isolation.row": "wide",
    "isolation.hold": "wedge",
    "punch.diameters_mm": [0.5, 1, 1.5, 2, 2.5],
    "punch.labels": ["A", "B", "C", "D", "E", "#"],
    "holes.sizing": "two-size",
    "holes.share_of_break": 0.5,
    "holes.ease_mm": 0.3,
    "placement.shift": False,
    "placement.inwards_mm": 12,
    "placement.upper_edge_above_incisal_mm": [5, 40],
    "placement.nostrils_above_incisal_mm": 26,
    "placement.lower_edge_below_incisal_mm": 90,
    "placement.side_edge_from_midline_mm": 40,
    "placement.hole_to_edge_mm": 31,
    "placement.hole_to_edge_refused_mm": 16,
    "placement.lesion_facial_mm": 0.5,
    "placement.lesion_to_neighbour_mm": 0.5,
    "marks.kind": "two-dots",
    "marks.below_edge_mm": 11,
    "marks.from_middle_mm": 15,
    "marks.corner": "upper-right",
    "marks.from_corner_edges_mm": 8,
    "cutter.cut": "#123456",
    "cutter.engrave": "#654321",
    "check.tolerance_mm": 1.5,
    "card.frame": "septa-first",
}
LISTS = ("sheets", "tray", "printers")
# What else must change for it to be accepted.
WITH = {"punch.diameters_mm": {"punch.labels": ["A", "B", "C", "D", "E"]}}


def test_every_key_is_tried() -> None:
    assert set(OTHERWISE) == set(flat(DATA)) - set(LISTS)


@pytest.mark.parametrize("key", OTHERWISE)
def test_a_key_leaves_every_other_line_as_it_was(key: str) -> None:
    text = remarked(TEXT)
    values = {key: OTHERWISE[key]} | WITH.get(key, {})
    changed = store_settings(text, values, NAME, unwritable)
    assert flat(tomllib.loads(changed)) == flat(DATA) | values
    gone, new = lines_changed(text, changed)
    wanted = sorted(changing.rpartition(".")[2] for changing in values)
    for lines in (gone, new):
        assert sorted(line.partition(" = ")[0] for line in lines) == wanted
    assert remarks(changed) == remarks(text)
    assert store_settings(changed, {k: flat(DATA)[k] for k in values}, NAME) == text


@pytest.mark.parametrize("key", OTHERWISE)
def test_a_key_that_is_left_out_leaves_its_remarks(key: str) -> None:
    """Also those beside it; and where it is stated again, it stands in its place."""
    text = remarked(TEXT)
    changed = store_settings(text, {key: None}, NAME)
    assert key not in flat(tomllib.loads(changed))
    assert remarks(changed) == remarks(text)
    gone, new = lines_changed(text, changed)
    assert len(gone) == len(new) == 1
    assert new[0].startswith("# remark ")
    plain = store_settings(TEXT, {key: None}, NAME)
    # Its own remarks stand above it, so that it must come back below the key before it.
    again = store_settings(plain, {key: flat(DATA)[key]}, NAME)
    assert sorted(again.splitlines()) == sorted(TEXT.splitlines())
    assert tomllib.loads(again) == DATA


def test_a_key_that_was_not_stated_comes_below_its_example() -> None:
    rows = [dict(row) for row in DATA["tray"]]
    rows[0]["span_mm"] = [7, 11.5]
    changed = store_settings(TEXT, {"tray": rows}, NAME)
    lines = changed.splitlines()
    assert lines[lines.index("# span_mm = [7, 10.5]") + 1] == "span_mm = [7, 11.5]"
    assert lines_changed(TEXT, changed) == ([], ["span_mm = [7, 11.5]"])


def test_a_table_that_was_not_there_is_added() -> None:
    changed = store_settings(FORM, {"page.margin_mm": 12, "name": "Q", "marks.corner": None}, NAME)
    assert changed == f'{FORM}name = "Q"\n\n[page]\nmargin_mm = 12\n'


def test_only_the_value_of_a_multi_line_list_changes() -> None:
    text = f"{FORM}[punch]\ndiameters_mm = [\n  0.5, # small\n  1, # next\n]\n"
    changed = store_settings(text, {"punch.diameters_mm": [0.5, 1.5]}, NAME)
    assert changed == text.replace("1, #", "1.5, #")


def test_a_list_that_holds_remarks_cannot_be_left_out() -> None:
    text = f"{FORM}[punch]\ndiameters_mm = [\n  0.5, # small\n  1,\n]\n"
    for value, wording in ((None, "left out"), ([0.5], "= [0.5]")):
        assert refusal(text, {"punch.diameters_mm": value}) == (
            f"{NAME}: its layout does not allow a change in place; by hand: "
            f"punch.diameters_mm {wording}",
        )


# --- rows -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", LISTS)
@pytest.mark.parametrize("numbers", [[], [0], [1], [1, 0], [0, 2, 1], [2, 1, 0], [0, 1, 2, 3]])
def test_rows_can_be_removed_moved_and_added(name: str, numbers: list[int]) -> None:
    """Each row takes its remarks along, and what stands around the list stays."""
    own = ROWS[name]
    base = f"{TEXT_WITHOUT_ROWS}\n# above the list\n{own}\n# above [holes]\n[holes] # end\n"
    old = tomllib.loads(base)[name]
    new = [old[number] if number < len(old) else NEW[name] for number in numbers]
    changed = store_settings(base, {name: new}, NAME)
    data = tomllib.loads(changed)
    # Only clamps have a default, so that none at all must be said.
    assert data.get(name) == (new or ([] if name == "tray" else None))
    assert {k: v for k, v in data.items() if k != name} == {
        k: v for k, v in tomllib.loads(base).items() if k != name
    }
    for line in ("# above the list", "# above [holes]", "[holes] # end"):
        assert changed.count(line) == 1
    blocks = changed.split(f"[[{name}]]")[1:]
    assert len(blocks) == len(numbers)
    for place, (number, block) in enumerate(zip(numbers, blocks, strict=True)):
        # What stands above a row belongs to it, but for the first.
        own_lines = block.partition("\n\n")[0]
        above = blocks[place - 1].rpartition("\n\n")[2] if place else own_lines
        for other in (1, 2):
            assert (f"# above row {other}" in above) == (other == number), (place, number)
        for other in range(3):
            assert (f"# of row {other}" in own_lines) == (other == number)


def test_a_row_that_moves_and_changes_takes_its_remark_along() -> None:
    """Though each is much like the others: the most alike is the same."""
    text = TEXT
    for row in DATA["tray"]:
        text = text.replace(
            f'label = "{row["label"]}"', f'label = "{row["label"]}" # {row["label"]}'
        )
    new = [row | {"retired": True} for row in DATA["tray"][::-1]]
    changed = store_settings(text, {"tray": new}, NAME)
    lines = [line for line in changed.splitlines() if line.startswith("label = ")]
    assert lines == [f'label = "{row["label"]}" # {row["label"]}' for row in new]


def test_a_row_that_changes_wholly_keeps_its_remarks() -> None:
    """Where none was added or removed."""
    base = FORM + ROWS["printers"]
    rows = tomllib.loads(base)["printers"]
    rows[1] = {"name": "attic", "bar_x_mm": 152, "bar_y_mm": 152}
    changed = store_settings(base, {"printers": rows}, NAME)
    assert changed == base.replace('"b"', '"attic"').replace("149", "152")


TEXT_WITHOUT_ROWS = f"{FORM}# head\nname = 'x'"
ROWS = {
    "sheets": """[[sheets]]
width_mm = 152 # of row 0
height_mm = 152
material = "latex"

# above row 1
[[sheets]]
height_mm = 127 # of row 1
width_mm = 127

# above row 2
[[sheets]] # of row 2
width_mm = 101
height_mm = 103
see_through = false
""",
    "tray": """[[tray]]
label = "a" # of row 0
kind = "molar"
winged = true

# above row 1
[[tray]]
# of row 1
kind = "premolar"
label = "b"
winged = false

# above row 2
[[tray]]
label = "c"
kind = "front"
winged = true
count = 3
# of row 2
""",
    "printers": """[[printers]]
name = "a"
bar_x_mm = 150 # of row 0
bar_y_mm = 150

# above row 1
[[printers]]
name = "b"
bar_x_mm = 149
bar_y_mm = 149 # of row 1

# above row 2
[[printers]]
name = "c" # of row 2
bar_x_mm = 151
bar_y_mm = 151
""",
}
NEW = {
    "sheets": {"width_mm": 90, "height_mm": 80.5, "thickness": 0.22},
    "tray": {"label": "new", "kind": "primary-molar", "winged": False, "span_mm": [4, 6.5]},
    "printers": {"name": "new", "bar_x_mm": 148, "bar_y_mm": 148.5},
}


@pytest.mark.parametrize("name", LISTS)
@pytest.mark.parametrize("end", ["", "[]", "None"])
def test_the_remarks_of_a_new_file_stay_in_its_first_row(name: str, end: str) -> None:
    """Whichever row is first; and where none is left, as an example."""
    base = new_file(replace(Practice(), stock=STOCK))
    base = store_settings(base, {"printers": PRINTERS}, NAME) if name == "printers" else base
    old = tomllib.loads(base)[name]
    new: Any = {"": old[::-1][:2], "[]": [], "None": None}[end]
    changed = store_settings(base, {name: new}, NAME)
    # All but the lines that are examples of keys.
    kept = [
        [line for line in text.splitlines() if line.startswith("# ") and " = " not in line]
        for text in (base, changed)
    ]
    assert len(kept[0]) > 60
    added = [f"# [[{name}]]"] if not new and name != "printers" else []
    assert sorted(kept[1]) == sorted(kept[0] + added)


STOCK = tuple(replace(StockSheet(Practice().sheet, "latex"), thickness_mm=mm) for mm in (0.2, 0.3))
PRINTERS = [{"name": name, "bar_x_mm": 150, "bar_y_mm": 150} for name in ("a", "b", "c")]


@pytest.mark.parametrize("spread", [False, True], ids=["one line", "a line each"])
def test_rows_in_brackets_can_be_changed_and_added(spread: bool) -> None:
    inner = ["{ width_mm = 152, height_mm = 152 }", "{ width_mm = 100, height_mm = 90 }"]
    rows = "[\n  " + ", # the usual\n  ".join(inner) + ", # small\n]" if spread else str(inner)
    text = f"{FORM}sheets = {rows}\n[holes] # end\n".replace("'", "")
    old = tomllib.loads(text)["sheets"]
    changed = store_settings(text, {"sheets": [old[0], {**old[1], "height_mm": 95}]}, NAME)
    assert changed == text.replace("90", "95")
    added = store_settings(text, {"sheets": [*old, NEW["sheets"]]}, NAME)
    assert tomllib.loads(added)["sheets"] == [*old, NEW["sheets"]]
    assert added.count("#") == text.count("#")
    if spread:
        # To move or remove rows would part the remarks from them.
        assert refusal(text, {"sheets": old[::-1]}) == (
            f"{NAME}: its layout does not allow a change in place; by hand: "
            "sheets = [{ width_mm = 100, height_mm = 90 }, { width_mm = 152, height_mm = 152 }]",
        )
    else:
        moved = store_settings(text, {"sheets": old[::-1]}, NAME)
        assert tomllib.loads(moved)["sheets"] == old[::-1]
        assert moved.endswith("\n[holes] # end\n")


def test_no_clamps_at_all_is_reported_above_the_tables() -> None:
    text = f"{FORM}[page]\npaper = 'letter'\n\n{ROWS['tray']}"
    none = store_settings(text, {"tray": []}, NAME)
    assert none == f"{FORM}tray = []\n[page]\npaper = 'letter'\n\n"
    assert check_text(none, NAME).practice.tray == ()
    some = store_settings(none, {"tray": [NEW["tray"]]}, NAME)
    assert [clamp.label for clamp in check_text(some, NAME).practice.tray] == ["new"]


# --- other layouts ----------------------------------------------------------------------------

LAYOUTS = {
    "inline": "page = { paper = 'letter' } # keep\nholes = {}\n",
    "dotted": "page.paper = 'letter' # keep\nholes.ease_mm = 1\n",
    "dotted apart": "page.paper = 'letter' # keep\nname = 'x'\npage.margin_mm = 11\n",
    "quoted": "'page'.\"paper\" = 'letter' # keep\n",
    "headers": "[ holes ] # keep\n  ease_mm = 1 # keep\n\n[ page ]\npaper = 'letter'",
    "no end of line": "name = 'x' # keep",
    "rows apart": "printers = []\n[[tray]]\nlabel='a'\nkind='molar'\nwinged=true\n"
    "[page]\n[[tray]]\nlabel='b'\nkind='molar'\nwinged=true # keep\n",
}


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS)
@pytest.mark.parametrize(
    "values",
    [
        {"page.paper": "a4"},
        {"page.margin_mm": 12, "holes.ease_mm": 0.5},
        {"name": "y", "page.paper": None},
        {"printers": PRINTERS, "page.printer": "b"},
        {"tray": [NEW["tray"], {"label": "b", "kind": "molar", "winged": True}]},
        {"marks.kind": "corner-hole", "placement.shift": False},
    ],
    ids=" ".join,
)
def test_any_layout_takes_a_change_or_says_that_it_does_not(
    layout: str, values: dict[str, Any]
) -> None:
    """Never half of it: the rest of the file stays, remarks included."""
    text = FORM + layout
    before = flat(tomllib.loads(text))
    wanted = {key: value for key, value in (before | values).items() if value is not None}
    try:
        changed = store_settings(text, values, NAME)
    except InputError as error:
        if layout != LAYOUTS["rows apart"] or "in place; by hand: " not in str(error):
            raise
        return
    found = {k: v for k, v in flat(tomllib.loads(changed)).items() if v != []}
    assert found == {k: v for k, v in wanted.items() if v != []}
    assert changed.count("# keep") == text.count("# keep")


@pytest.mark.parametrize("ends", ["\r\n", "\n"])
def test_the_ends_of_lines_stay_as_they_are(ends: str) -> None:
    text = TEXT.replace("\n", ends)
    values = {
        "name": "Q",
        "holes.ease_mm": 1,
        "sheets": DATA["sheets"][1:],
        "tray": [*DATA["tray"], NEW["tray"]],
        "printers": [],
        "page.printer": "none",
    }
    changed = store_settings(text, values, NAME)
    assert changed == store_settings(TEXT, values, NAME).replace("\n", ends)
    assert changed.count("\n") == changed.count(ends) > 100


# --- no file, and problems --------------------------------------------------------------------


def test_with_no_file_a_new_one_is_written() -> None:
    values = {"name": "Q", "sheets": [NEW["sheets"]], "punch.labels": list("abcdef")}
    made = store_settings(None, values, NAME)
    practice = check_text(made, NAME).practice
    assert made == new_file(replace(practice, origin=None))
    assert practice.name == "Q"
    assert practice.punch.labels == tuple("abcdef")
    assert [kept.name for kept in practice.stock] == ["90 x 80.5 mm, latex, 0.22 mm"]
    assert practice.tray == Practice().tray


@pytest.mark.parametrize("text", [None, TEXT])
def test_labels_that_number_the_holes_follow_another_punch(text: str | None) -> None:
    numbered = text and store_settings(text, {"punch.labels": list("123456")}, NAME)
    for holes in ([0.5, 1, 1.5, 2, 2.5], [0.5, 1, 1.5, 2, 2.3, 2.5, 2.6]):
        changed = store_settings(numbered, {"punch.diameters_mm": holes}, NAME)
        labels = tomllib.loads(changed)["punch"]["labels"]
        assert labels == [str(number + 1) for number in range(len(holes))]
    lettered = store_settings(text, {"punch.labels": list("abcdef")}, NAME)
    with pytest.raises(InputError, match="6 labels for 1 holes"):
        store_settings(lettered, {"punch.diameters_mm": [1.5]}, NAME)


BAD: list[dict[str, Any]] = [
    {"page.margin_mm": 4},
    {"page.margin_mm": "4"},
    {"page.margin_mm": float("nan")},
    {"page.margin_mm": True},
    {"placement.shift": 1},
    {"numbers": "coma", "notation": 3},
    {"name": "\u6e2f"},
    {"name": " x"},
    {"name": ["x"]},
    {"punch.diameters_mm": [0.5, 9, "x"]},
    {"punch.diameters_mm": []},
    {"punch.labels": ["A"]},
    {"placement.upper_edge_above_incisal_mm": [45, 10]},
    {"page.printer": "attic"},
    {"printers": []},
    {"printers": [{"name": "x", "bar_x_mm": 144.8, "bar_y_mm": None}], "page.printer": "x"},
    {"sheets": [{"width_mm": 200, "height_mm": 152}]},
    {"sheets": [DATA["sheets"][0]] * 2},
    {"sheets": 3},
    {"sheets": [3, {}]},
    {"tray": [{"label": "a", "kind": "molar", "winged": True, "jaws": "larger-to-cheek"}]},
    {"format": "sheetmark-practice/2"},
    {"format": None},
    {"page": 7},
    {"page": None, "page.paper": "A3"},
    {"pagee.paper": "a4"},
    {"page.papper": "a4"},
    {"name.x": 1},
    {"a.b.c": 1},
    {"": 1},
]


@pytest.mark.parametrize("values", BAD, ids=" ".join)
def test_a_problem_is_reported_as_practice_check_reports_it(
    values: dict[str, Any], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Line for line, against a file that was written with these values by hand."""
    with pytest.raises(PracticeError) as caught:
        store_settings(TEXT, values, NAME, unwritable)
    path = tmp_path / NAME
    path.write_text(by_hand(values), encoding="utf-8")
    assert run(["practice", "check", "--practice", str(path)]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert [f"sheetmark: error: {line}" for line in caught.value.problems] == lines
    for problem, line in zip(caught.value.found, caught.value.problems, strict=True):
        assert line.startswith(f"{NAME}: {problem.key}")


def by_hand(values: dict[str, Any]) -> str:
    """The example's data with the values, written without the code under test."""
    data: dict[str, Any] = tomllib.loads(TEXT)
    for key, value in values.items():
        head, _, last = key.partition(".")
        table, name = data, key
        if last and isinstance(data.get(head, {}), dict):
            table, name = data.setdefault(head, {}), last
        table.pop(name, None)
        if value is not None:
            table[name] = value
    return "".join(f"{quoted(key)} = {inline(value)}\n" for key, value in data.items())


def quoted(key: str) -> str:
    return f'"{key}"'


def inline(value: Any) -> str:
    if isinstance(value, dict):
        stated = (f"{quoted(k)} = {inline(v)}" for k, v in value.items() if v is not None)
        return f"{{{', '.join(stated)}}}"
    if isinstance(value, list):
        return f"[{', '.join(map(inline, value))}]"
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else repr(value)


def test_a_file_with_a_problem_can_be_put_right() -> None:
    text = TEXT.replace("margin_mm = 10", "margin_mm = 4 # why", 1)
    assert refusal(text, {"name": "Q"}) == (
        f"{NAME}: page.margin_mm = 4: must be a number of 10 to 40 mm; "
        "correct it, or leave it out for 10",
    )
    right = store_settings(text, {"page.margin_mm": 11}, NAME)
    assert right == text.replace("margin_mm = 4", "margin_mm = 11")


def test_broken_toml_is_reported() -> None:
    (line,) = refusal("name = ", {"name": "x"})
    assert line.startswith(f"{NAME}: broken TOML: ")

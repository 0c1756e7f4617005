"""`sheetmark practice init` and `show`, and how flags and the practice file go together."""

from __future__ import annotations

import io
import json
import os
import re
import shlex
import subprocess
import sys
import tempfile
import tomllib
from contextlib import chdir
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from sheetmark.anatomy.teeth import read_list
from sheetmark.base.findings import InputError
from sheetmark.case.case import Case
from sheetmark.cli.app import run
from sheetmark.cli.practice import _NEXT as NEXT
from sheetmark.jobs.outputs import render_plan
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.file.check import Checked, check_text
from sheetmark.practice.file.new_file import new_file
from sheetmark.practice.printer import Printer
from sheetmark.practice.rules import PlacementRules
from sheetmark.practice.settings import OrientationMarks, Practice, Punch, Sheet, StockSheet
from sheetmark.practice.stock import read_stock
from sheetmark.practice.tray import Clamp
from tests.helpers.cases import run_json
from tests.helpers.practice_files import EXAMPLE

Output = pytest.CaptureFixture[str]
few = settings(max_examples=30, derandomize=True, deadline=None)


def read(path: Path) -> Checked:
    return check_text(path.read_text("utf-8"), path.name)


def settled(practice: Practice) -> Practice:
    return replace(practice, origin=None)


# --- init -------------------------------------------------------------------------------------

FLAGS: dict[str, st.SearchStrategy[str]] = {
    "--name": st.sampled_from(["Example practice", 'The "old" mill', ""]),
    "--notation": st.sampled_from(["iso", "universal", "palmer"]),
    "--numbers": st.sampled_from(["point", "comma"]),
    "--paper": st.sampled_from(["a4", "letter"]),
    "--margin": st.sampled_from(["10", "12.5"]),
    "--sheet": st.sampled_from(["152 latex medium", "127 nitrile 0.18 opaque", "140x130"]),
    "--labels": st.sampled_from(["A,B,C", "1,2,3", "I,II,III"]),
    "--sizing": st.sampled_from(["crown", "two-size"]),
    "--ease": st.sampled_from(["0", "0.75"]),
    "--marks": st.sampled_from(["two-dots", "corner-hole"]),
    "--corner": st.sampled_from(["upper-left", "upper-right"]),
}


# Of three holes each, since labels are one for each.
PUNCHES = st.sampled_from(["2.5,2,1.5", "0.5,1,2.6"])


def setting_of(practice: Practice, flag: str) -> Any:
    """What the settings hold for a flag of `init`, as the flag says it."""
    own = [practice.punch.label(i + 1) for i in range(len(practice.punch.diameters_mm))]
    return {
        "--name": practice.name,
        "--notation": practice.notation,
        "--numbers": practice.numbers,
        "--paper": practice.paper,
        "--margin": f"{practice.margin_mm:g}",
        "--sheet": practice.stock,
        "--punch": ",".join(f"{d:g}" for d in practice.punch.diameters_mm),
        "--labels": ",".join(own),
        "--sizing": practice.sizing,
        "--ease": f"{practice.ease_mm:g}",
        "--marks": practice.marks.kind,
        "--corner": practice.marks.corner,
    }[flag]


@few
@given(st.fixed_dictionaries({"--punch": PUNCHES}, optional=FLAGS), st.booleans())
def test_init_writes_what_its_flags_say_and_the_defaults_for_the_rest(
    flags: dict[str, str], shift: bool
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "clinic.toml"
        arguments = [word for flag in flags.items() for word in flag]
        switch = [] if shift else ["--no-shift"]
        assert run(["practice", "init", "-o", str(path), "--yes", *arguments, *switch]) == 0
        assert run(["practice", "check", "--practice", str(path)]) == 0
        practice = read(path).practice
    usual = replace(Practice(), stock=read_stock("152 latex; 127 latex"), punch=practice.punch)
    for flag in (*FLAGS, "--punch"):
        if flag == "--sheet" and flag in flags:
            assert practice.stock == read_stock(flags[flag])
            assert practice.sheet == practice.stock[0].sheet
        else:
            assert setting_of(practice, flag) == flags.get(flag, setting_of(usual, flag)), flag
    assert practice.shift is shift
    assert practice.tray == Practice().tray
    assert practice.rules == Practice().rules


def test_init_writes_into_the_settings_folder_and_overlay_finds_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Output
) -> None:
    monkeypatch.setattr("platformdirs.user_config_path", lambda name, **_: tmp_path / "a" / name)
    path = tmp_path / "a" / "sheetmark" / "practice.toml"
    assert run(["practice", "init", "--yes", "--paper", "letter"]) == 0
    assert capsys.readouterr() == ("", f"wrote {path}\n{NEXT}\n")
    assert run_json("16")["page"]["paper"] == "letter"
    assert run_json("16", "--paper", "a4")["page"]["paper"] == "A4"
    assert run_json("16", "--practice", str(EXAMPLE))["page"]["paper"] == "A4"


def test_settings_are_looked_for_in_the_users_own_folder(tmp_path: Path) -> None:
    """In a process of its own, by the system's variables (Linux, macOS)."""
    command = [sys.executable, "-m", "sheetmark", "practice", "init", "--yes"]
    environment = os.environ | {"XDG_CONFIG_HOME": str(tmp_path), "HOME": str(tmp_path)}
    subprocess.run(command, env=environment, check=True, capture_output=True)
    (path,) = tmp_path.rglob("practice.toml")
    assert path.parent.name == "sheetmark"


def test_init_leaves_an_old_file_alone_unless_forced(tmp_path: Path, capsys: Output) -> None:
    path = tmp_path / "clinic.toml"
    path.write_text("old")
    command = ["practice", "init", "--yes", "-o", str(path)]
    assert run(command) == 2
    assert capsys.readouterr().err == (
        f"sheetmark: error: {path}: exists already; --force replaces it, -o names another file\n"
    )
    assert path.read_text() == "old"
    # With a value that cannot be used, the old file stays even so.
    assert run([*command, "--force", "--margin", "4"]) == 2
    assert path.read_text() == "old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["clinic.toml"]
    assert run([*command, "--force"]) == 0
    assert settled(read(path).practice).paper == "a4"


BAD_FLAGS = [
    (["--margin", "4"], "page.margin_mm = 4: must be a number of 10 to 40 mm"),
    (["--margin", "30"], "too large at true scale by 22.0 mm across and 11.0 mm down"),
    (["--labels", "A,B"], "2 labels for 6 holes"),
    (["--sheet", "152 rubber"], "'rubber' must be latex, nitrile, thin"),
    (["--sheet", "152 thin heavy"], "thickness given twice"),
    (["--sheet", "40"], "each side must be 80 to 300 mm"),
    (["--numbers", "dot"], "numbers 'dot': use one of point, comma"),
    (
        ["--marks", "three-dots"],
        "did you mean two-dots? use one of two-dots, corner-hole",
    ),
    (["--name", "\u6e2f"], "the font has no glyph"),
    (["-o", "clinic.pdf"], "must end in .toml"),
    (["--ease", "6"], "holes.ease_mm = 6: must be a number of 0 to 5 mm"),
]


@pytest.mark.parametrize(("flags", "wording"), BAD_FLAGS, ids=[" ".join(f) for f, _ in BAD_FLAGS])
def test_init_refuses_bad_answers_in_one_line_and_writes_nothing(
    flags: list[str], wording: str, tmp_path: Path, capsys: Output
) -> None:
    with chdir(tmp_path):
        assert run(["practice", "init", "--yes", "-o", "clinic.toml", *flags]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith("sheetmark: error: ")
    assert wording in line
    assert list(tmp_path.iterdir()) == []


class Terminal(io.StringIO):
    """Typed answers, and a place for the questions, that pass for a terminal."""

    def isatty(self) -> bool:
        return True


def init_by_hand(
    monkeypatch: pytest.MonkeyPatch, path: Path, typed: list[str], *flags: str
) -> tuple[int, str]:
    """The exit code and all that was asked, when the answers are typed one by one."""
    screen = Terminal()
    monkeypatch.setattr("sys.stdin", Terminal("".join(f"{answer}\n" for answer in typed)))
    monkeypatch.setattr("sys.stderr", screen)
    return run(["practice", "init", "-o", str(path), *flags]), screen.getvalue()


def test_init_asks_on_a_terminal_what_no_flag_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "clinic.toml"
    typed = [
        *("Example practice", "", "comma", "152 nitrile heavy", "1,1.5,2", "A,B,C"),
        *("corner-hole", "upper-right", "3 molar wingless; front winged"),
    ]
    code, screen = init_by_hand(monkeypatch, path, typed, "--paper", "letter")
    assert code == 0, screen
    practice = read(path).practice
    assert (practice.name, practice.notation, practice.numbers) == (
        "Example practice",
        "iso",
        "comma",
    )
    assert practice.paper == "letter"
    assert practice.stock == (StockSheet(Sheet(152, 152), "nitrile", 0.25),)
    assert practice.punch == Punch((1, 1.5, 2), ("A", "B", "C"))
    assert (practice.marks.kind, practice.marks.corner) == ("corner-hole", "upper-right")
    assert practice.tray == (
        Clamp("molar wingless", "molar", winged=False, count=3),
        Clamp("front winged", "front", winged=True),
    )
    assert "next: print the page of sheetmark printer page" in screen
    assert "Paper" not in screen, "a flag has answered it"
    assert "[152 latex; 127 latex]" in screen, "each question shows its default"


def test_init_asks_again_after_an_answer_that_cannot_be_used(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "clinic.toml"
    typed = [
        *(41 * "x", "\u6e2f", ""),  # too long, no glyph, none
        *("chart", "palmer", "", "foolscap", "a4", "10", "152", "9", "1;2", "A", "A,B", ""),
        *("4 molar", "4 molars winged", ""),
    ]
    code, screen = init_by_hand(monkeypatch, path, typed)
    assert code == 0, screen
    for wording in (
        "must be text of 0 to 40 characters",
        "the font has no glyph",
        "notation 'chart': use one of",
        "paper 'foolscap': use one of",
        "each side must be 80 to 300 mm",
        "punch hole 9 mm",
        "1 labels for 2 holes",
        "clamps '4 molar': write how many",
        "clamps for 'molars': did you mean molar?",
    ):
        assert wording in screen
    practice = read(path).practice
    assert (practice.notation, practice.paper) == ("palmer", "a4")
    assert practice.punch == Punch((1, 2), ("A", "B"))


def test_init_asks_nothing_with_yes_nor_away_from_a_terminal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Output
) -> None:
    code, screen = init_by_hand(monkeypatch, tmp_path / "a.toml", [], "--yes")
    assert (code, screen) == (0, f"wrote {tmp_path / 'a.toml'}\n{NEXT}\n")
    monkeypatch.undo()
    monkeypatch.setattr("sys.stdin", io.StringIO())
    assert run(["practice", "init", "-o", str(tmp_path / "b.toml")]) == 0
    assert capsys.readouterr().err == f"wrote {tmp_path / 'b.toml'}\n{NEXT}\n"


def test_init_that_is_broken_off_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    code, screen = init_by_hand(monkeypatch, tmp_path / "a.toml", ["Example practice"])
    assert code == 2
    assert screen.endswith("sheetmark: stopped; nothing half written\n")
    assert list(tmp_path.iterdir()) == []


# --- show -------------------------------------------------------------------------------------


def shown(capsys: Output, *flags: str) -> dict[str, tuple[str, str]]:
    """Each setting that `practice show` prints: where it comes from, and its value."""
    assert run(["practice", "show", *flags]) == 0
    rows = [re.split(" {2,}", row, maxsplit=2) for row in capsys.readouterr().out.splitlines()[1:]]
    return {key: (origin, value) for key, origin, value in rows}


def test_show_without_a_file_has_nothing_but_defaults(capsys: Output) -> None:
    found = shown(capsys)
    assert {origin for origin, _ in found.values()} == {"default"}
    assert found["page.margin_mm"] == ("default", "10")
    assert found["sheet in use"] == ("default", "152 x 152 mm, latex")
    assert len(found) > 30


def test_show_says_where_each_setting_comes_from(tmp_path: Path, capsys: Output) -> None:
    path = tmp_path / "clinic.toml"
    path.write_text(
        'format = "sheetmark-practice/1"\n'
        "[page]\npaper = 'letter'\nmargin_mm = 10\n"
        "[[sheets]]\nwidth_mm = 127\nheight_mm = 127\n"
        "[holes]\nease_mm = 0.5\n"
    )
    found = shown(capsys, "--practice", str(path), "--ease", "1", "--punch", "1;2;3")
    assert found["page.paper"] == ("file", '"letter"')
    # What the file says comes from the file, even where the default is the same.
    assert found["page.margin_mm"] == ("file", "10")
    assert found["holes.ease_mm"] == ("flag", "1")
    assert found["punch.diameters_mm"] == ("flag", "[1, 2, 3]")
    assert found["punch.labels"] == ("flag", '["1", "2", "3"]')
    assert found["holes.sizing"] == ("default", '"crown"')
    assert found["sheet in use"] == ("file", "127 x 127 mm, latex")
    assert found["sheets[1]"][0] == "file"
    assert found["tray[1]"][0] == "default"
    found = shown(capsys, "--practice", str(path), "--material", "nitrile", "--no-shift")
    assert found["sheet in use"] == ("flag", "127 x 127 mm, nitrile")
    assert found["placement.shift"] == ("flag", "false")


def test_show_has_every_key_that_a_new_file_has(capsys: Output) -> None:
    found = shown(capsys, "--practice", str(EXAMPLE))
    keys = _flat(EXAMPLE)
    assert set(keys) <= found.keys()
    assert {found[key][0] for key in keys} == {"file"}


def _flat(path: Path) -> list[str]:
    keys: list[str] = []
    for key, value in tomllib.loads(path.read_text("utf-8")).items():
        if isinstance(value, dict):
            keys += [f"{key}.{inner}" for inner in value]
        elif isinstance(value, list):
            keys += [f"{key}[{number + 1}]" for number in range(len(value))]
        else:
            keys.append(key)
    return keys


# --- the file and the flags together ----------------------------------------------------------

STOCK = read_stock("152 latex medium; 127 nitrile thin; 127 latex; 140x130 latex opaque")


def clinic(**fields: Any) -> Practice:
    """Settings as they come from a practice file of that content."""
    return check_text(new_file(replace(Practice(), **fields)), "clinic.toml").practice


@pytest.mark.parametrize(
    ("sheet", "material", "expected"),
    [
        (None, None, STOCK[0]),
        (Sheet(127, 127), None, STOCK[1]),
        (Sheet(127, 127), "latex", STOCK[2]),
        (None, "nitrile", STOCK[1]),
        (Sheet(140, 130), None, STOCK[3]),
        (Sheet(140, 130), "nitrile", StockSheet(Sheet(140, 130), "nitrile")),
        (Sheet(150, 150), None, StockSheet(Sheet(150, 150), "latex")),
    ],
)
def test_a_flag_takes_the_first_sheet_in_stock_that_fits_it(
    sheet: Sheet | None, material: Any, expected: StockSheet
) -> None:
    practice = clinic(stock=STOCK).with_sheet(sheet, material)
    assert practice.stock_sheet == expected
    kept = expected in STOCK
    plan = make_plan(
        Case(treat=read_list(["16"], "iso"), procedure="root-canal"), practice=practice
    )
    found = [finding for finding in plan.findings if finding.code == "not-in-stock"]
    assert len(found) == (0 if kept else 1)
    if found:
        assert found[0].severity == "info"
        assert found[0].message == f"Sheet {expected.name} is not in stock."
        assert found[0].advice.startswith("In stock: 152 x 152 mm, latex, medium 0.2 mm; 127 x")


def test_no_stock_no_finding() -> None:
    practice = clinic().with_sheet(Sheet(130, 130), "nitrile")
    plan = make_plan(
        Case(treat=read_list(["16"], "iso"), procedure="root-canal"), practice=practice
    )
    assert "not-in-stock" not in {finding.code for finding in plan.findings}


CLINICS = st.builds(
    clinic,
    name=st.sampled_from(["", "", "Example practice"]),
    notation=st.sampled_from(["iso", "palmer"]),
    numbers=st.sampled_from(["point", "comma"]),
    paper=st.sampled_from(["a4", "letter"]),
    margin_mm=st.sampled_from([10.0, 10.0, 14.5]),
    stock=st.sampled_from([(), STOCK[:1], STOCK, STOCK[1:], STOCK[2:3]]),
    punch=st.sampled_from(
        [Practice().punch, Punch((1.0, 2.5, 2.0)), Punch((2.0, 1.0, 2.6), ("x", "y", "z"))]
    ),
    sizing=st.sampled_from(["crown", "two-size"]),
    share_of_break=st.sampled_from([0.6, 0.6, 0.5]),
    ease_mm=st.sampled_from([0.0, 0.25]),
    shift=st.booleans(),
    rules=st.sampled_from([PlacementRules(), PlacementRules(inwards_mm=12.0)]),
    marks=st.sampled_from([OrientationMarks(), OrientationMarks("corner-hole")]),
    tray=st.sampled_from([Practice().tray, (Clamp("our own", "molar", winged=False),)]),
    printers=st.just((Printer("one", 149.4, 150.2), Printer("two", 150.9, 150.0))),
    printer=st.sampled_from(["none", "none", "one"]),
)
MORE_FLAGS = st.fixed_dictionaries(
    {},
    optional={
        "--notation": st.sampled_from(["iso", "universal"]),
        "--sheet": st.sampled_from(["152", "127", "140x130", "150"]),
        "--paper": st.sampled_from(["a4", "letter"]),
        "--punch": st.sampled_from(["0.5,1,1.5,2,2.5,2.6", "2,2.6,3"]),
        "--material": st.sampled_from(["latex", "nitrile"]),
        "--sizing": st.sampled_from(["crown", "two-size"]),
        "--ease": st.sampled_from(["0", "0.5"]),
        "--printer": st.sampled_from(["none", "one", "two"]),
    },
)


def result(folder: Path, arguments: list[str]) -> tuple[dict[str, Any], bytes]:
    """The plan and the page, before any printer, that `sheetmark overlay` writes in a folder."""
    names = ("case.json", "case.svg")
    with chdir(folder):
        code = run(["overlay", *arguments, *(word for name in names for word in ("-o", name))])
        assume(code == 0)  # such as a sheet too large for a letter with its margins
        plan, page = (Path(name).read_bytes() for name in names)
    return json.loads(plan), page


@settings(max_examples=40, derandomize=True, deadline=None)
@given(CLINICS, MORE_FLAGS, st.sampled_from([[], ["--shift", "rule"], ["--no-shift"]]))
def test_the_recipe_makes_plan_and_pages_again(
    practice: Practice, flags: dict[str, str], shift: list[str]
) -> None:
    """With the file beside it only where the recipe names it, else from an empty folder."""
    tooth = {"iso": "16", "palmer": "UR6", "universal": "3"}
    notation = flags.get("--notation", practice.notation)
    arguments = [tooth[notation], *(word for flag in flags.items() for word in flag), *shift]
    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryDirectory() as empty:
        path = Path(folder) / "clinic.toml"
        path.write_text(new_file(practice), encoding="utf-8")
        plan, page = result(Path(folder), [*arguments, "--practice", "clinic.toml"])
        program, overlay, *again = shlex.split(plan["command"])
        assert (program, overlay) == ("sheetmark", "overlay")
        where = Path(folder if "--practice" in again else empty)
        assert result(where, again) == (plan, page)


def test_the_recipe_names_the_file_only_where_no_flag_will_do() -> None:
    def recipe(**fields: Any) -> str:
        case = Case(treat=read_list(["16"], "iso"))
        return make_plan(case, practice=clinic(**fields)).command

    assert recipe() == "sheetmark overlay 16"
    assert recipe(paper="letter", ease_mm=0.5) == "sheetmark overlay 16 --paper letter --ease 0.5"
    assert recipe(stock=read_stock("127 latex")) == "sheetmark overlay 16 --sheet 127"
    file = " --practice clinic.toml"
    assert recipe(name="Example practice") == f"sheetmark overlay 16{file}"
    assert recipe(numbers="comma", paper="letter") == f"sheetmark overlay 16 --paper letter{file}"
    assert recipe(stock=STOCK).endswith(file)
    labelled = Punch((1.0, 2.0, 2.6), ("x", "y", "z"))
    assert recipe(punch=labelled) == f"sheetmark overlay 16{file}"
    printers = (Printer("one", 149, 150),)
    assert recipe(printers=printers) == "sheetmark overlay 16"
    assert recipe(printers=printers, printer="one") == "sheetmark overlay 16"


def test_settings_made_in_code_say_that_a_file_is_needed() -> None:
    case = Case(treat=read_list(["16"], "iso"))
    plan = make_plan(case, practice=Practice(name="Example practice"))
    assert plan.command == "sheetmark overlay 16 --practice FILE"


def example_plan(**fields: Any) -> Plan:
    practice = check_text(EXAMPLE.read_text("utf-8"), EXAMPLE.name).practice
    return make_plan(Case(treat=read_list(["16"], "iso"), **fields), practice=practice)


def test_json_knows_no_comma() -> None:
    plan = example_plan(procedure="cervical")
    comma = json.loads(render_plan(plan, "json"))
    point = json.loads(
        render_plan(replace(plan, practice=replace(plan.practice, numbers="point")), "json")
    )
    assert comma == point


def test_the_terminal_speaks_with_the_comma_and_the_labels(capsys: Output) -> None:
    assert run(["overlay", "16", "--practice", str(EXAMPLE), "--ease", "2.5"]) == 0
    out, err = capsys.readouterr()
    assert out.splitlines()[1].split() == ["17", "anchor", "V", "2,5"]
    assert "Ease of 2,5 mm at each pitch is more than 2 mm." in err
    assert "Printer front-desk: x 1,0040, y 0,9987 (PDF only)" in err


def test_margins_outside_their_limits_are_refused_in_code_too() -> None:
    for margin in (9.9, 40.1, float("nan")):
        with pytest.raises(InputError, match=r"page margin .* must be 10 to 40 mm"):
            make_plan(Case(treat=read_list(["16"], "iso")), practice=Practice(margin_mm=margin))


def test_whole_numbers_between_commas_may_be_decimals(capsys: pytest.CaptureFixture[str]) -> None:
    for text in ("1,5,2,2,5", "1,5"):
        assert run(["overlay", "16", "--punch", text, "-o", "never.pdf"]) == 2
        assert "decimal commas? Set the holes apart by semicolons" in capsys.readouterr().err


def test_what_a_new_file_lacks_of_the_one_before_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = str(tmp_path / "clinic.toml")
    assert run(["practice", "init", "--yes", "-o", path]) == 0
    printer = [
        "printer",
        "set",
        "--name",
        "desk",
        "--x",
        "149.4",
        "--y",
        "150.2",
        "--practice",
        path,
    ]
    assert run(printer) == 0
    capsys.readouterr()
    assert run(["practice", "init", "--yes", "--force", "-o", path]) == 0
    assert "warning: the file before also had printers: set again" in capsys.readouterr().err


def test_a_printer_without_a_name_makes_no_second(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "clinic.toml"
    assert run(["practice", "init", "--yes", "-o", str(path)]) == 0
    bars = ["printer", "set", "--practice", str(path), "--x", "149.4", "--y", "150.2"]
    assert run(bars) == 0
    assert run([*bars, "--name", "desk"]) == 0
    assert run(bars) == 0
    assert run(["printer", "remove", "main", "--practice", str(path)]) == 0
    before = path.read_bytes()
    capsys.readouterr()
    assert run(bars) == 2
    assert "printer: clinic.toml has desk; say which, with --name" in capsys.readouterr().err
    assert path.read_bytes() == before

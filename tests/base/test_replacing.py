"""What an output may replace: never a file that was read or one of another kind, but by force.

All outputs of one call are written, or none is replaced. The tests may run as root, whom no
permission stops.
"""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer
from typer.core import TyperCommand, TyperGroup

from sheetmark.base.file_kinds import kind_of
from sheetmark.base.files import PART_SECONDS, write_all
from sheetmark.base.findings import InputError
from sheetmark.cli.app import program, run

Output = pytest.CaptureFixture[str]
FIT = ["arch", "fit", "--date", "2026-11-25", "--measure", "upper canines 33.1"]
PDF = b"%PDF-1.7 old\n"
NEW = b"%PDF-1.7 new\n"
PRACTICE = 'format = "sheetmark-practice/1"\nname = "Harbour"\n'
CASE = 'format = "sheetmark-case/1"\ntreat = ["16"]\n'


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def refused(arguments: list[str], output: Output, force: bool = True) -> str:
    """The one line with which it is refused; nothing in the folder has changed."""
    before = {path.name: path.read_bytes() for path in Path().iterdir() if path.is_file()}
    assert run(arguments) == 2
    assert {path.name: path.read_bytes() for path in Path().iterdir() if path.is_file()} == before
    out, err = output.readouterr()
    (line,) = err.splitlines()
    assert out == ""
    assert line.startswith("sheetmark: error: ")
    assert line.endswith("(--force)") == force
    return line


@pytest.mark.parametrize(
    ("text", "what"),
    [
        (PRACTICE, "a practice file"),
        (CASE, "a case"),
        ('# remark\nformat="sheetmark-day/1"\n', "a day's list"),
        ("[tool]\nname = 1\n", "something else"),
    ],
)
def test_an_arch_replaces_no_other_settings(
    text: str, what: str, folder: Path, capsys: Output
) -> None:
    path = folder / "mine.toml"
    path.write_text(text, "utf-8")
    line = refused([*FIT, "-o", "mine.toml"], capsys)
    assert f"mine.toml: there is {what}, and an arch model is to be written" in line
    assert run([*FIT, "-o", "mine.toml", "--force"]) == 0
    assert kind_of(path.read_bytes()) == "arch"


def test_an_arch_replaces_an_arch_but_not_its_base(folder: Path, capsys: Output) -> None:
    assert run([*FIT, "-o", "mine.toml"]) == 0
    assert run([*FIT, "-o", "mine.toml"]) == 0
    capsys.readouterr()
    again = [*FIT[:-1], "lower canines 25.5", "--base", "mine.toml", "-o"]
    line = refused([*again, "mine.toml"], capsys)
    assert "mine.toml: is read by this command" in line
    (folder / "other.toml").hardlink_to(folder / "mine.toml")
    line = refused([*again, "other.toml"], capsys)
    assert "other.toml: is read by this command" in line
    assert run([*again, "mine.toml", "--force"]) == 0


@pytest.mark.parametrize("name", ["case.pdf", "case.svg", "case.json"])
def test_an_overlay_replaces_its_own_kind_only(name: str, folder: Path, capsys: Output) -> None:
    path = folder / name
    assert run(["overlay", "16", "-o", name]) == 0
    assert run(["overlay", "17", "-o", name]) == 0
    path.write_bytes(b"Minutes of the meeting")
    capsys.readouterr()
    assert "there is something else" in refused(["overlay", "16", "-o", name], capsys)
    path.write_bytes(b"")  # nothing is lost
    assert run(["overlay", "16", "-o", name]) == 0


def test_an_empty_list_replaces_an_empty_list_and_no_filled_one(
    folder: Path, capsys: Output
) -> None:
    template = ["day", "template", "-o", "list.csv"]
    (folder / "comma.toml").write_text(
        'format = "sheetmark-practice/1"\nnumbers = "comma"\n', "utf-8"
    )
    assert run(template) == 0
    empty = (folder / "list.csv").read_bytes()
    assert run([*template, "--practice", "comma.toml"]) == 0
    assert (folder / "list.csv").read_bytes() != empty, "with semicolons"
    assert run(template) == 0
    (folder / "list.csv").write_bytes(empty + b"8:30,101,16\r\n")
    capsys.readouterr()
    assert "list.csv: there is something else, and an empty list" in refused(template, capsys)
    assert run([*template, "--force"]) == 0
    assert (folder / "list.csv").read_bytes() == empty


def commands(group: TyperGroup, before: str = "") -> Iterator[tuple[str, TyperCommand]]:
    for name, command in group.commands.items():
        if isinstance(command, TyperGroup):
            yield from commands(command, f"{before}{name} ")
        elif isinstance(command, TyperCommand):
            yield before + name, command


def test_every_command_that_writes_has_the_same_way_to_force_it() -> None:
    top = typer.main.get_command(program())
    assert isinstance(top, TyperGroup)
    flags = {
        name: {flag for parameter in command.params for flag in parameter.opts}
        for name, command in commands(top)
    }
    writing = {name for name, known in flags.items() if known & {"-o", "--output", "--save"}}
    assert {name for name in writing if name.startswith("day ")}
    assert {"overlay", "drawer", "handout", "strain", "arch fit", "arch coverage"} <= writing
    assert [name for name in sorted(writing) if "--force" not in flags[name]] == []


def test_a_link_stays_a_link(folder: Path) -> None:
    (folder / "shelf").mkdir()
    target, link = folder / "shelf" / "old.pdf", folder / "link.pdf"
    target.write_bytes(PDF)
    link.symlink_to(target)
    write_all({link: NEW})
    assert link.is_symlink()
    assert target.read_bytes() == NEW
    target.unlink()
    write_all({link: NEW})  # it leads nowhere now
    assert target.read_bytes() == NEW
    assert [path.name for path in target.parent.iterdir()] == ["old.pdf"]


def test_a_ring_of_links_is_refused(folder: Path, capsys: Output) -> None:
    Path("one.pdf").symlink_to("two.pdf")
    Path("two.pdf").symlink_to("one.pdf")
    line = refused(["overlay", "16", "-o", "one.pdf"], capsys, force=False)
    assert "one.pdf: cannot be written" in line


def test_other_hard_links_keep_the_old_file(folder: Path) -> None:
    (folder / "old.pdf").write_bytes(PDF)
    (folder / "same.pdf").hardlink_to(folder / "old.pdf")
    write_all({folder / "old.pdf": NEW, folder / "more.pdf": NEW})
    assert (folder / "old.pdf").read_bytes() == NEW
    assert (folder / "same.pdf").read_bytes() == PDF


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no pipes among its files")
@pytest.mark.parametrize("more", [[], ["--force"]])
def test_a_pipe_is_refused(more: list[str], folder: Path, capsys: Output) -> None:
    os.mkfifo("case.pdf")
    line = refused(["overlay", "16", "-o", "case.pdf", *more], capsys, force=False)
    assert "case.pdf: a device or a pipe, not a file" in line


def test_a_read_only_file_is_kept(folder: Path, capsys: Output) -> None:
    path = folder / "case.pdf"
    path.write_bytes(PDF)
    path.chmod(0o444)
    assert "case.pdf: is read-only" in refused(["overlay", "16", "-o", "case.pdf"], capsys)
    assert run(["overlay", "16", "-o", "case.pdf", "--force"]) == 0
    assert path.stat().st_mode & 0o777 == 0o444
    path.chmod(0o644)


@pytest.mark.parametrize("other", ["./case.pdf", "link.pdf", "same.pdf"])
def test_two_outputs_are_two_files(other: str, folder: Path, capsys: Output) -> None:
    path = folder / "case.pdf"
    path.write_bytes(PDF)
    Path("link.pdf").symlink_to("case.pdf")
    Path("same.pdf").hardlink_to("case.pdf")
    line = refused(["overlay", "16", "-o", "case.pdf", "-o", f"{folder}/{other}"], capsys, False)
    assert "the same file as case.pdf; name another" in line


@pytest.mark.parametrize("links", [True, False])
@pytest.mark.parametrize("fails", [1, 2, 3])
def test_when_one_cannot_take_its_place_none_does(
    fails: int, links: bool, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old = {"a.pdf": PDF, "c.pdf": PDF}
    for name, content in old.items():
        (folder / name).write_bytes(content)
    names, replace, placed = ["a.pdf", "b.pdf", "c.pdf"], Path.replace, []

    def full(path: Path, target: Path) -> Path:
        if Path(target).name in names and kind_of(path.read_bytes()) and path.read_bytes() == NEW:
            placed.append(target)
            if len(placed) == fails:
                raise OSError(errno.EBUSY, os.strerror(errno.EBUSY))
        return replace(path, target)

    def no_links(*_: object) -> None:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(Path, "replace", full)
    if not links:
        monkeypatch.setattr(Path, "hardlink_to", no_links)
    with pytest.raises(InputError, match=rf"{names[fails - 1]}: cannot be written"):
        write_all({folder / name: NEW for name in names})
    assert len(placed) == fails
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == old


def test_what_cannot_be_put_back_is_named(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (folder / "a.pdf").write_bytes(PDF)
    replace, count = Path.replace, 0

    def once(path: Path, target: Path) -> Path:
        nonlocal count
        count += 1
        if count > 1:
            raise OSError(errno.EBUSY, os.strerror(errno.EBUSY))
        return replace(path, target)

    monkeypatch.setattr(Path, "replace", once)
    with pytest.raises(InputError) as caught:
        write_all({folder / "a.pdf": NEW, folder / "b.pdf": NEW})
    first, second = caught.value.problems
    assert "b.pdf: cannot be written" in first
    assert "a.pdf: could not be put back" in second
    kept = Path(second.rpartition("the old file is ")[2])
    assert kept.read_bytes() == PDF


def test_what_a_killed_run_left_goes_with_the_next_run(folder: Path) -> None:
    def left(name: str, seconds: float) -> Path:
        path = folder / name
        path.write_bytes(b"a reference")
        then = path.stat().st_mtime - seconds
        os.utime(path, (then, then))
        return path

    stale = left(".case.pdf.0a1b2c3d.sheetmark-part", PART_SECONDS + 5)
    fresh = left(".case.pdf.4e5f6071.sheetmark-part", 5)
    others = left(".other.pdf.4e5f6071.sheetmark-part", PART_SECONDS + 5)
    foreign = left(".case.pdf.swp", PART_SECONDS + 5)
    write_all({folder / "case.pdf": NEW})
    assert not stale.exists()
    assert all(path.exists() for path in (fresh, others, foreign))

"""Files are written whole or not at all: one clear line, an old file untouched, nothing left over.

The tests may run as root, so that no permission stops them; a path through a file does.
"""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from sheetmark.base.files import write_all
from sheetmark.base.findings import InputError
from sheetmark.cli.app import run

Output = pytest.CaptureFixture[str]

OLD = b"%PDF-1.7 an old page, worth keeping\n"
OLD_PLAN = b'{"format": "sheetmark-plan/1"}\n'
NEW = b"%PDF-1.7 new\n"


def error_line(output: Output) -> str:
    out, err = output.readouterr()
    assert out == ""
    (line,) = err.splitlines()
    assert line.startswith("sheetmark: error: ")
    return line


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with one old page in it."""
    (tmp_path / "old.pdf").write_bytes(OLD)
    return tmp_path


def assert_untouched(folder: Path) -> None:
    assert [path.name for path in folder.iterdir()] == ["old.pdf"], "no new and no temporary file"
    assert (folder / "old.pdf").read_bytes() == OLD


HINT = "check the folder, its permissions and the free space"
# Names that cannot be written, and what the one line says of them.
UNWRITABLE: list[tuple[str, str]] = [
    ("missing/case.pdf", f"cannot be written (No such file or directory); {HINT}"),
    ("old.pdf/case.pdf", f"cannot be written (Not a directory); {HINT}"),
    ("n" * 300 + ".pdf", f"cannot be written (File name too long); {HINT}"),
    ("case\x00.pdf", "': not a file name; check the path"),
]


@pytest.mark.parametrize(("name", "wording"), UNWRITABLE, ids=["missing", "file", "long", "nul"])
@pytest.mark.parametrize("others", ["alone", "after a good one", "before a good one"])
def test_a_bad_place_stops_all_files(
    name: str, wording: str, others: str, folder: Path, capsys: Output
) -> None:
    bad, good = str(folder / name), str(folder / "old.pdf")
    names = {"alone": [bad], "after a good one": [good, bad], "before a good one": [bad, good]}
    options = [word for each in names[others] for word in ("-o", each)]
    assert run(["overlay", "16", *options]) == 2
    assert wording in error_line(capsys)
    assert_untouched(folder)


def test_a_folder_is_no_file(folder: Path, capsys: Output) -> None:
    (folder / "old.pdf").unlink()
    (folder / "case.pdf").mkdir()
    assert run(["overlay", "16", "-o", str(folder / "case.pdf")]) == 2
    assert "case.pdf: cannot be written (it is a folder)" in error_line(capsys)
    assert [path.name for path in folder.iterdir()] == ["case.pdf"]
    assert list((folder / "case.pdf").iterdir()) == []


def no_space(*_: object) -> int:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


@pytest.mark.parametrize("names", [["old.pdf"], ["new.json"], ["new.json", "old.pdf", "new.svg"]])
def test_a_full_disk(
    names: list[str], folder: Path, capsys: Output, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "fsync", no_space)
    options = [word for name in names for word in ("-o", str(folder / name))]
    assert run(["overlay", "16", *options]) == 2
    line = error_line(capsys)
    assert f"{names[0]}: cannot be written (No space left on device)" in line
    assert "free space" in line
    assert_untouched(folder)


def test_a_disk_that_fills_up_at_the_second_file(
    folder: Path, capsys: Output, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced: list[int] = []

    def fills_up(handle: int) -> None:
        synced.append(handle)
        if len(synced) == 2:
            no_space()

    monkeypatch.setattr(os, "fsync", fills_up)
    names = ["old.pdf", "second.svg", "third.json"]
    options = [word for name in names for word in ("-o", str(folder / name))]
    assert run(["overlay", "16", *options]) == 2
    assert "second.svg: cannot be written" in error_line(capsys)
    assert len(synced) == 2
    assert_untouched(folder)


def test_content_reaches_the_disk_before_the_old_file_goes(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[bytes] = []
    sync = os.fsync

    def look(handle: int) -> None:
        sync(handle)
        seen.append((folder / "old.pdf").read_bytes())

    monkeypatch.setattr(os, "fsync", look)
    write_all({folder / "old.pdf": NEW, folder / "two.svg": b"two"})
    assert seen == [OLD, OLD]
    assert (folder / "old.pdf").read_bytes() == NEW
    assert sorted(path.name for path in folder.iterdir()) == ["old.pdf", "two.svg"]


def test_a_stop_half_way_leaves_nothing(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C while a file is written."""

    def stopped(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stopped)
    with pytest.raises(KeyboardInterrupt):
        write_all({folder / "old.pdf": b"new"})
    assert_untouched(folder)


def test_a_rename_that_fails_leaves_no_temporary_file(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_: Path, target: Path) -> Path:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(InputError, match=r"old\.pdf: cannot be written \(Permission denied\)"):
        write_all({folder / "old.pdf": NEW})
    assert_untouched(folder)


def test_a_page_that_cannot_be_drawn_stops_the_plan_file_too(folder: Path, capsys: Output) -> None:
    names = [str(folder / name) for name in ("new.json", "old.pdf")]
    assert run(["overlay", "16", "-o", names[0], "-o", names[1], "--reference", "席"]) == 2
    assert "no glyph" in error_line(capsys)
    assert_untouched(folder)


@pytest.mark.parametrize(
    ("bad", "wording"),
    [
        (["-o", "two.docx"], "must end in"),
        (["-o", "two.svg", "--reference", "席"], "no glyph"),
        (["--sheet", "180"], "too large"),
        (["--missing", "16"], "missing"),
    ],
)
def test_any_other_error_comes_before_the_first_file(
    bad: list[str], wording: str, folder: Path, capsys: Output, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    assert run(["overlay", "16", "-o", "old.pdf", *bad]) == 2
    assert wording in error_line(capsys)
    assert_untouched(folder)


@pytest.mark.parametrize("exists", [False, True])
def test_odd_but_possible_names(exists: bool, tmp_path: Path) -> None:
    names = ["a b.json", "-o.json", "ä席🦷.json", "it's.json", "..json", "x" * 250 + ".json"]
    for name in names:
        path = tmp_path / name
        if exists:
            path.write_bytes(OLD_PLAN)
        assert run(["overlay", "16", "-o", str(path)]) == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(names)
    (content,) = {path.read_bytes() for path in tmp_path.iterdir()}
    assert content.startswith(b"{")


def test_a_page_is_as_open_as_other_files(tmp_path: Path) -> None:
    """A new file follows the user's mask, an old one keeps its rights."""
    plain, new, old = tmp_path / "plain", tmp_path / "new.json", tmp_path / "old.json"
    plain.write_bytes(b"")
    old.write_bytes(b"")
    old.chmod(0o640)
    kept = old.stat().st_mode
    assert run(["overlay", "16", "-o", str(new), "-o", str(old)]) == 0
    assert new.stat().st_mode == plain.stat().st_mode
    assert old.stat().st_mode == kept

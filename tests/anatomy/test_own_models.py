"""The clinic's own arch models: kept in the settings folder, known by name wherever a model is."""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path

import pytest

from sheetmark import InputError, load_model
from sheetmark.anatomy.arch_model import data_folder, named_model
from sheetmark.base.user_folder import models_folder, own_models
from sheetmark.cli.app import run
from tests.helpers.model_files import BROKEN_MODELS, break_own_models


@pytest.fixture
def kept(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A folder of own models with one in it, `our-adult`."""
    monkeypatch.setattr("platformdirs.user_config_path", lambda name, **_: tmp_path / name)
    folder = models_folder()
    folder.mkdir(parents=True)
    text = (data_folder() / "adult-large.toml").read_text("utf-8")
    ours = text.replace('name = "adult-large"', 'name = "our-adult"', 1)
    (folder / "our-adult.toml").write_text(ours, "utf-8")
    return folder


def test_an_own_model_is_found_by_its_name(kept: Path) -> None:
    assert own_models() == {"our-adult": kept / "our-adult.toml"}
    assert load_model("our-adult").name == "our-adult"
    assert load_model("our-adult").upper == load_model("adult-large").upper


def test_a_command_takes_it_and_its_recipe_names_it(
    kept: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["overlay", "16", "--arch", "our-adult", "-o", str(tmp_path / "a.json")]) == 0
    assert '"sheetmark overlay 16 --arch our-adult"' in (tmp_path / "a.json").read_text()
    assert run(["arch", "list"]) == 0
    assert "our-adult" in capsys.readouterr().out


@pytest.mark.skipif(sys.platform != "linux", reason="others know no names that are no text")
def test_a_broken_one_is_listed_and_spoils_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("platformdirs.user_config_path", lambda name, **_: tmp_path / name)
    break_own_models(models_folder())
    os.mkfifo(models_folder() / "pipe.toml")
    (models_folder() / "two\nlines.toml").touch()
    assert run(["arch", "list"]) == 0
    out, err = capsys.readouterr()
    lines = {line.split()[0]: line for line in out.splitlines()}
    broken = {name for name, line in lines.items() if " broken: " in line}
    assert broken == {*BROKEN_MODELS, "pipe", "two"}
    assert len(lines) == len(out.splitlines()), "each has a line of its own"
    assert "adult-mean" in lines
    assert "ours" in lines
    assert err == ""
    assert run(["arch", "show", "ours"]) == 0
    assert run(["arch", "show", "pipe"]) == 2, "it is not waited for"


def test_a_folder_of_them_that_cannot_be_read_is_listed_as_broken(
    kept: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(_: Path) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(os, "scandir", refuse)
    assert run(["arch", "list"]) == 0
    out = capsys.readouterr().out
    assert f"arch_models     broken: {kept}: cannot be read (Permission denied)" in out
    assert run(["overlay", "16"]) == 0
    assert run(["overlay", "16", "--arch", "our-adult"]) == 2
    assert "cannot be read (Permission denied)" in capsys.readouterr().err


def test_a_file_that_holds_another_model_is_refused(kept: Path) -> None:
    (kept / "our-adult.toml").rename(kept / "other.toml")
    with pytest.raises(InputError, match=r"other\.toml: name is 'our-adult'; it must be"):
        load_model("other")


@pytest.mark.parametrize(
    "name", ["nobody", "../arch_models/our-adult", "our-adult.toml", "/etc/passwd", "", "*"]
)
def test_a_name_is_never_followed_as_a_path(kept: Path, name: str) -> None:
    with pytest.raises(InputError, match=r"unknown; use .*our-adult"):
        named_model(name)

"""The clinic's own arch models: kept in the settings folder, known by name wherever a model is."""

from __future__ import annotations

from pathlib import Path

import pytest

from sheetmark import InputError, load_model
from sheetmark.anatomy.arch_model import data_folder, named_model
from sheetmark.base.user_folder import models_folder, own_models
from sheetmark.cli.app import run


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


def test_a_file_that_holds_another_model_is_refused(kept: Path) -> None:
    (kept / "our-adult.toml").rename(kept / "other.toml")
    with pytest.raises(InputError, match=r"other\.toml: name is 'our-adult'; it must be"):
        load_model("other")


@pytest.mark.parametrize(
    "name", ["nobody", "../arch_models/our-adult", "our-adult.toml", "/etc/passwd", "", "*"]
)
def test_a_name_is_never_followed_as_a_path(kept: Path, name: str) -> None:
    with pytest.raises(InputError, match=r"there is none of that name; use .*our-adult"):
        named_model(name)

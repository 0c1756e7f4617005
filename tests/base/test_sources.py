"""The bibliography: every citation once, every key in use, no row surer than its source."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec
import pytest

import sheetmark
from sheetmark.anatomy.arch_model import ArchModel, CrownTable, data_folder, load_model
from sheetmark.anatomy.eruption import EruptionTable
from sheetmark.anatomy.gum_line_table import GumLineTable
from sheetmark.base.findings import InputError
from sheetmark.base.sources import (
    MEANING,
    Source,
    bibliography,
    citation,
    cite,
    cite_short,
    read_sourced,
    sourced_rows,
)
from sheetmark.fitting.spread import Spread
from sheetmark.plan.accuracy import WorstHoleTable
from sheetmark.practice.materials import MaterialTable
from tests.helpers.model_files import changed, shipped, written

PACKAGE = Path(sheetmark.__file__).parent
BIBLIOGRAPHY = PACKAGE / "base" / "bibliography.toml"
MODELS = data_folder()
FILES = [
    path
    for folder in (PACKAGE, MODELS)
    for path in sorted(folder.rglob("*"))
    if path.suffix in {".py", ".toml", ".js", ".html"} and path != BIBLIOGRAPHY
]
# `J Dent Res 36:39-47`: volume and pages, as only a full citation has them.
VOLUME_AND_PAGES = re.compile(r"\b[A-Z][a-z]+ [A-Z]?\d{1,4}:\d{1,4}\b")
CITING = {"cite", "cite_short", "citation", "short_name"}


def text_of(path: Path) -> str:
    """A file's words on one line: string literals and comments that run on are joined."""
    return re.sub(r'"?\s*\n\s*(?:#\s*)?(?:f?")?', " ", path.read_text("utf-8"))


def full_citations(text: str) -> list[str]:
    """What in a text is a citation that only the bibliography may hold."""
    found = VOLUME_AND_PAGES.findall(text)
    wording = " ".join(text.split())
    for source in bibliography().values():
        parts = [part.strip(" ,") for part in source.citation.split("{place}")]
        # An author and a year may stand anywhere; a title or a journal makes it a full citation.
        found += [part for part in parts if len(part) > 25 and part in wording]
    return found


def test_no_full_citation_stands_outside_the_bibliography() -> None:
    assert len(FILES) > 100
    assert {path.name: found for path in FILES if (found := full_citations(text_of(path)))} == {}


@pytest.mark.parametrize(
    "text",
    [
        '"Moorrees, Thomsen, Jensen, Yen 1957, J Dent Res 36:39-47 (from memory)"',
        "Another 2001, Angle Orthod 71:386-389",
        '    "Treloar, The "\n    "Physics of Rubber Elasticity"',
        "# Treloar, The Physics of\n# Rubber Elasticity",
    ],
)
def test_a_full_citation_is_seen(text: str, tmp_path: Path) -> None:
    path = tmp_path / "page.py"
    path.write_text(text)
    assert full_citations(text_of(path))


def test_every_key_in_use_exists_and_every_key_is_in_use() -> None:
    used: set[str] = set()
    for path in FILES:
        text = path.read_text("utf-8")
        named = set(re.findall(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*", text))
        used |= named & bibliography().keys()
        if path.suffix == ".py":
            cited = keys_cited(text)
            assert cited <= bibliography().keys(), f"{path.name}: not in the bibliography"
            years = {key for key in named if re.fullmatch(r"[a-z]+(-[a-z]+)*-(18|19|20)\d\d", key)}
            assert years <= bibliography().keys(), f"{path.name}: not in the bibliography"
    assert bibliography().keys() - used == set(), "no row, page or docstring names these"


def keys_cited(source: str) -> set[str]:
    """The keys that a module looks up in the bibliography."""
    return {
        str(node.args[0].value)
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in CITING
        and isinstance(node.args[0], ast.Constant)
    }


def test_keys_cited_are_found_in_strings_too() -> None:
    assert keys_cited("A = f\"{cite('davis-1917')}\"; B = citation('x')") == {"davis-1917", "x"}


def test_a_citation_is_printed_with_how_sure_we_are() -> None:
    assert cite("davis-1917") == "Davis 1917, Operative Dentistry (seen in print)"
    assert cite_short("treloar") == "Treloar (from memory)"
    assert cite_short("black-1908") == "Black 1908 (seen in print)"
    assert citation("iso-16635-1") == "ISO 16635-1:2013"
    assert cite("moyers-1976", "age 8").endswith(", age 8, as tabulated by Proffit (from memory)")
    with pytest.raises(KeyError):
        cite("nobody-1900")


@pytest.mark.parametrize("flag", MEANING)
def test_a_source_of_any_flag_can_be_printed_or_says_how_itself(flag: str) -> None:
    source = msgspec.convert({"citation": "A", "seen": flag, "how": "so"}, Source)
    assert source.with_surety("A") == "A (so)"


def test_every_entry_can_be_printed() -> None:
    for key, source in bibliography().items():
        assert cite(key, "page 1" if "{place}" in source.citation else "")
        assert "\n" not in source.citation


Table = tuple[Path, type[msgspec.Struct]]
TABLES: list[Table] = [
    (PACKAGE / "practice" / "materials.toml", MaterialTable),
    (PACKAGE / "anatomy" / "eruption.toml", EruptionTable),
    (PACKAGE / "anatomy" / "gum_line.toml", GumLineTable),
    (PACKAGE / "fitting" / "spread.toml", Spread),
    (PACKAGE / "plan" / "accuracy.toml", WorstHoleTable),
    (MODELS / "crowns.toml", CrownTable),
    *((path, ArchModel) for path in sorted(MODELS.glob("*.toml")) if path.stem != "crowns"),
]


def has_figures(value: Any) -> bool:
    match value:
        case dict():
            return any(has_figures(part) for part in value.values())
        case list():
            return any(has_figures(part) for part in value)
        case _:
            return isinstance(value, int | float)


def test_every_data_file_with_figures_is_a_table_with_sources() -> None:
    data = {path for path in FILES if path.suffix == ".toml"}
    figures = {path for path in data if has_figures(tomllib.loads(path.read_text("utf-8")))}
    assert figures == {path for path, _ in TABLES}


def drop_source(text: str) -> str:
    return re.sub(r'(, |\n)source = "[^"]*"', "", text, count=1)


def drop_flag(text: str) -> str:
    return re.sub(r'(, |\n)flag = "[^"]*"', "", text, count=1)


def unknown_source(text: str) -> str:
    return re.sub(r'source = "[^"]*"', 'source = "nobody"', text, count=1)


def unknown_flag(text: str) -> str:
    return re.sub(r'flag = "[^"]*"', 'flag = "sure"', text, count=1)


def unlisted_key(text: str) -> str:
    return re.sub(r"(\[cites\][^\n]*\n)[a-z0-9-]+ =", r"\1nobody-1900 =", text)


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table[0].stem)
@pytest.mark.parametrize(
    ("spoil", "wording"),
    [
        (drop_source, ".source: missing; add it"),
        (drop_flag, ".flag: missing; add it"),
        (unknown_source, "source 'nobody' is not under [cites] or [sources]; add it there"),
        (unknown_flag, '"sure": must be D or M or'),
        (unlisted_key, "cites: 'nobody-1900' is not in the bibliography"),
    ],
)
def test_a_row_without_a_true_source_is_refused(
    table: Table, spoil: Callable[[str], str], wording: str, tmp_path: Path
) -> None:
    path, kind = table
    text = path.read_text("utf-8")
    assert list(sourced_rows(read_sourced(path, path.name, kind)))
    spoiled = spoil(text)
    assert spoiled != text
    (tmp_path / path.name).write_text(spoiled, "utf-8")
    with pytest.raises(InputError, match=re.escape(wording)) as refused:
        read_sourced(tmp_path / path.name, path.name, kind)
    (problem,) = refused.value.problems
    assert problem.startswith(f"{path.name}: ")


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table[0].stem)
def test_no_row_is_surer_than_its_source(table: Table, tmp_path: Path) -> None:
    path, kind = table
    spoiled, count = re.subn(r'flag = "(S2|M)"', 'flag = "S"', path.read_text("utf-8"), count=1)
    without = ("materials", "gum_line", "spread", "accuracy")
    assert count == (path.stem not in without), "there is no such row there"
    if count:
        (tmp_path / path.name).write_text(spoiled, "utf-8")
        with pytest.raises(InputError, match="flag S is surer than its source, which is "):
            read_sourced(tmp_path / path.name, path.name, kind)


CITES_MOYERS = 'moyers-1976 = "age 18"'


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        (CITES_MOYERS, 'moyers-1976 = ""', "cites: moyers-1976: name the place in it"),
        (
            'moorrees-1957 = ""',
            'moorrees-1957 = "page 40"',
            'cites: moorrees-1957: has no place, write ""',
        ),
        (
            CITES_MOYERS,
            "moyers-1976 = 18",
            'cites: give each key the place in it as text, "" for none',
        ),
        (
            "[cites]",
            '[sources]\nmoorrees-1957 = "Ours"\n\n[cites]',
            "sources: 'moorrees-1957' is under [cites] too; remove one of them",
        ),
    ],
)
def test_a_key_that_is_not_cited_as_it_should_be_is_refused(
    tmp_path: Path, old: str, new: str, problem: str
) -> None:
    path = written(tmp_path, changed(shipped(), old, new))
    with pytest.raises(InputError, match=re.escape(problem)):
        load_model(path)


def test_a_clinics_model_may_write_sources_out_beside_cited_ones(tmp_path: Path) -> None:
    text = changed(shipped(), 'source = "moorrees-1957", flag = "M"', 'source = "us", flag = "S"')
    model = load_model(written(tmp_path, text + '\n[sources]\nus = "Ours, 2026"\n'))
    assert list(model.sources) == [
        "moorrees-1957",
        "moyers-1976",
        "woelfel-scheid",
        "us",
    ]
    assert model.sources["us"] == "Ours, 2026"
    assert model.sources["moyers-1976"] == cite("moyers-1976", "age 18")


def test_a_clinics_model_may_write_all_of_them_out(tmp_path: Path) -> None:
    """As `arch fit` writes it, and as every model was written before there was a bibliography."""
    start, _, rest = shipped().partition("[cites]")
    lines = [f'{key} = "{text}"' for key, text in load_model("adult-mean").sources.items()]
    text = "\n".join([f"{start}[sources]", *lines, "", rest[rest.index("[upper]") :]])
    assert "[cites]" not in text
    assert load_model(written(tmp_path, text)) == load_model("adult-mean")

"""Identifiers name what they hold: none is, or holds, a word that could stand for anything."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.helpers.paths import ROOT

# `one` alone only: in `one_at_a_time` it counts.
VAGUE = {"said", "told", "asked", "words", "thing"}
VAGUE_ALONE = VAGUE | {"one"}
# A key of the practice file, for what it holds: words of the clinic's own lists.
KEPT = {"list_words"}


def identifiers(source: str) -> Iterator[tuple[int, str]]:
    """Every name that a source binds or uses, with its line."""
    for node in ast.walk(ast.parse(source)):
        for field in ("id", "attr", "arg", "name", "asname", "rest"):
            name = getattr(node, field, None)
            if isinstance(name, str):
                yield getattr(node, "lineno", 0), name


def vague(name: str) -> bool:
    """Whether an identifier is vague, private or not, a constant or not."""
    bare = name.strip("_").lower()
    parts = re.split(r"[._]", re.sub(r"(?<=[a-z])(?=[A-Z])", "_", name).lower())
    return name not in KEPT and (bare in VAGUE_ALONE or bool(VAGUE & set(parts)))


@pytest.mark.parametrize("folder", ["sheetmark", "tests", "examples"])
def test_no_identifier_is_vague(folder: str) -> None:
    paths = [p for p in (ROOT / folder).rglob("*.py") if "node_modules" not in p.parts]
    found = [
        f"{path.relative_to(ROOT)}:{line}: {name}"
        for path in paths
        for line, name in identifiers(path.read_text("utf-8"))
        if vague(name)
    ]
    found += [str(path.relative_to(ROOT)) for path in paths if vague(Path(path).stem)]
    assert found == []


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("one = 1", ["one"]),
        ("one_at_a_time = 1", []),
        ("[x for told in y]", ["told"]),
        ("def f(*, asked): ...", ["asked"]),
        ("class ThingAsked: ...", ["ThingAsked"]),
        ("x.arch_words", ["arch_words"]),
        ("import a as _said", ["_said"]),
        ("match x:\n case thing: ...", ["thing"]),
        ("'words told'", []),
    ],
)
def test_the_test_sees_them(source: str, expected: list[str]) -> None:
    assert [name for _, name in identifiers(source) if vague(name)] == expected

"""The odd mouths of corpus.toml as cases, for tests, pictures and benchmarks alike."""

from __future__ import annotations

import tomllib
from pathlib import Path

import msgspec

from sheetmark.anatomy.arch_model import DEFAULT_MODEL, load_model, model_for_age
from sheetmark.case.case import Case
from sheetmark.case.file import FORMAT, CaseFile, case_of
from sheetmark.plan.make import make_plan
from sheetmark.plan.plan import Plan
from sheetmark.practice.settings import Practice, read_sheet


class Mouth(msgspec.Struct, frozen=True):
    name: str
    case: Case
    model: str
    sheet: str

    def plan(self) -> Plan:
        return make_plan(self.case, load_model(self.model), Practice(sheet=read_sheet(self.sheet)))


def mouths() -> tuple[Mouth, ...]:
    """Every mouth of the corpus."""
    rows = tomllib.loads((Path(__file__).parent / "corpus.toml").read_text("utf-8"))["mouth"]
    return tuple(_mouth(row) for row in rows)


def _mouth(row: dict[str, object]) -> Mouth:
    name, sheet, model = row.pop("name"), row.pop("sheet", "152"), row.pop("model", None)
    case = case_of(msgspec.convert(row | {"format": FORMAT}, CaseFile))
    if model is None:
        model = DEFAULT_MODEL if case.age is None else model_for_age(case.age).name
    return Mouth(str(name), case, str(model), str(sheet))

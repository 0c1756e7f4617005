"""One run over a day's list, row by row: its tray plan and its PDF. No plan or page is kept."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from functools import cache
from pathlib import Path
from typing import BinaryIO

from msgspec import Struct, field
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import load_model
from sheetmark.base.files import Writer, ending_of
from sheetmark.base.findings import InputError
from sheetmark.base.json_files import json_bytes
from sheetmark.day.day_json import day_json
from sheetmark.day.list import Form, repeated_references
from sheetmark.day.records import DayList, Problem, Row, RowError
from sheetmark.day.rows import DayCase, TakeModel, blamed, plan_row
from sheetmark.day.tray import DayPlan, Visit, plan_day, visit_of
from sheetmark.practice.settings import PAPERS, Practice
from sheetmark.typesetting.marks import Page

_FORMS: dict[str, Form] = {
    ".csv": "csv",
    ".tsv": "csv",
    ".txt": "csv",
    ".xlsx": "xlsx",
    ".ics": "ics",
    ".toml": "toml",
}

ENDINGS = (".pdf", ".json")

Watch = Callable[[Sequence[Row]], AbstractContextManager[Iterable[Row]]]


def form_of(name: str) -> Form:
    """The form of a list, by the ending of its file name. Raises InputError for another ending."""
    return _FORMS[ending_of("list", name, tuple(_FORMS))]


class DayBook(Struct):
    """One run over a list, to plan it or to write it; `day` is the result.

    `shown` names the list in messages, `recipe` is the command line that makes the day again.
    `strict`: one bad row stops the whole day. `cards`: a case card behind each overlay.
    `take_model` finds the arch model that a row names; `watch` may show how far the run is.
    `visits` and `failed` fill up as it runs.
    """

    shown: str
    rows: DayList
    practice: Practice
    recipe: str
    strict: bool = False
    cards: bool = False
    take_model: TakeModel = load_model
    watch: Watch = nullcontext
    visits: list[Visit] = field(default_factory=list)
    failed: list[Problem] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.take_model = cache(self.take_model)  # many rows name the same model

    @property
    def day(self) -> DayPlan:
        """The tray plan of the rows done so far, with the problems of those left out."""
        done = {visit.row for visit in self.visits}
        return plan_day(
            self.visits,
            self.practice,
            self.recipe,
            (*self.rows.problems, *self.failed),
            (
                *(remark for remark in self.rows.remarks if remark.row in done),
                *repeated_references(row for row in self.rows.rows if row.number in done),
            ),
            day=self.rows.day,
            notes=(*self.rows.doubts, *self.rows.notes),
        )

    def plan(self) -> None:
        """Plan every row; draw nothing."""
        for _, case in self._cases():
            self.visits.append(visit_of(case))

    def lay_out(self) -> None:
        """Plan and draw every row, but keep no page: rows that no page can hold fail as well."""
        for case, _ in self._laid_out():
            self.visits.append(visit_of(case))

    def writers(self, files: Mapping[Path, str]) -> dict[Path, Writer]:
        """How to write each file, by its ending of ENDINGS; the rows are done once for all."""
        how: dict[str, Writer] = {".pdf": self.write, ".json": self._write_json}
        # Pages first: a row that no page can hold is left out of the tray plan as well.
        first = sorted(files, key=lambda path: files[path] != ".pdf")
        return {path: how[files[path]] for path in first}

    def write(self, file: BinaryIO) -> None:
        """Write the whole PDF. Raises InputError for a day that must not be written."""
        # Loaded here so that a list that cannot be read needs no drawing library.
        from sheetmark.documents.correction import corrected_page
        from sheetmark.documents.sets.day import TITLE, case_key, tray_pages
        from sheetmark.render.long_pdf import LongPdf

        paper, printer = PAPERS[self.practice.paper], self.practice.printer_in_use
        size = (paper.width_mm, paper.height_mm)
        correction = printer.correction if printer else (1.0, 1.0)
        pdf = LongPdf(file, size, TITLE, self.recipe, correction)
        first_pages, count = [], 0
        for case, pages in self._laid_out():
            for page in (replace(pages[0], key=case_key(case.row)), *pages[1:]):
                pdf.add(corrected_page(page, self.practice))
            first_pages.append(count)
            count += len(pages)
            self.visits.append(visit_of(case))
        self.check()
        front = 0
        for page in tray_pages(self.day, first_pages):
            pdf.add(corrected_page(page, self.practice))
            front += 1
        pdf.finish(in_front=front)

    def _write_json(self, file: BinaryIO) -> None:
        if not self.visits:
            self.lay_out()
            self.check()
        file.write(json_bytes(day_json(self.day)))

    def check(self) -> None:
        """Raises InputError, a line for each problem, for a day that must not be written."""
        problems = sorted((*self.rows.problems, *self.failed), key=lambda problem: problem.row)
        if not problems or (self.visits and not self.strict):
            return
        why = "--strict and some rows cannot be done" if self.visits else "no row can be done"
        lines = [f"{self.shown}, {problem.plain}" for problem in problems]
        raise InputError(*lines, f"{self.shown}: {why}; nothing written")

    def _laid_out(self) -> Iterator[tuple[DayCase, tuple[Page, ...]]]:
        from sheetmark.documents.sets.day import case_pages

        for row, case in self._cases():
            try:
                pages = case_pages(case.plan, card=self.cards)
            except InputError as error:
                self.failed.append(blamed(row, error))
            else:
                yield case, pages

    def _cases(self) -> Iterator[tuple[Row, DayCase]]:
        """The rows that can be planned, with their plans; the others go to `failed`."""
        self.visits.clear()
        self.failed.clear()
        with self.watch(self.rows.rows) as rows:
            for row in rows:
                try:
                    yield row, plan_row(row, self.practice, self.take_model)
                except RowError as error:
                    self.failed += error.problems

"""Reading a practice file: every problem in one go, each with key, value, limit and advice."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import msgspec
from msgspec import NODEFAULT, UNSET, inspect, structs
from msgspec.structs import replace

from sheetmark.base.files import read_file, shortened
from sheetmark.base.findings import InputError
from sheetmark.base.records import convert
from sheetmark.base.toml import MOST_BYTES, parse_toml, toml_text, toml_value
from sheetmark.practice.file.convert import to_practice
from sheetmark.practice.file.describe import (
    bare,
    describe_limit,
    info_of,
    item_of,
    keys_of,
    section_of,
)
from sheetmark.practice.file.keys import PracticeFile
from sheetmark.practice.file.rows import ClampRow, PrinterRow, SheetRow
from sheetmark.practice.file.sections import PlacementSection, PunchSection, Section
from sheetmark.practice.printer import likely_cause
from sheetmark.practice.settings import (
    NO_PRINTER,
    PAPERS,
    Origin,
    Practice,
    Sheet,
    sheet_overflow_mm,
)

# Says why text cannot be written on a page, or nothing.
Unwritable = Callable[[str], str]
_SHOWN_CHARACTERS = 60
_PLAIN_KEY = re.compile(r"[A-Za-z0-9_-]+")
_Known = dict[str, Any]


def writable(_: str) -> str:
    """Takes any text as writable: a page finds out when it is made."""
    return ""


class Problem(msgspec.Struct, frozen=True):
    """What is wrong with one key of the file; `value` is NODEFAULT where it is missing.

    `command` is the command that helps, for the command line alone.
    """

    key: str
    value: object
    limit: str
    advice: str
    command: str = ""

    @property
    def line(self) -> str:
        """The problem as the command line has it: key, value, limit, advice."""
        value = f" = {self.shown_value}" if self.shown_value else ""
        command = f" ({self.command})" if self.command else ""
        return f"{self.key}{value}: {self.limit}; {self.advice}{command}"

    @property
    def shown_value(self) -> str:
        """The value as TOML, shortened; empty where the key is missing."""
        if self.value is NODEFAULT:
            return ""
        value = toml_value(self.value)
        return shortened(value, _SHOWN_CHARACTERS)


class PracticeError(InputError):
    """The problems of a practice file, so that each can be shown beside its key."""

    def __init__(self, name: str, found: Sequence[Problem]) -> None:
        super().__init__(*(f"{name}: {problem.line}" for problem in found))
        self.name, self.found = name, tuple(found)


class Checked(msgspec.Struct, frozen=True):
    """A file without problems: the settings, and the keys that it states."""

    practice: Practice
    stated: frozenset[str]


def read_practice(path: Path, unwritable: Unwritable = writable) -> Checked:
    """The settings of a practice file.

    Raises InputError with one line for every problem in it. `unwritable` says what the pages'
    font cannot write.
    """
    return check_text(read_text(path), path.name, unwritable)


def read_text(path: Path) -> str:
    """The text of a practice file. Raises InputError where it cannot be read."""
    shown = f"practice file {path}"
    return toml_text(read_file(path, shown, MOST_BYTES), shown, "practice")


def parse_text(text: str, name: str) -> dict[str, Any]:
    """A practice file's plain data, unchecked. Raises InputError for broken TOML."""
    return parse_toml(text, name)


def check_text(text: str, name: str, unwritable: Unwritable = writable) -> Checked:
    """The settings in a practice file's text; `name` is what to call the file."""
    data = parse_text(text, name)
    problems = find_problems(data, unwritable)
    if problems:
        raise PracticeError(name, problems)
    practice = to_practice(convert(data, PracticeFile))
    return Checked(replace(practice, origin=Origin(name, practice)), frozenset(_stated(data)))


def _stated(data: Mapping[str, Any]) -> Iterator[str]:
    for key, value in data.items():
        yield key
        if isinstance(value, Mapping):
            yield from (f"{key}.{inner}" for inner in value)


def find_problems(
    data: Mapping[str, Any], unwritable: Unwritable = writable
) -> tuple[Problem, ...]:
    """Every problem of a practice file's plain data."""
    walk = _Walk(unwritable)
    walk.table(PracticeFile, data, "")
    return (*walk.problems, *_between(walk.tables))


class _Walk:
    """Goes through the data along the form, key by key, so that one problem hides no other."""

    def __init__(self, unwritable: Unwritable) -> None:
        self.unwritable = unwritable
        self.problems: list[Problem] = []
        # What each table states or leaves to its default, but for values with a problem.
        self.tables: dict[str, _Known] = {}

    def table(self, form: type[Section], data: object, where: str) -> None:
        if not isinstance(data, Mapping):
            header = f"[[{where.partition('[')[0]}]]" if where.endswith("]") else f"[{where}]"
            advice = f"write {header} on a line and its keys below it"
            self._add(where, data, "must be a table", advice)
            return
        fields = {field.name: field for field in keys_of(form)}
        for key in (key for key in data if key not in fields):
            near = get_close_matches(key, fields, n=1, cutoff=0.0)
            advice = f"the nearest known key is {near[0]}"
            self._add(_join(where, key), data[key], "unknown key", advice)
        known = self.tables[where] = {}
        for field in fields.values():
            self._field(field, data, where, known)
        for found in _within(form, known):
            self.problems.append(replace(found, key=_join(where, found.key)))

    def _field(
        self, field: structs.FieldInfo, data: Mapping[str, Any], where: str, known: _Known
    ) -> None:
        key, at, section = field.name, _join(where, field.name), section_of(field.type)
        if section:
            self.table(section, data.get(key, {}), at)
        elif key in data:
            before = len(self.problems)
            self._value(field.type, data[key], at, field.default)
            if len(self.problems) == before:
                known[key] = convert(data[key], field.type)
            elif isinstance(data[key], list) and item_of(field.type):
                # Of a list that is wrong in places, the length can still be wrong as well.
                known[key] = data[key]
        elif field.required:
            limit = f"missing, must be {describe_limit(field.type, key)}"
            self._add(at, NODEFAULT, limit, "add it")
        else:
            known[key] = field.default

    def _value(self, form: Any, value: object, where: str, default: object = NODEFAULT) -> None:
        section, item = section_of(form), item_of(form)
        if section:
            self.table(section, value, where)
        elif item:
            self._list(form, item, value, where)
        else:
            self._leaf(form, value, where, default)

    def _list(self, form: Any, item: Any, value: object, where: str) -> None:
        if not isinstance(value, list):
            how = f"write [[{where}]] for each" if section_of(item) else "put it in brackets: [ ]"
            self._add(where, value, "must be a list", how)
            return
        bounds = bare(info_of(form))
        assert isinstance(bounds, inspect.VarTupleType)
        low, high = bounds.min_length or 0, bounds.max_length or len(value)
        if not low <= len(value) <= high:
            self._add(where, value, f"must have {low} to {high} entries", "correct the list")
        for number, entry in enumerate(value, start=1):
            self._value(item, entry, f"{where}[{number}]")

    def _leaf(self, form: Any, value: object, where: str, default: object) -> None:
        try:
            convert(value, form)
        except (
            msgspec.ValidationError,
            UnicodeEncodeError,
        ):  # or half a letter
            limit = f"must be {describe_limit(form, where)}"
            self._add(where, value, limit, _advice(where, value, form, default))
            return
        if isinstance(value, str) and (why := self.unwritable(value)):
            self._add(where, value, why, "write it with other letters")

    def _add(self, where: str, value: object, limit: str, advice: str) -> None:
        self.problems.append(Problem(where, value, limit, advice))


def _join(where: str, key: str) -> str:
    name = key if _PLAIN_KEY.fullmatch(key) else toml_value(key)
    return f"{where}.{name}" if where else name


def _advice(where: str, value: object, form: Any, default: object) -> str:
    key = where.rpartition(".")[2]
    if key in ("bar_x_mm", "bar_y_mm") and isinstance(value, int | float):
        return likely_cause(value)
    info = bare(info_of(form))
    if isinstance(info, inspect.LiteralType) and isinstance(value, str):
        near = get_close_matches(value.lower(), [str(word) for word in info.values], n=1)
        if near:
            return f"did you mean {near[0]}?"
    if default in (NODEFAULT, UNSET):
        return "correct it"
    return f"correct it, or leave it out for {toml_value(default)}"


def _within(form: type[Section], known: _Known) -> Iterator[Problem]:
    """What must hold between the keys of one table, as far as they are right by themselves."""
    if form is PunchSection:
        yield from _check_labels(known)
    elif form is PlacementSection:
        yield from _check_limits(known)
    elif form is ClampRow:
        yield from _check_clamp(known)
    elif form is PrinterRow and known.get("name") == NO_PRINTER:
        yield Problem("name", NO_PRINTER, "this word means no printer", "choose another name")


_REVERSED = ("from is larger than to", "write the smaller number first")


def _check_labels(punch: _Known) -> Iterator[Problem]:
    labels, diameters = punch.get("labels"), punch.get("diameters_mm")
    if labels and diameters and len(labels) != len(diameters):
        yield Problem(
            "labels",
            labels,
            f"{len(labels)} labels for {len(diameters)} holes",
            "give one for each hole, or leave the line out for 1, 2, 3 and so on",
        )
    times = Counter(label for label in labels or () if isinstance(label, str) and label)
    for label in (label for label, count in times.items() if count > 1):
        yield Problem("labels", labels, f"{toml_value(label)} stands twice", "tell holes apart")


def _check_limits(placement: _Known) -> Iterator[Problem]:
    edge = placement.get("upper_edge_above_incisal_mm")
    if edge and edge[0] > edge[1]:
        yield Problem("upper_edge_above_incisal_mm", edge, *_REVERSED)
    kept, refused = placement.get("hole_to_edge_mm"), placement.get("hole_to_edge_refused_mm")
    if kept is not None and refused is not None and refused > kept:
        yield Problem(
            "hole_to_edge_refused_mm",
            refused,
            f"must be at most the distance kept from hole to edge, {kept:g} mm",
            "lower it, or raise that distance",
        )


def _check_clamp(clamp: _Known) -> Iterator[Problem]:
    span = clamp.get("span_mm", UNSET)
    if span is not UNSET and span[0] > span[1]:
        yield Problem("span_mm", span, *_REVERSED)
    if not {"jaws", "version"} <= clamp.keys():
        return
    alike, version = clamp["jaws"] == "alike", clamp["version"]
    if alike and version is not UNSET:
        advice = "leave it out, or choose jaws larger-to-cheek"
        yield Problem("version", version, "belongs to jaws of unlike size", advice)
    if not alike and version is UNSET:
        limit = "missing, must be quadrants-1-3 or quadrants-2-4 where jaws are of unlike size"
        yield Problem("version", NODEFAULT, limit, "add it, or choose jaws alike")


def _between(tables: Mapping[str, _Known]) -> Iterator[Problem]:
    """What must hold between the tables of a file, as far as each is right by itself."""
    page, holes, punch = (tables.get(where, {}) for where in ("page", "holes", "punch"))
    yield from _first_sheet_on_page(page, tables.get("sheets[1]", {}))
    sizes = punch.get("diameters_mm", ())
    if holes.get("sizing") == "two-size" and sizes and len({str(size) for size in sizes}) < 2:
        advice = "choose crown, or add the punch's other holes"
        yield Problem("holes.sizing", "two-size", "needs a punch with 2 hole sizes", advice)
    names = [known.get("name") for _, known in _rows(tables, "printers")]
    usable = sorted({name for name in names if name} | {NO_PRINTER})
    if "printer" in page and page["printer"] not in usable and None not in names:
        advice = "correct it, or store that printer's bars"
        limit = f"must be {' or '.join(usable)}"
        yield Problem("page.printer", page["printer"], limit, advice, "sheetmark printer set")
    yield from _repeated(tables, "sheets", "", _sheet_name)
    yield from _repeated(tables, "tray", ".label", lambda known: known.get("label", ""))
    yield from _repeated(tables, "printers", ".name", lambda known: known.get("name", ""))


def _rows(tables: Mapping[str, _Known], where: str) -> list[tuple[str, _Known]]:
    return [(key, known) for key, known in tables.items() if key.partition("[")[0] == where]


def _sheet_name(known: _Known) -> str:
    whole = known.keys() == set(SheetRow.__struct_fields__)
    return SheetRow(**known).record().name if whole else ""


def _first_sheet_on_page(page: _Known, first: _Known) -> Iterator[Problem]:
    if not ({"paper", "margin_mm"} <= page.keys() and {"width_mm", "height_mm"} <= first.keys()):
        return
    sheet, paper = Sheet(first["width_mm"], first["height_mm"]), PAPERS[page["paper"]]
    across, down = sheet_overflow_mm(paper, page["margin_mm"], sheet)
    if across or down:
        yield Problem(
            "sheets[1]",
            NODEFAULT,
            f"{sheet.name} mm on {paper.name} with margins of {page['margin_mm']:g} mm is too "
            f"large at true scale by {across:.1f} mm across and {down:.1f} mm down",
            "take smaller margins, other paper, or a smaller sheet as the first",
        )


def _repeated(
    tables: Mapping[str, _Known], where: str, key: str, name: Callable[[_Known], str]
) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    for row, known in _rows(tables, where):
        word = name(known)
        if word in seen:
            limit = f"the same as in row {seen[word]}"
            yield Problem(f"{row}{key}", word, limit, "remove one, or tell them apart")
        elif word:
            seen[word] = row.partition("[")[2].rstrip("]")

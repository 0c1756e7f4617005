"""How a practice file is laid out, and changing a value where it stands.

tomlkit reads a file into bodies, each a list of keys with their values and of what stands between
them. Here these lists are changed; what is not touched is written as it was.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from msgspec import structs

from sheetmark.practice.file.describe import item_of, keys_of, section_of
from sheetmark.practice.file.keys import PracticeFile
from sheetmark.practice.file.new_file import example_row, explained
from sheetmark.practice.file.sections import Section

# Slow to load, and only changing a file needs it.
if TYPE_CHECKING:
    from tomlkit import TOMLDocument
    from tomlkit.items import AoT, InlineTable, Item, Key, Table

    Body = list[tuple[Key | None, Item]]

Row = Mapping[str, Any]
# How much of two rows must be the same for one to be the other, changed.
_ALIKE = 0.5
_QUOTED = re.compile(r'"(?:\\.|[^"\\])*"|\'[^\']*\'')


class _NoPlaceError(Exception):
    """The file is laid out so that a value cannot be changed where it stands."""


def same(first: object, other: object) -> bool:
    """Whether two values are one to whoever reads the file: 10 is 10.0, but 1 is not true."""
    match first, other:
        case Mapping(), Mapping():
            return first.keys() == other.keys() and all(
                same(first[key], other[key]) for key in first
            )
        case list(), list():
            return len(first) == len(other) and all(map(same, first, other))
        case _:
            return isinstance(first, bool) == isinstance(other, bool) and first == other


def edited(text: str, before: Row, wanted: Row) -> str | None:
    """The text of a file, which holds `before`, changed so that it holds `wanted`, or None where
    its layout does not allow it. The caller reads the result back to be sure."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    windows = "\r\n" in text and text.count("\r\n") == text.count("\n")
    if windows:
        text = text.replace("\r\n", "\n")
    try:
        document = tomlkit.parse(text if text.endswith("\n") else f"{text}\n")
        for field in keys_of(PracticeFile):
            old, new = before.get(field.name), wanted.get(field.name)
            if same(old, new):
                continue
            section, row = section_of(field.type), section_of(item_of(field.type))
            if section:
                _store_section(document, field.name, section, old or {}, new or {})
            elif row:
                _store_rows(document, field, row, old, new)
            else:
                _put(document.body, PracticeFile, field.name, new)
        changed = tomlkit.dumps(document)
    except (TOMLKitError, _NoPlaceError):
        return None
    return changed.replace("\n", "\r\n") if windows else changed


def _names(form: type[Section]) -> tuple[str, ...]:
    return form.__struct_fields__


def _places(body: Body, name: str) -> list[int]:
    return [at for at, (key, _) in enumerate(body) if key is not None and key.key == name]


# --- one key ----------------------------------------------------------------------------------


def _store_section(
    document: TOMLDocument, name: str, form: type[Section], old: Row, new: Row
) -> None:
    from tomlkit.items import InlineTable, Table

    # A section may stand in several places, as in `page.paper = "a4"` line by line.
    tables = [document.body[at][1] for at in _places(document.body, name)]
    if not tables:
        tables = [_added_section(document, name)]
    for key in _names(form):
        if same(old.get(key), new.get(key)):
            continue
        table = next((found for found in tables if key in found), tables[0])  # type: ignore[operator]
        if not isinstance(table, Table | InlineTable):
            raise _NoPlaceError
        _store_key(table, form, key, new.get(key))


def _added_section(document: TOMLDocument, name: str) -> Table:
    import tomlkit

    table = tomlkit.table()
    _append(document.body, name, table)
    return table


def _append(body: Body, name: str, item: Item) -> None:
    from tomlkit.items import SingleKey

    if body:
        body.append((None, _blank()))
    body.append((SingleKey(name), item))


def _store_key(table: Table | InlineTable, form: type[Section], name: str, value: object) -> None:
    """Sets a key of a table, or takes it out where the value is None."""
    from tomlkit.items import InlineTable

    if not isinstance(table, InlineTable):
        _put(table.value.body, form, name, value)
    elif value is None:
        table.remove(name)
    else:
        table[name] = value


def _put(body: Body, form: type[Section], name: str, value: object) -> None:
    import tomlkit
    from tomlkit.items import Array, SingleKey

    places = _places(body, name)
    if not places:
        body.insert(_room(body, form, name), (SingleKey(name), tomlkit.item(value)))
        return
    (at,) = places
    key, old = body[at]
    if value is None:
        _take_out(body, at)
        return
    if isinstance(old, Array) and isinstance(value, list) and len(old) == len(value):
        for number, entry in enumerate(value):
            if not same(old[number], entry):
                old[number] = entry
        return
    body[at] = (key, _in_place_of(old, tomlkit.item(value)))


def _in_place_of(old: Item, new: Item) -> Item:
    """A new value with what stands around the old one, which itself holds no remark."""
    _refuse_remarks_in(old)
    new.trivia.indent, new.trivia.trail = old.trivia.indent, old.trivia.trail
    new.trivia.comment_ws, new.trivia.comment = old.trivia.comment_ws, old.trivia.comment
    return new


def _refuse_remarks_in(item: Item) -> None:
    if "#" in _QUOTED.sub("", item.as_string()):
        raise _NoPlaceError


def _take_out(body: Body, at: int) -> None:
    """Takes a key out; the remark beside it stays."""
    import tomlkit

    _, old = body[at]
    _refuse_remarks_in(old)
    if old.trivia.comment:
        body[at] = (None, tomlkit.comment(old.trivia.comment.removeprefix("#").strip()))
    else:
        del body[at]


def _room(body: Body, form: type[Section], name: str) -> int:
    """Where a key goes that is not stated yet: below its own example, else in the form's order."""
    from tomlkit.items import AoT, Comment, Table

    for at, (_, item) in enumerate(body):
        if isinstance(item, Comment) and item.trivia.comment.startswith(f"# {name} = "):
            return at + 1
    names = _names(form)
    for earlier in reversed(names[: names.index(name)]):
        for at in reversed(_places(body, earlier)):
            if not isinstance(body[at][1], Table | AoT):
                return at + 1
    return 0


# --- lists of rows ----------------------------------------------------------------------------


def _store_rows(
    document: TOMLDocument,
    field: structs.FieldInfo,
    form: type[Section],
    old: object,
    new: list[Row] | None,
) -> None:
    from tomlkit.items import AoT, Array

    body, name = document.body, field.name
    places = _places(body, name)
    if len(places) > 1:
        raise _NoPlaceError
    item = body[places[0]][1] if places else None
    rows = [row for row in old if isinstance(row, Mapping)] if isinstance(old, list) else []
    if isinstance(item, AoT) and new:
        _arrange(item, form, rows, new)
    elif isinstance(item, Array) and item and new:
        _arrange_inline(body, places[0], form, rows, new)
    else:
        if isinstance(item, AoT):
            body[places[0] : places[0] + 1] = _without_rows(item, field, form)
        elif item is not None:
            _take_out(body, places[0])
        if new:
            _append(body, name, _new_rows(form, new))
        elif new is not None:
            _put(body, PracticeFile, name, new)


def _new_rows(form: type[Section], rows: Sequence[Row]) -> AoT:
    import tomlkit

    made = tomlkit.aot()
    _arrange(made, form, [], rows)
    return made


def _arrange(listed: AoT, form: type[Section], old: Sequence[Row], new: Sequence[Row]) -> None:
    """Gives the tables of a list the new rows, each with the remarks of the row it was."""
    import tomlkit

    tables = list(listed.body)
    above, after = _detached(tables)
    arranged = []
    for row, was in zip(new, _origins(old, new), strict=True):
        table, before = (tomlkit.table(), {}) if was is None else (tables[was], old[was])
        _store_row(table, form, before, row)
        # What stands above the first row is about the whole list, and stays there.
        arranged.append((table, above[was] if was else [(None, _blank())]))
    if tables and arranged[0][0] is not tables[0]:
        first, remarks = arranged[0]
        first.value.body[:0] = [entry for entry in remarks if _is_remark(entry)]
        if _take_explanations(tables[0], form):
            _explain(first, form)
    for (table, _), (_, remarks) in zip(arranged, [*arranged[1:], (None, after)], strict=True):
        table.value.body.extend(remarks)
    listed.body[:] = [table for table, _ in arranged]


def _store_row(table: Table | InlineTable, form: type[Section], old: Row, new: Row) -> None:
    for name in _names(form):
        if not same(old.get(name), new.get(name)):
            _store_key(table, form, name, new.get(name))


def _detached(tables: Sequence[Table]) -> tuple[list[Body], Body]:
    """Takes off each table what belongs to what follows: from the first blank line below its keys.

    What stands above each row, nothing above the first, and what stands below the list.
    """
    between: list[Body] = [[]]
    for table in tables:
        body = table.value.body
        last = max((at for at, (key, _) in enumerate(body) if key is not None), default=-1)
        end = next((at for at in range(last + 1, len(body)) if _is_blank(body[at])), len(body))
        between.append(body[end:])
        del body[end:]
    return between[:-1] or [[]], between[-1]


def _origins(old: Sequence[Row], new: Sequence[Row]) -> list[int | None]:
    """For each new row the old row that it was: the same, or else the most alike."""

    def likeness(first: Row, other: Row) -> float:
        keys = first.keys() | other.keys()
        return sum(
            key in first and key in other and same(first[key], other[key]) for key in keys
        ) / (len(keys) or 1)

    pairs = sorted(
        (-alike, was != at, at, was)
        for at, row in enumerate(new)
        for was, other in enumerate(old)
        if (alike := likeness(row, other)) >= _ALIKE
    )
    found: dict[int, int] = {}
    # Where there are as many rows as before, one that is like no other is the one in its place.
    in_place = [(at, at) for at in range(len(new)) if len(new) == len(old)]
    for at, was in [*((at, was) for _, _, at, was in pairs), *in_place]:
        if at not in found and was not in found.values():
            found[at] = was
    return [found.get(at) for at in range(len(new))]


def _without_rows(listed: AoT, field: structs.FieldInfo, form: type[Section]) -> Body:
    """What is left where a list of tables stood: an example if there was one, and what follows."""
    tables = list(listed.body)
    _, after = _detached(tables)
    if not _take_explanations(tables[0], form):
        return after
    return [*((None, _remark(line)) for line in example_row(field)), *after]


def _arrange_inline(
    body: Body, at: int, form: type[Section], old: Sequence[Row], new: Sequence[Row]
) -> None:
    """The same for a list in brackets, where rows can only be changed in place or added."""
    import tomlkit
    from tomlkit.items import Array, InlineTable

    key, array = body[at]
    assert isinstance(array, Array)
    kept = _origins(old, new)[: len(array)] == list(range(len(array)))
    if not kept:
        written = array.as_string()
        array, stale = tomlkit.array(), array
        array.multiline("\n" in written)
        body[at] = (key, _in_place_of(stale, array))
    for number, row in enumerate(new):
        if number < len(array):
            table = array[number]
            if not isinstance(table, InlineTable):
                raise _NoPlaceError
            _store_row(table, form, old[number], row)
        else:
            added = tomlkit.inline_table()
            added.update({name: row[name] for name in _names(form) if name in row})
            array.append(added)


# --- remarks ----------------------------------------------------------------------------------


def _blank() -> Item:
    import tomlkit

    return tomlkit.nl()


def _remark(line: str) -> Item:
    import tomlkit

    return tomlkit.comment(line.removeprefix("# "))


def _is_blank(entry: tuple[Key | None, Item]) -> bool:
    from tomlkit.items import Whitespace

    return isinstance(entry[1], Whitespace)


def _is_remark(entry: tuple[Key | None, Item]) -> bool:
    from tomlkit.items import Comment

    return isinstance(entry[1], Comment)


def _take_explanations(table: Table, form: type[Section]) -> bool:
    """Takes the remarks that a new file has on each key out of a row; whether there were any."""
    lines = {line for field in keys_of(form) for line in explained(field, stated=False)}
    body = table.value.body
    kept = [entry for entry in body if not (_is_remark(entry) and entry[1].trivia.comment in lines)]
    found = len(kept) < len(body)
    body[:] = kept
    return found


def _explain(table: Table, form: type[Section]) -> None:
    """Puts a remark on each key into a row, as a new file has them in its first."""
    body, at = table.value.body, 0
    for field in keys_of(form):
        places = _places(body, field.name)
        at = places[0] if places else at
        lines = explained(field, stated=bool(places))
        body[at:at] = [(None, _remark(line)) for line in lines]
        at += len(lines) + bool(places)

"""Where figures from outside come from, and how sure we are of them.

The bibliography holds every citation once, under a key. A data file lists the keys it uses under
`[cites]`, each with the place in it ("" for none), and each of its rows names one of them beside
a flag of its own. A clinic's own arch model may write its sources out, under `[sources]`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Annotated, Literal, TypeVar

import msgspec

from sheetmark.base.findings import InputError
from sheetmark.base.toml import as_record, load_toml, read_toml

Flag = Literal["S", "S2", "M", "D", "P", "measured", "common practice", "assumption"]

MEANING: dict[Flag, str] = {
    "S": "seen in print",
    "S2": "seen in a secondary source that credits the first",
    "M": "from memory, not checked against the page",
    "D": "derived here, recomputed by a test",
    "P": "summed up from a public set of landmarks or meshes, the sample named",
    "measured": "measured by the user",
    "common practice": "common practice, no source",
    "assumption": "an assumption of sheetmark's",
}
# What stands behind a citation in print, where the bibliography has no words of its own for it.
_IN_PRINT: dict[Flag, str] = {
    "S": "seen in print",
    "S2": "secondary source",
    "M": "from memory",
    "P": "summed up from a public set",
}
# From the surest down. No row is surer of a figure than we are of the source that it cites.
_SUREST_FIRST: tuple[Flag, ...] = ("S", "S2", "M", "assumption")
_PLACE = "{place}"

Text = Annotated[str, msgspec.Meta(min_length=1)]
_Record = TypeVar("_Record", bound=msgspec.Struct)


class Sourced(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A row of data: the key of its source, and how sure we are of its figures."""

    source: Text
    flag: Flag

    @property
    def label(self) -> str:
        """What tells the row from its neighbours in a message; nothing where its key does."""
        return ""


class Source(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An entry of the bibliography; the file says what each field is for."""

    citation: Text
    seen: Flag
    how: str | None = None
    short: str = ""

    def name(self, place: str = "") -> str:
        """The citation with the place in it. Raises ValueError where one is missing or too much."""
        if (_PLACE in self.citation) != bool(place):
            wanted = "name the place in it" if _PLACE in self.citation else 'has no place, write ""'
            raise ValueError(wanted)
        return self.citation.replace(_PLACE, place)

    def with_surety(self, name: str) -> str:
        """A name with how sure we are of the source, in brackets."""
        how = _IN_PRINT[self.seen] if self.how is None else self.how
        return f"{name} ({how})" if how else name


@cache
def bibliography() -> Mapping[str, Source]:
    """Every source by its key."""
    path = Path(__file__).with_name("bibliography.toml")
    return read_toml(path, "bibliography.toml", dict[str, Source])


def cite(key: str, place: str = "") -> str:
    """A citation as it is printed, with how sure we are. Raises KeyError for an unknown key."""
    source = bibliography()[key]
    return source.with_surety(source.name(place))


def cite_short(key: str) -> str:
    """The same by the source's short name, for pages with little room."""
    source = bibliography()[key]
    return source.with_surety(short_name(key))


def citation(key: str) -> str:
    """A citation alone, where the flag of a row stands beside it. Raises KeyError as `cite`."""
    return bibliography()[key].name()


def short_name(key: str) -> str:
    """A source's short name alone."""
    return bibliography()[key].short or citation(key)


def read_sourced(path: Path, shown: str, kind: type[_Record], holds: str = "") -> _Record:
    """A data file as a record whose field `sources` has the text of each source by its key.

    Raises InputError, one line that names file and key, for what `read_toml` refuses, a source
    that is not in the bibliography, and a row that cites none of the file's sources or is surer
    than its source.
    """
    data = load_toml(path, shown, holds)
    cites, own = data.pop("cites", {}), data.get("sources", {})
    texts = _texts(cites, f"{shown}: cites")
    if isinstance(own, dict):
        for key in texts.keys() & own.keys():
            raise InputError(f"{shown}: sources: {key!r} is under [cites] too; remove one of them")
        data["sources"] = texts | own
    record = as_record(data, shown, kind)
    for where, row in sourced_rows(record):
        at = f"{shown}: {where}{row.label}"
        if row.source not in data["sources"]:
            raise InputError(
                f"{at}: source {row.source!r} is not under [cites] or [sources]; add it there"
            )
        if row.source in cites:
            _check_flag(row, at)
    return record


def sourced_rows(value: object, where: str = "") -> Iterator[tuple[str, Sourced]]:
    """Every row of a record that names a source, with its key in the file."""
    if isinstance(value, Sourced):
        yield where, value
    elif isinstance(value, msgspec.Struct):
        for field in value.__struct_fields__:
            yield from sourced_rows(getattr(value, field), f"{where}.{field}".lstrip("."))
    elif isinstance(value, tuple):
        for number, item in enumerate(value):
            yield from sourced_rows(item, f"{where}[{number}]")


def _texts(cites: object, shown: str) -> dict[str, str]:
    """The text of each source in a file's table of keys and places."""
    if not isinstance(cites, dict) or not all(isinstance(place, str) for place in cites.values()):
        raise InputError(f'{shown}: give each key the place in it as text, "" for none')
    return {key: _cited(key, place, shown) for key, place in cites.items()}


def _cited(key: str, place: str, shown: str) -> str:
    try:
        return cite(key, place)
    except KeyError:
        raise InputError(
            f"{shown}: {key!r} is not in the bibliography; write the source under [sources]"
        ) from None
    except ValueError as error:
        raise InputError(f"{shown}: {key}: {error}") from None


def _check_flag(row: Sourced, at: str) -> None:
    seen = bibliography()[row.source].seen
    if row.flag not in _SUREST_FIRST or seen not in _SUREST_FIRST:
        return
    if _SUREST_FIRST.index(row.flag) < _SUREST_FIRST.index(seen):
        raise InputError(f"{at}: flag {row.flag} is surer than its source, which is {seen}")

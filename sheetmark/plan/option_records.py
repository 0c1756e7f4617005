"""What an option is: how a choice is named, typed, read, and written into a recipe."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from keyword import iskeyword
from typing import Any, Literal, TypeAlias

from msgspec import Struct

from sheetmark.anatomy.teeth import Notation
from sheetmark.case.case import Case
from sheetmark.practice.settings import Practice

Kind = Literal["text", "texts", "whole", "number", "flag", "switch"]
# What a person chose, as typed, by the option's name. None, or no entry: not chosen.
Choices: TypeAlias = Mapping[str, Any]


class Column(Struct, frozen=True):
    """A column of the day's list, and its place among them all, from 1.

    Options that share a column stand together in its cells. `wrong` says of a cell that does not
    hold a whole number what it should hold.
    """

    name: str
    place: int
    wrong: str = ""


class Option(Struct, frozen=True, kw_only=True):
    """A choice under its name, `--name` unless `flag` says otherwise; `metavar` stands for what is
    typed behind it.

    `kind`: text; texts, which may be given again and again; a whole number; a number; a flag; a
    switch, which is a flag and its opposite. `usual` holds where nothing is chosen, None where a
    rule or the practice file decides then. `choices` are all that there are, `offered` names that
    the command line completes where others may do as well. `on_page` options are part of the
    page's address.
    """

    name: str
    help: str
    metavar: str = ""
    kind: Kind = "text"
    flag: str = ""
    usual: Any = None
    choices: tuple[str, ...] = ()
    offered: Callable[[], Iterable[str]] | None = None
    column: Column | None = None
    on_page: bool = False

    @property
    def flags(self) -> str:
        """What is typed: `--name`, or a switch's two flags with a slash between them."""
        return self.flag or f"--{self.name}"

    @property
    def parameter(self) -> str:
        """The name as Python can write it: `with_` for `with`."""
        name = self.name.replace("-", "_")
        return f"{name}_" if iskeyword(name) else name


class CaseOption(Option, frozen=True, kw_only=True):
    """A choice that becomes a field of `Case`, and a key of the case file.

    `read` takes what was typed and the notation of its teeth, and raises InputError; it gets
    `usual` too, where that is not None. `write` is
    the text for a recipe, empty where the case has what is usual.
    """

    field: str
    read: Callable[[Any, Notation], Any]
    write: Callable[[Case], str]


class SettingOption(Option, frozen=True, kw_only=True):
    """A choice that stands in for a field of `Practice`.

    `read` takes what was typed, and raises InputError. `write` is the text for a recipe, empty
    where no option can say it. `keys` are those of the practice file that it stands in for.
    """

    field: str
    read: Callable[[Any], Any]
    write: Callable[[Practice], str]
    keys: tuple[str, ...]

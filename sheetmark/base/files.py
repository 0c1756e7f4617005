"""Files: which ending a name has, reading them within a limit, writing them whole or not at all.

One rule for every file that is written:

- All files of one call are complete beside their places before the first takes its place, and an
  error puts back those that had.
- A file that was read, one of another kind, and one that is read-only are replaced only by force;
  a folder, a device or a pipe never.
- A link stays a link: the file that it leads to is replaced, or made. Of several hard links the one
  that is named leads to the new file, the others keep the old one.
"""

from __future__ import annotations

import os
import shutil
import stat
import time
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from msgspec import Struct

from sheetmark.base.file_kinds import HEAD_BYTES, kind_of, kind_of_ending, name_of_kind
from sheetmark.base.findings import Action, Choice, InputError

Writer = Callable[[BinaryIO], None]
_FORCE = (Action(Choice.FORCE),)
# What a run that was killed leaves beside its output; it is removed at the next run to the same
# output. No run is without a new byte for that long (assumption).
PART_ENDING = ".sheetmark-part"
PART_SECONDS = 600.0


def ending_of(what: str, name: str, endings: Sequence[str]) -> str:
    """Which of the endings, such as `.pdf`, a file's name has; the longest one that fits.

    `what` says in a message which file is meant. Raises InputError for any other name; a name
    that is nothing but an ending is a hidden file, and a slip.
    """
    bare = Path(name).name.lower()
    fitting = [ending for ending in endings if bare.endswith(ending) and bare != ending]
    if not fitting:
        raise InputError(f"{what} {name!r}: must end in {listed(endings)}")
    return max(fitting, key=len)


def pdf_path(name: str, *, read: Collection[Path] = (), force: bool = False) -> Path:
    """The path of an output that is a PDF alone. Raises InputError as `outputs` does."""
    (path,) = outputs([name], (".pdf",), read=read, force=force)
    return path


def listed(endings: Sequence[str]) -> str:
    """The endings as a person says them: `.pdf, .svg or .json`."""
    return " or ".join(filter(None, [", ".join(endings[:-1]), endings[-1]]))


def outputs(
    names: Iterable[str],
    endings: Sequence[str],
    what: str = "output",
    *,
    kind: str = "",
    read: Collection[Path] = (),
    force: bool = False,
) -> dict[Path, str]:
    """The files to write, each once, with their endings; `kind` is that of JSON, TOML and CSV.

    Raises InputError for another ending, for a place where no file can be, and for a file that may
    not be replaced, so that nobody waits for what cannot be written.
    """
    found = {Path(name): ending_of(what, name, endings) for name in dict.fromkeys(names)}
    for path, place in _places(found).items():
        if not force:
            with _naming(path):
                _check_replaced(path, place, read)
                _check_kind(path, place, kind_of_ending(found[path], kind))
    return found


def shortened(text: str, most: int) -> str:
    """Text as a message shows it, no longer than that."""
    return text if len(text) <= most else f"{text[: most - 1]}…"


def read_file(path: Path, shown: str, most_bytes: int) -> bytes:
    """A file's bytes; `shown` is its name in messages.

    Raises InputError for a file that cannot be read, and for one larger than `most_bytes`: a slip
    in the name must not fill the memory.
    """
    content = read_within(path, shown, most_bytes)
    if content is None:
        raise InputError(
            f"{shown}: more than {most_bytes:,} bytes, too large for what it should be; check that "
            f"it is the right file"
        )
    return content


def read_within(path: Path, shown: str, most_bytes: int) -> bytes | None:
    """The same, but None for a file that is too large."""
    try:
        with path.open("rb") as file:
            if os.fstat(file.fileno()).st_size > most_bytes:
                return None
            content = file.read(most_bytes + 1)  # a pipe has no size before it ends
            return content if len(content) <= most_bytes else None
    except OSError as error:
        raise InputError(f"{shown}: cannot be read ({error.strerror}); check the path") from error
    except ValueError as error:
        raise InputError(f"{shown!r}: not a file name; check the path") from error


def write_all(
    contents: Mapping[Path, bytes], *, read: Collection[Path] = (), force: bool = False
) -> None:
    """Write every file, by the rule above; `read` are the files that were read for them.

    Raises InputError, with nothing half written, when the rule, a folder or a disk does not allow
    it.
    """
    writers = {path: _whole(content) for path, content in contents.items()}
    write_each(writers, read=read, force=force)


def _whole(content: bytes) -> Writer:
    def write(file: BinaryIO) -> None:
        file.write(content)

    return write


def write_each(
    writers: Mapping[Path, Writer], *, read: Collection[Path] = (), force: bool = False
) -> None:
    """Write every file by a function of its own, for files too long to hold in memory.

    An error that a function raises reaches the caller, with no file changed. Raises InputError as
    `write_all` does.
    """
    places = _places(writers)
    staged: list[_Staged] = []
    try:
        for path, place in places.items():
            with _naming(path):
                _remove_leftovers(place)
                if not force:
                    _check_replaced(path, place, read)
                staged.append(_Staged(path, place, _written_beside(place, writers[path])))
                if not force:
                    _check_kind(path, place, kind_of(_head(staged[-1].new)))
        _take_places(staged)
    finally:
        for file in staged:
            with suppress(OSError):
                file.new.unlink()


class _Staged(Struct, frozen=True):
    """A complete file: as the person named it, its place with links followed, where it waits."""

    named: Path
    place: Path
    new: Path


@contextmanager
def _naming(path: Path) -> Iterator[None]:
    """Turns what the system refuses into one line about the file."""
    try:
        yield
    except OSError as error:
        raise InputError(
            f"{path}: cannot be written ({error.strerror or error}); "
            f"check the folder, its permissions and the free space"
        ) from error
    except (ValueError, RuntimeError) as error:  # NUL in a name; a ring of links
        if isinstance(error, InputError):
            raise
        raise InputError(f"{str(path)!r}: not a file name; check the path") from error


def _places(paths: Iterable[Path]) -> dict[Path, Path]:
    """Where each file goes, links followed. Raises InputError where no file can be."""
    places: dict[Path, Path] = {}
    for path in paths:
        with _naming(path):
            mode = _mode(path)  # a name that is no file name fails here
            place = Path(os.path.realpath(path))
            if mode is None:
                if not stat.S_ISDIR(place.parent.stat().st_mode):
                    raise NotADirectoryError(20, os.strerror(20))
            elif stat.S_ISDIR(mode):
                raise IsADirectoryError(21, "it is a folder")
            elif not stat.S_ISREG(mode):
                raise InputError(f"{path}: a device or a pipe, not a file; name a file")
        for other, taken in places.items():
            if place == taken or (mode is not None and _same(place, taken)):
                raise InputError(f"{path}: the same file as {other}; name another")
        places[path] = place
    return places


def _same(first: Path, other: Path) -> bool:
    try:
        return first.samefile(other)
    except (OSError, ValueError):
        return False


def _check_replaced(path: Path, place: Path, read: Iterable[Path]) -> None:
    mode = _mode(place)
    if mode is None:
        return
    if any(_same(place, other) for other in read):
        raise InputError(
            f"{path}: is read by this command; name another file, or replace it", actions=_FORCE
        )
    if not mode & stat.S_IWUSR:
        raise InputError(f"{path}: is read-only; name another file, or replace it", actions=_FORCE)


def _check_kind(path: Path, place: Path, new: str) -> None:
    head = _head(place)
    old = kind_of(head)
    if not head or old == new != "":
        return
    raise InputError(
        f"{path}: there is {name_of_kind(old)}, and {name_of_kind(new)} is to be written; name "
        f"another file, or replace it",
        actions=_FORCE,
    )


def _head(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(HEAD_BYTES)
    except FileNotFoundError:
        return b""


def _written_beside(place: Path, writer: Writer) -> Path:
    old_mode = _mode(place)
    part = _part(place)

    def opened(name: str, flags: int) -> int:
        # A new file follows the user's mask, one that was private is private from the first byte.
        return os.open(name, flags, 0o666 if old_mode is None else old_mode & 0o777)

    try:
        with open(part, "xb", opener=opened) as file:
            writer(file)
            file.flush()
            os.fsync(file.fileno())
        if old_mode is not None:
            part.chmod(old_mode & 0o777)
    except BaseException:
        with suppress(OSError):
            part.unlink()
        raise
    return part


def _take_places(staged: Sequence[_Staged]) -> None:
    """Every file takes its place, or none does."""
    kept: dict[Path, Path] = {}
    begun: list[_Staged] = []
    try:
        for file in staged:
            with _naming(file.named):
                # A single file takes its place in one step.
                if len(staged) > 1 and file.place.exists():
                    kept[file.place] = _second_name(file.place)
                begun.append(file)
                file.new.replace(file.place)
    except BaseException as error:
        lost = [line for file in reversed(begun) for line in _put_back(file, kept)]
        if lost:
            raise InputError(str(error), *lost) from error
        raise
    finally:
        for old in kept.values():
            with suppress(OSError):
                old.unlink()


def _put_back(file: _Staged, kept: dict[Path, Path]) -> Iterator[str]:
    """Undo what was begun; a line where that is not possible."""
    old = kept.get(file.place)
    try:
        if old is not None:
            old.replace(file.place)
        elif not file.new.exists():
            file.place.unlink()
    except OSError as error:
        kept.pop(file.place, None)
        where = f"the old file is {old}" if old else "the new file is there"
        yield f"{file.named}: could not be put back ({error.strerror}); {where}"


def _second_name(place: Path) -> Path:
    """Another name for a file, or a copy of it where the disk knows no second names."""
    second = _part(place)
    try:
        second.hardlink_to(place)
    except OSError:
        shutil.copy2(place, second)
    return second


def _part(place: Path) -> Path:
    return place.with_name(f"{_part_start(place)}{os.urandom(4).hex()}{PART_ENDING}")


def _part_start(place: Path) -> str:
    return f".{place.name[:40]}."


def _remove_leftovers(place: Path) -> None:
    """Remove what runs that were killed have left; it may hold references."""
    start, oldest = _part_start(place), time.time() - PART_SECONDS
    with suppress(OSError), os.scandir(place.parent) as entries:
        for entry in entries:
            if not (entry.name.startswith(start) and entry.name.endswith(PART_ENDING)):
                continue
            with suppress(OSError):
                if entry.stat(follow_symlinks=False).st_mtime < oldest:
                    Path(entry.path).unlink()


def _mode(path: Path) -> int | None:
    try:
        return path.stat().st_mode
    except FileNotFoundError:
        return None

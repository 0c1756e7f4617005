"""Files: which ending a name has, and writing them whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from stat import S_ISDIR
from typing import BinaryIO

from sheetmark.base.findings import InputError

Writer = Callable[[BinaryIO], None]


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


def pdf_path(name: str) -> Path:
    """The path of an output that is a PDF alone. Raises InputError for another ending."""
    ending_of("output", name, (".pdf",))
    return Path(name)


def listed(endings: Sequence[str]) -> str:
    """The endings as a person says them: `.pdf, .svg or .json`."""
    return " or ".join(filter(None, [", ".join(endings[:-1]), endings[-1]]))


def outputs(names: Iterable[str], endings: Sequence[str]) -> dict[Path, str]:
    """The files to write, each once, with their endings. Raises InputError as `ending_of` does."""
    return {Path(name): ending_of("output", name, endings) for name in dict.fromkeys(names)}


def write_all(contents: Mapping[Path, bytes]) -> None:
    """Write every file; an old one is replaced only when all new ones are complete.

    Raises InputError, with nothing half written, when a folder or disk does not allow it.
    """
    write_each({path: _whole(content) for path, content in contents.items()})


def _whole(content: bytes) -> Writer:
    def write(file: BinaryIO) -> None:
        file.write(content)

    return write


def write_each(writers: Mapping[Path, Writer]) -> None:
    """Write every file by a function of its own, for files too long to hold in memory.

    An old file is replaced only when all new ones are complete. An error that a function raises
    reaches the caller, with no file changed. Raises InputError as `write_all` does.
    """
    ready: list[tuple[Path, Path]] = []
    try:
        for path, writer in writers.items():
            ready.append((_written_beside(path, writer), path))
        for temporary, path in ready:
            temporary.replace(path)
    except OSError as error:
        raise InputError(
            f"{path}: cannot be written ({error.strerror or error}); "
            f"check the folder, its permissions and the free space"
        ) from error
    finally:
        for temporary, _ in ready:
            with suppress(OSError):
                temporary.unlink()


def _written_beside(path: Path, writer: Writer) -> Path:
    old_mode = _mode(path)  # a name that is no file name fails here, before anything is written
    if old_mode is not None and S_ISDIR(old_mode):
        raise IsADirectoryError(21, "it is a folder")
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}-")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            writer(file)
            file.flush()
            os.fsync(file.fileno())
        # mkstemp makes private files; ours get the usual permissions.
        temporary.chmod(0o666 & ~_umask() if old_mode is None else old_mode & 0o777)
    except BaseException:
        with suppress(OSError):
            temporary.unlink()
        raise
    return temporary


def _mode(path: Path) -> int | None:
    try:
        return path.stat().st_mode
    except FileNotFoundError:
        return None
    except ValueError as error:
        raise InputError(f"{str(path)!r}: not a file name; check the path") from error


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask

"""Writing files whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from sheetmark.findings import InputError


def write_all(contents: Mapping[Path, bytes]) -> None:
    """Write every file; an old one is replaced only when all new ones are complete.

    Raises InputError, with nothing half written, when a folder or disk does not allow it.
    """
    ready: list[tuple[Path, Path]] = []
    try:
        for path, content in contents.items():
            ready.append((_written_beside(path, content), path))
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


def _written_beside(path: Path, content: bytes) -> Path:
    if path.is_dir():
        raise IsADirectoryError(21, "it is a folder")
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}-")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        # mkstemp makes private files; a page is as open as any other file of the user's.
        temporary.chmod(path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask())
    except BaseException:
        with suppress(OSError):
            temporary.unlink()
        raise
    return temporary


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask

"""A file that is read, changed and written again is changed by one at a time, here and in other
processes: none of two changes at once is lost."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sheetmark.base.findings import InputError

# A change takes milliseconds (assumption).
_SECONDS = 10.0


@contextmanager
def one_at_a_time(path: Path) -> Iterator[None]:
    """Hold the file alone, by a lock beside it whose name begins with a dot.

    Raises InputError where another process holds it for too long, or the folder takes no lock.
    """
    # Loaded here: only what changes a file needs it.
    from filelock import FileLock, Timeout

    place = path.resolve()
    lock = FileLock(place.with_name(f".{place.name[:40]}.lock"), timeout=_SECONDS)
    try:
        place.parent.stat()  # the lock would make a folder that is missing
        lock.acquire()
    except Timeout as error:
        raise InputError(f"{path}: another sheetmark is changing it; try again") from error
    except (OSError, NotImplementedError) as error:
        raise InputError(
            f"{path}: cannot be written ({getattr(error, 'strerror', None) or error}); "
            f"check the folder, its permissions and the free space"
        ) from error
    try:
        yield
    finally:
        lock.release()

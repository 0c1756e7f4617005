"""Python sources as bytecode for the core, compiled by the core itself in Node.js.

Starting from sources takes more than twice as long.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Mapping
from importlib.resources import as_file, files
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from zipfile import ZipFile, ZipInfo

from sheetmark.base.findings import InputError
from sheetmark.desk.single.core import Core

# Files that read their own source when they are imported.
_KEPT = ("anyio/__init__.py",)
_MOST_SECONDS = 300
_MOST_LETTERS = 500


def as_bytecode(core: Core, content: Mapping[str, bytes]) -> dict[str, bytes]:
    """The same files with bytecode in place of sources; what is no source stays.

    Raises InputError where there is no Node.js, or where the core does not run in it.
    """
    node = shutil.which("node")
    if node is None:
        raise InputError("node: not found; install Node.js, which builds the page")
    sources = {name for name in content if name.endswith(".py") and not name.endswith(_KEPT)}
    with TemporaryDirectory() as folder:
        place = Path(folder)
        for name, data in core.parts.items():
            (place / name).write_bytes(data)
        (place / "sources.zip").write_bytes(stored({n: content[n] for n in sorted(sources)}))
        with as_file(files("sheetmark.desk.single") / "compile.mjs") as script:
            names = (place, place / "sources.zip", place / "compiled.zip")
            _run([node, str(script), *map(str, names)])
        with ZipFile(place / "compiled.zip") as compiled:
            made = {name: compiled.read(name) for name in compiled.namelist()}
    return {name: data for name, data in content.items() if name not in sources} | made


def stored(content: Mapping[str, bytes]) -> bytes:
    """The files as a zip archive, not compressed, the same for the same files."""
    archive = BytesIO()
    with ZipFile(archive, "w") as zipped:
        for name, data in content.items():
            zipped.writestr(ZipInfo(name), data)  # whose date is always the same
    return archive.getvalue()


def _run(command: list[str]) -> None:
    try:
        done = subprocess.run(
            command, capture_output=True, text=True, timeout=_MOST_SECONDS, check=False
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise InputError(f"node: cannot run the core ({error})") from error
    if done.returncode:
        # The core's own script is one line, and comes along.
        lines = [line.strip() for line in done.stderr.splitlines() if 0 < len(line) < _MOST_LETTERS]
        raise InputError(f"node: the core failed: {' '.join(lines)[:_MOST_LETTERS]}")

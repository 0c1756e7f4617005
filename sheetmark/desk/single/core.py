"""The folder with what runs Python inside a browser: fetched once, when the page is built.

It holds the package that npm packs and, for each library that is compiled, its wheel for that core
in the version that is installed here.
"""

from __future__ import annotations

import json
import tarfile
from collections.abc import Sequence
from importlib.metadata import Distribution
from io import BytesIO
from pathlib import Path, PurePosixPath
from zipfile import BadZipFile, ZipFile

from msgspec import Struct

from sheetmark.base.findings import InputError

VERSION = "314.0.7"
PYTHON = "3.14"
_TAG, _PLATFORM = "cp314", "pyemscripten_2026_0_wasm32"
_ARCHIVE = f"pyodide-{VERSION}.tgz"
_LIBRARY = "python_stdlib.zip"
_LOCK = "pyodide-lock.json"
_PARTS = ("pyodide.mjs", "pyodide.asm.mjs", "pyodide.asm.wasm", _LIBRARY, _LOCK)


class Core(Struct, frozen=True, kw_only=True):
    """The parts of the core by their names, the files of Python's own library, and those of each
    compiled library's wheel."""

    parts: dict[str, bytes]
    library: dict[str, bytes]
    wheels: dict[str, bytes]


def read_core(folder: Path, compiled: Sequence[Distribution]) -> Core:
    """The core and the wheels of the compiled libraries.

    Raises InputError, with the commands that fetch it, where a part is missing.
    """
    archive = folder / _ARCHIVE
    wheels = {library: folder / _wheel(library) for library in compiled}
    missing = [path.name for path in (archive, *wheels.values()) if not path.is_file()]
    if missing:
        lines = [" ".join(command) for command in fetching(folder, compiled)]
        raise InputError(
            f"{folder}: {', '.join(missing)} missing; on a computer with Node.js type: "
            f"{' && '.join(lines)}"
        )
    try:
        with tarfile.open(archive) as packed:
            parts = {name: _part(packed, name) for name in _PARTS}
        with ZipFile(BytesIO(parts[_LIBRARY])) as zipped:
            names = [name for name in zipped.namelist() if not name.endswith("/")]
            library = {name: zipped.read(name) for name in names}
        # Its list of packages to fetch stays out: nothing is fetched.
        parts[_LOCK] = json.dumps({**json.loads(parts[_LOCK]), "packages": {}}).encode()
        content: dict[str, bytes] = {}
        for path in wheels.values():
            with ZipFile(path) as wheel:
                content |= {name: wheel.read(name) for name in wheel.namelist()}
    except (OSError, KeyError, ValueError, tarfile.TarError, BadZipFile) as error:
        raise InputError(f"{folder}: cannot be read ({error}); fetch it again") from error
    return Core(parts=parts, library=library, wheels=content)


def about_core() -> str:
    """Versions and licences of the core."""
    return (
        f"Pyodide {VERSION}: Mozilla Public License 2.0; its sources are the npm package pyodide "
        f"and the project of that name. Python {PYTHON}: PSF License Agreement."
    )


def fetching(folder: Path, compiled: Sequence[Distribution]) -> tuple[tuple[str, ...], ...]:
    """The commands that fill the folder, by the ordinary clients of the registries."""
    wheels = [f"{library.name}=={library.version}" for library in compiled]
    place = str(PurePosixPath(folder)) if folder.parts else "."
    return (
        ("npm", "pack", f"pyodide@{VERSION}", "--pack-destination", place),
        (
            *("python", "-m", "pip", "download", "--no-deps", "--only-binary=:all:"),
            *("--python-version", PYTHON, "--implementation", "cp", "--abi", _TAG),
            *("--platform", _PLATFORM, "--dest", place, *wheels),
        ),
    )


def _wheel(library: Distribution) -> str:
    name = library.name.replace("-", "_").lower()
    return f"{name}-{library.version}-{_TAG}-{_TAG}-{_PLATFORM}.whl"


def _part(packed: tarfile.TarFile, name: str) -> bytes:
    file = packed.extractfile(f"package/{name}")
    if file is None:
        raise KeyError(f"{name} is no file")
    return file.read()

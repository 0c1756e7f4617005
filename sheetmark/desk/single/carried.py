"""What the page in one file carries of the installed packages, and what stays out."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from msgspec import Struct

from sheetmark.anatomy.arch_model import data_folder
from sheetmark.base.findings import InputError

# The libraries that the application imports; what they need comes along.
_WANTED = (
    "fastapi",
    "filelock",
    "font-source-sans-pro",
    "msgspec",
    "platformdirs",
    "reportlab",
    "svgwrite",
    "tomlkit",
)
# Named by others and never used here: pictures, encodings of strangers, names of hosts.
_LEFT_OUT = {"charset-normalizer", "idna", "pillow"}
# ReportLab imports pictures at once.
_STANDING_IN = {"PIL/__init__.py": b"", "PIL/Image.py": b""}
# Parts that nothing here reaches.
_UNUSED = re.compile(
    r"(?:^|/)(?:tests?|testing|__pycache__)/"
    r"|^anyio/(?:_backends/_trio|pytest_plugin)\.py"
    r"|^font_source_sans_pro/files/(?!SourceSansPro-(?:Regular|Bold)\.ttf)"
    r"|^pydantic/(?:v1|_hypothesis_plugin|mypy)"
    r"|^reportlab/(?:fonts|graphics|platypus)/"
    r"|^starlette/(?:testclient|templating)\.py"
    r"|\.(?:pyi|pyx|pxd|c|h|so|pyd|css|md|txt|typed)$"
    r"|^[^/]+\.(?:dist|egg)-info/"
)
# Below sheetmark: the page comes as scripts, and nobody types a command.
_UNUSED_OWN = re.compile(
    r"^(?:cli|studies/coverage|desk/page|desk/single/page)/"
    r"|^desk/single/(?!__init__|inside)|^__main__\.py"
    r"|^desk/server/(?:serve|connections|door)\.py|__pycache__|\.html$"
)
# Of Python's own library: other programs, other protocols, tools for programmers.
_UNUSED_PYTHON = re.compile(
    r"^(?:__hello__|__phello__|_pyrepl|antigravity|bdb|cProfile|cmd|code|compileall|curses|dbm"
    r"|doctest|ensurepip|filecmp|fileinput|ftplib|idlelib|imaplib|lib2to3|mailbox|modulefinder"
    r"|multiprocessing|optparse|pdb|pickletools|plistlib|poplib|profile|pstats|pty|py_compile"
    r"|pyclbr|pydoc|pydoc_data|rlcompleter|sched|shelve|smtplib|socketserver|sqlite3|symtable"
    r"|tabnanny|this|timeit|tkinter|trace|tracemalloc|turtle|turtledemo|unittest|venv|wave"
    r"|webbrowser|wsgiref|xmlrpc|zipapp)(?:\.|/)"
)


class Carried(Struct, frozen=True, kw_only=True):
    """The files by their place in Python's folder of packages, the libraries they come from, and
    those of them that are compiled: their wheels are added."""

    files: dict[str, bytes]
    libraries: tuple[Distribution, ...]
    compiled: tuple[Distribution, ...]


@cache
def carried() -> Carried:
    """The application and every library that it needs, from what is installed here.

    Raises InputError where the extra for the page is not installed.
    """
    libraries = tuple(_libraries())
    found = dict(_STANDING_IN)
    for library in libraries:
        for file in library.files or ():
            name = file.as_posix()
            if not name.startswith("../") and not _UNUSED.search(name):
                found[name] = Path(file.locate()).read_bytes()
    own = _below(files("sheetmark"), "")
    found |= {f"sheetmark/{name}": data for name, data in own if not _UNUSED_OWN.search(name)}
    found |= {f"sheetmark/arch_models/{name}": data for name, data in _below(data_folder(), "")}
    compiled = tuple(library for library in libraries if _is_compiled(library))
    return Carried(files=found, libraries=libraries, compiled=compiled)


def is_used(name: str) -> bool:
    """Whether a file of Python's own library may be needed."""
    return not _UNUSED_PYTHON.search(name)


def is_used_of_wheel(name: str) -> bool:
    """Whether a file of a compiled library's wheel may be needed."""
    return name.endswith(".so") or not _UNUSED.search(name)


def licences(libraries: Sequence[Distribution]) -> str:
    """Name, version and licence of each library, with the texts that it carries."""
    parts = []
    for library in libraries:
        texts = [
            Path(file.locate()).read_text("utf-8")
            for file in library.files or ()
            if re.search(r"(?i)dist-info/(?:.*/)?(?:licen[cs]e|copying|notice)", file.as_posix())
        ]
        about = library.metadata.json
        kind = str(about.get("license_expression") or about.get("license") or "").partition("\n")[0]
        parts.append("\n\n".join([f"{library.name} {library.version} {kind}".strip(), *texts]))
    return f"\n\n{'-' * 72}\n\n".join(parts)


def _libraries() -> Iterator[Distribution]:
    """Every library that is wanted, and what those need in a browser."""
    from packaging.requirements import Requirement

    waiting, seen = list(_WANTED), set(_LEFT_OUT)
    while waiting:
        name = re.sub(r"[-_.]+", "-", waiting.pop(0)).lower()
        if name in seen:
            continue
        seen.add(name)
        try:
            library = distribution(name)
        except PackageNotFoundError as error:
            raise InputError(
                f'{name}: not installed; type: pip install "sheetmark[desk]"'
            ) from error
        yield library
        for text in library.requires or ():
            need = Requirement(text)
            if need.marker is None or need.marker.evaluate(_BROWSER):
                waiting.append(need.name)


# What the libraries' own conditions ask of the place where they run.
_BROWSER = {
    "extra": "",
    "implementation_name": "cpython",
    "os_name": "posix",
    "platform_machine": "wasm32",
    "platform_python_implementation": "CPython",
    "platform_system": "Emscripten",
    "python_full_version": "3.14.2",
    "python_version": "3.14",
    "sys_platform": "emscripten",
}


def _is_compiled(library: Distribution) -> bool:
    return any(file.suffix in (".so", ".pyd", ".dylib") for file in library.files or ())


def _below(folder: Traversable, prefix: str) -> Iterator[tuple[str, bytes]]:
    for entry in sorted(folder.iterdir(), key=lambda entry: entry.name):
        name = prefix + entry.name
        if entry.is_dir():
            yield from _below(entry, f"{name}/")
        else:
            yield name, entry.read_bytes()

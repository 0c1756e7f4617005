"""Libraries that only an extra brings, and what to say when one of them is not installed."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib.util import find_spec

from sheetmark.base.findings import InputError

# The extra of pyproject.toml that brings each library.
EXTRAS = {
    "ezdxf": "cut",
    "fastapi": "desk",
    "fontTools": "cut",
    "icalendar": "lists",
    "numpy": "compute",
    "openpyxl": "lists",
    "pillow_heif": "check",
    "pydantic": "desk",
    "pypdfium2": "slides",
    "scipy": "compute",
    "shapely": "cut",  # whoever computes misses numpy first
    "starlette": "desk",
    "trimesh": "scan",
    "uvicorn": "desk",
}


# Each part of the program that takes more than a plain install: its name in words, and what it
# loads.
PARTS = {
    "even": ("where the pull is most even", ("numpy", "scipy", "shapely")),
    "strain": ("how a sheet is stretched", ("numpy", "scipy", "shapely")),
    "why-the-middle-moves": ("the handout on the middle", ("numpy", "scipy", "shapely")),
    "check": ("photographs of punched sheets", ("numpy", "scipy")),
    "scan": ("scans of a jaw", ("numpy", "scipy", "trimesh")),
    "stencil": ("stencils for a cutter", ("ezdxf", "fontTools", "shapely")),
    "lists": ("lists from spreadsheets and calendars", ("icalendar", "openpyxl")),
}

# The page in one file carries no more than it needs, and installs nothing.
_IN_ONE_FILE = sys.platform == "emscripten"


def left_out() -> tuple[str, ...]:
    """The names of the parts that lack a library here."""
    return tuple(name for name, (_, needs) in PARTS.items() if any(map(_is_missing, needs)))


def left_out_line(names: Sequence[str]) -> str:
    """Which parts are left out and how to have them, in a line; empty for none."""
    if not names:
        return ""
    *before, last = (PARTS[name][0] for name in names)
    listed = f"{', '.join(before)} and {last}" if before else last
    if _IN_ONE_FILE:
        return f"Not in the page in one file: {listed}. The installed program has them."
    lacking = {lib for name in names for lib in PARTS[name][1] if _is_missing(lib)}
    extras = ",".join(sorted({EXTRAS[library] for library in lacking}))
    return f"Not installed here: {listed}. To add, type: {_installing(extras)}"


def not_installed(error: ModuleNotFoundError) -> InputError | None:
    """What to do about an import that failed, when an extra brings the library; else None."""
    library = (error.name or "").partition(".")[0]
    extra = EXTRAS.get(library)
    if extra is None:
        return None
    if _IN_ONE_FILE:
        return InputError("this is not in the page in one file; use the installed program")
    return InputError(f"{library} is not installed, and this needs it; type: {_installing(extra)}")


def _installing(extras: str) -> str:
    return f'"{sys.executable}" -m pip install "sheetmark[{extras}]"'


def _is_missing(library: str) -> bool:
    return find_spec(library) is None

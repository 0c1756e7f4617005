"""Libraries that only an extra brings, and what to say when one of them is not installed."""

from __future__ import annotations

import sys
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


# The page in one file carries no more than it needs, and installs nothing.
_IN_ONE_FILE = sys.platform == "emscripten"


def can_compute() -> bool:
    """Whether what the extra `compute` brings is installed here."""
    return find_spec("numpy") is not None and find_spec("scipy") is not None


def not_installed(error: ModuleNotFoundError) -> InputError | None:
    """What to do about an import that failed, when an extra brings the library; else None."""
    library = (error.name or "").partition(".")[0]
    extra = EXTRAS.get(library)
    if extra is None:
        return None
    if _IN_ONE_FILE:
        return InputError(
            f"not in this page, which does not carry {library}; use the installed program for it"
        )
    return InputError(
        f"{library} is not installed, and this needs it; "
        f'type: "{sys.executable}" -m pip install "sheetmark[{extra}]"'
    )

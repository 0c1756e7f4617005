"""Writing the page in one file, or the same page as a folder for a server."""

from __future__ import annotations

import json
from hashlib import sha256
from importlib.resources import files
from pathlib import Path

from sheetmark.base.files import write_all
from sheetmark.base.findings import InputError
from sheetmark.desk.single.bytecode import as_bytecode, stored
from sheetmark.desk.single.carried import carried, is_used, is_used_of_wheel, licences
from sheetmark.desk.single.core import Core, about_core, read_core
from sheetmark.desk.single.document import document

_LIBRARY = "python_stdlib.zip"


def save(target: Path, core_folder: Path, *, force: bool = False) -> dict[Path, int]:
    """Write the page to a file that ends in .html, or into a folder that is there for a server to
    hand out, from which browsers can install it. Gives the size of each file, bytes.

    Raises InputError for another target, and where the core or Node.js is missing.
    """
    served = target.is_dir()
    if not served and target.suffix.lower() != ".html":
        raise InputError(f"{target}: must end in .html, or be a folder to serve the page from")
    page = one_page(core_folder, served=served).encode()
    contents = {target: page}
    if served:
        contents = {target / name: data for name, data in _installable(page).items()}
        contents[target / "index.html"] = page
    write_all(contents, force=force)
    return {path: len(data) for path, data in contents.items()}


def one_page(core_folder: Path, *, served: bool = False) -> str:
    """The page as HTML. Raises InputError as `save` does."""
    packages = carried()
    core = read_core(core_folder, packages.compiled)
    texts = f"{about_core()}\n\n{'-' * 72}\n\n{licences(packages.libraries)}"
    return document(_parts(core, packages.files), texts, served=served)


def _parts(core: Core, packages: dict[str, bytes]) -> dict[str, bytes]:
    """The core's parts and the packages, with bytecode in place of sources."""
    wheels = {name: data for name, data in core.wheels.items() if is_used_of_wheel(name)}
    library = {name: data for name, data in core.library.items() if is_used(name)}
    content = {f"packages/{name}": data for name, data in (packages | wheels).items()}
    content |= {f"library/{name}": data for name, data in library.items()}
    made: dict[str, dict[str, bytes]] = {"packages": {}, "library": {}}
    for name, data in sorted(as_bytecode(core, content).items()):
        place, _, rest = name.partition("/")
        made[place][rest] = data
    return core.parts | {_LIBRARY: stored(made["library"])} | made["packages"]


def _installable(page: bytes) -> dict[str, bytes]:
    """What a browser needs beside the page to install it and to open it without the server."""
    script = (files("sheetmark.desk.single") / "page" / "offline.js").read_text("utf-8")
    manifest = {
        "name": "sheetmark",
        "short_name": "sheetmark",
        "start_url": "./",
        "display": "standalone",
        "background_color": "#ffffff",
        "theme_color": "#ffffff",
        "icons": [{"src": "icon.svg", "sizes": "any", "type": "image/svg+xml"}],
    }
    return {
        "offline.js": script.replace("VERSION", sha256(page).hexdigest()[:16]).encode(),
        "manifest.webmanifest": (json.dumps(manifest, indent=1) + "\n").encode(),
        "icon.svg": _ICON.encode(),
    }


# A sheet with four holes.
_ICON = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 96 96"><rect width="96" height="96" '
    'fill="#ffffff"/><rect x="10" y="10" width="76" height="76" fill="none" stroke="#14181a" '
    'stroke-width="6"/><g fill="#14181a"><circle cx="30" cy="58" r="8"/>'
    '<circle cx="38" cy="40" r="6"/><circle cx="54" cy="30" r="5"/>'
    '<circle cx="70" cy="28" r="4"/></g></svg>\n'
)

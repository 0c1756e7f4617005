"""Writing the page in one file, or the same page as a folder for a server."""

from __future__ import annotations

import json
from hashlib import sha256
from importlib.resources import files
from pathlib import Path

from sheetmark.base.files import outputs, write_all
from sheetmark.base.findings import InputError
from sheetmark.desk.server.pages import page_files
from sheetmark.desk.single.bytecode import as_bytecode, stored
from sheetmark.desk.single.carried import carried, is_used, is_used_of_wheel, licences
from sheetmark.desk.single.core import Core, about_core, read_core
from sheetmark.desk.single.document import document

_LIBRARY = "python_stdlib.zip"
_ICONS = "icons"


def save(target: Path, core_folder: Path, *, force: bool = False) -> dict[Path, int]:
    """Write the page to a file that ends in .html, or into a folder that is there, for a server to
    hand out and browsers to install. Gives the size of each file, bytes.

    Raises InputError for another target, and where the core or Node.js is missing.
    """
    served = target.is_dir()
    if not served and target.suffix.lower() != ".html":
        raise InputError(f"{target}: must end in .html, or be a folder to serve the page from")
    if not served:
        outputs([str(target)], (".html",), force=force)
    page = one_page(core_folder).encode()
    contents = {target: page}
    if served:
        contents = {target / name: data for name, data in installable(page).items()}
    write_all(contents, force=force)
    return {path: len(data) for path, data in contents.items()}


def one_page(core_folder: Path) -> str:
    """The page as HTML. Raises InputError as `save` does."""
    packages = carried()
    core = read_core(core_folder, packages.compiled)
    texts = f"{about_core()}\n\n{'-' * 72}\n\n{licences(packages.libraries)}"
    return document(_parts(core, packages.files), texts)


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


def installable(page: bytes) -> dict[str, bytes]:
    """The page and what a browser needs beside it, to install it and open it without the server."""
    own = page_files()
    script = (files("sheetmark.desk.single") / "page" / "offline.js").read_text("utf-8")
    manifest = json.loads(own[f"{_ICONS}/manifest.webmanifest"]) | {
        "start_url": "./",
        "scope": "./",
    }
    return {
        "index.html": page,
        "offline.js": script.replace("VERSION", sha256(page).hexdigest()[:16]).encode(),
        "manifest.webmanifest": (json.dumps(manifest, indent=1) + "\n").encode(),
        **{icon["src"]: own[f"{_ICONS}/{icon['src']}"] for icon in manifest["icons"]},
    }

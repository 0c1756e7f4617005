"""`sheetmark desk`: the chairside page, served on this machine."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from sheetmark.base.user_folder import default_path, practice_path
from sheetmark.cli.options import PRACTICE, Force, no_effect, takes
from sheetmark.plan.option_records import Choices

_PORT = 8152
_LOOPBACK = "127.0.0.1"


@takes(*PRACTICE)
def command(
    port: Annotated[
        int,
        typer.Option(
            metavar="PORT", help="Port to serve on; 0 takes any that is free.", min=0, max=65535
        ),
    ] = _PORT,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Do not open the page in a browser.")
    ] = False,
    host: Annotated[
        str,
        typer.Option(
            metavar="ADDRESS", help="Address to serve on; any but this machine's own is a risk."
        ),
    ] = _LOOPBACK,
    save: Annotated[
        str | None,
        typer.Option(
            metavar="FILE",
            help="Write the page as one .html file that needs no install; or into a folder, for a "
            "server.",
        ),
    ] = None,
    core: Annotated[
        str | None,
        typer.Option(
            metavar="FOLDER",
            help="For --save: where the browser's Python was fetched to (default: core).",
        ),
    ] = None,
    force: Force = False,
    *,
    choices: Choices,
) -> None:
    """Open the chairside page: click the tooth, see the sheet, print. Ctrl-C ends it."""
    if save is not None:
        _save(Path(save), Path(core or "core"), force=force)
        return
    if core is not None:
        raise no_effect("--core", "without --save", "--save x.html")
    name = choices["practice"]
    path = practice_path(name) or default_path()
    if name is not None:
        from sheetmark.practice.file.check import read_text

        read_text(path)
    from sheetmark.desk.server.serve import is_shared, serve

    shared = is_shared(host)

    def opened(address: str, code: str) -> None:
        own = address if shared else f"{address}?code={code}"
        if shared:
            print(
                f"warning: on {host} the page can be reached from other machines: whoever finds it "
                f"can look at cases and print; with the code below also change settings, punch and "
                f"printers; without --host it is this machine's alone",
                file=sys.stderr,
            )
            print(f"code for changes, to be typed at {address}unlock: {code}", file=sys.stderr)
        print(f"desk open at {own} (Ctrl-C ends it)", file=sys.stderr, flush=True)

    serve(path, host, port, opened, named=name is not None, browser=not no_browser)
    print("desk closed", file=sys.stderr)


def _save(target: Path, core: Path, *, force: bool) -> None:
    from sheetmark.desk.single.save import save

    for path, size in save(target, core, force=force).items():
        print(f"wrote {path} ({size / 1e6:.1f} MB)", file=sys.stderr)

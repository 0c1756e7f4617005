"""Running the desk on this machine until it is stopped."""

from __future__ import annotations

import secrets
import socket
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import uvicorn
from starlette.types import ASGIApp

from sheetmark.base.findings import InputError
from sheetmark.desk.server.app import make_app
from sheetmark.desk.server.connections import MOST, BoundedConnection
from sheetmark.desk.server.desk import Desk
from sheetmark.desk.server.first_use import use_once

LOOPBACK = "127.0.0.1"
_SECONDS_TO_FINISH = 3
_MOST_AT_ONCE = 4 * MOST  # requests at work; idle connections have made room before


def serve(
    practice_file: Path,
    host: str,
    port: int,
    opened: Callable[[str], None],
    *,
    named: bool = False,
    browser: bool,
) -> None:
    """Serve the page until Ctrl-C. `opened` gets the address once it can be reached; a practice
    file that was `named` must be there.

    Raises InputError where the host is not this machine's or the port is taken.
    """
    listener = _listen(host, port)
    with listener:
        at = listener.getsockname()[1]
        address = f"http://{_spelled(host)}:{at}/"
        desk = Desk(practice_file, secrets.token_urlsafe(32), frozenset(_hosts(host, at)), named)
        with suppress(InputError):  # the page shows what is wrong
            desk.practice_text()
        server = server_of(make_app(desk))
        use_once()
        opened(address)
        if browser:
            webbrowser.open(address)
        with suppress(KeyboardInterrupt):  # uvicorn raises it again once all is closed
            server.run(sockets=[listener])


def server_of(app: ASGIApp) -> uvicorn.Server:
    """What serves the page, here and in the tests that drive it."""
    return uvicorn.Server(
        uvicorn.Config(
            app,
            http=BoundedConnection,
            log_level="error",
            access_log=False,  # an address holds a case
            lifespan="off",
            ws="none",
            server_header=False,
            limit_concurrency=_MOST_AT_ONCE,
            timeout_graceful_shutdown=_SECONDS_TO_FINISH,
        )
    )


def _listen(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # Named TCP, or asyncio leaves its small packets waiting for each other (40 ms a click).
    listener = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        # Elsewhere than on Windows this only lets a port be used again soon after.
        if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((host, port))
        listener.listen(128)
    except OSError as error:
        listener.close()
        raise InputError(
            f"port {port} on {host}: cannot be used ({error.strerror or error}); is a desk open "
            f"already at http://{_spelled(host)}:{port}/? use that one, or choose another port "
            f"with --port"
        ) from error
    return listener


def _hosts(host: str, port: int) -> set[str]:
    """The names, with port, under which a browser may open the page."""
    names = {"localhost", LOOPBACK, "[::1]"} if host in (LOOPBACK, "localhost", "::1") else set()
    if host in ("0.0.0.0", "::"):
        names = {"localhost", LOOPBACK, "[::1]", socket.gethostname().lower()}
        for found in socket.getaddrinfo(socket.gethostname(), None):
            names.add(_spelled(str(found[4][0])))
    names.add(_spelled(host).lower())
    return {f"{name}:{port}" for name in names}


def _spelled(host: str) -> str:
    return f"[{host}]" if ":" in host else host

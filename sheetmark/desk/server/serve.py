"""Running the desk on this machine until it is stopped."""

from __future__ import annotations

import errno
import secrets
import socket
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import uvicorn
from starlette.types import ASGIApp

from sheetmark.base.findings import InputError
from sheetmark.desk.server.app import desk_computes, make_app
from sheetmark.desk.server.connections import MOST, BoundedConnection
from sheetmark.desk.server.desk import Desk
from sheetmark.desk.server.door import Door, new_code
from sheetmark.desk.server.first_use import use_once
from sheetmark.desk.server.guard import spelled

LOOPBACK = "127.0.0.1"
# Hosts that stand for all addresses of this machine, and one beyond it (RFC 5737, RFC 3849).
_EVERYWHERE = {
    "0.0.0.0": (socket.AF_INET, "192.0.2.1"),
    "::": (socket.AF_INET6, "2001:db8::1"),
}
_SECONDS_TO_FINISH = 3
_MOST_AT_ONCE = 4 * MOST  # requests at work; idle connections have made room before


def serve(
    practice_file: Path,
    host: str,
    port: int,
    opened: Callable[[str, str], None],
    *,
    named: bool = False,
    browser: bool,
) -> None:
    """Serve the page until Ctrl-C. `opened` gets the address once it can be reached, and the code
    that lets somebody in; a practice file that was `named` must be there.

    Raises InputError where the host is not this machine's or the port is taken.
    """
    if not host.strip():
        raise InputError("host '': empty; leave --host out, or name an address of this machine")
    listener = _listen(host, port)
    with listener:
        at = listener.getsockname()[1]
        address = f"http://{spelled(_reached(host))}:{at}/"
        desk = Desk(practice_file, secrets.token_urlsafe(32), frozenset(_hosts(host, at)), named)
        with suppress(InputError):  # the page shows what is wrong
            desk.practice_text()
        code, first = new_code(), new_code()
        door = Door(
            make_app(desk),
            computes=desk_computes(),
            code=code,
            first=first,
            port=at,
            shared=is_shared(host),
        )
        server = server_of(door)
        use_once()
        opened(address, code)
        if browser:
            webbrowser.open(f"{address}?code={first}")
        with suppress(KeyboardInterrupt):  # uvicorn raises it again once all is closed
            server.run(sockets=[listener])


def is_shared(host: str) -> bool:
    """Whether other machines reach the page there."""
    return host not in (LOOPBACK, "localhost", "::1")


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
        if isinstance(error, socket.gaierror) or error.errno == errno.EADDRNOTAVAIL:
            raise InputError(
                f"host {host!r}: no address of this machine ({error.strerror or error}); leave "
                f"--host out, or name one that is"
            ) from error
        raise InputError(
            f"port {port} on {host}: cannot be used ({error.strerror or error}); is a desk open "
            f"already at http://{spelled(host)}:{port}/? use that one, or choose another port "
            f"with --port"
        ) from error
    return listener


def _hosts(host: str, port: int) -> set[str]:
    """The names, with port, under which a browser may open the page."""
    everywhere = host in _EVERYWHERE
    names = {"localhost", LOOPBACK, "[::1]"} if everywhere or not is_shared(host) else set()
    if everywhere:
        names.add(socket.gethostname().lower())
    names.add(spelled(host).lower())
    return {f"{name}:{port}" for name in names}


def _reached(host: str) -> str:
    """An address at which the host is reached from outside, where it stands for all of them."""
    if host not in _EVERYWHERE:
        return host
    family, beyond = _EVERYWHERE[host]
    with socket.socket(family, socket.SOCK_DGRAM) as asking:
        try:
            # No packet is sent: the system only chooses the address it would send from.
            asking.connect((beyond, 9))
        except OSError:  # no network
            return LOOPBACK if family == socket.AF_INET else "::1"
        return str(asking.getsockname()[0])

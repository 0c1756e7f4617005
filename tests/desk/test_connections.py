"""Idle and slow connections leave the page usable."""

from __future__ import annotations

import inspect
import socket
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import ExitStack
from urllib.parse import urlsplit

import pytest
from uvicorn.protocols.http.h11_impl import H11Protocol, RequestResponseCycle

from sheetmark.desk.server import connections
from tests.helpers.running_desk import Running

HEAD = b"GET / HTTP/1.1\r\nHost: %b\r\n"


@pytest.fixture
def hasty(monkeypatch: pytest.MonkeyPatch) -> None:
    """A desk that loses its patience soon."""
    monkeypatch.setattr(connections, "SECONDS_FOR_A_HEAD", 0.2)
    monkeypatch.setattr(connections, "SECONDS_FOR_A_BODY", 0.4)


@pytest.fixture
def stack() -> Iterator[ExitStack]:
    with ExitStack() as opened:
        yield opened


@pytest.fixture
def many_files() -> None:
    """Room for 500 connections, both ends of which are in this process; macOS gives 256 files."""
    if sys.platform != "win32":
        import resource

        soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
        if soft < 2000:
            resource.setrlimit(resource.RLIMIT_NOFILE, (min(2000, hard), hard))


def connected(desk: Running, stack: ExitStack) -> socket.socket:
    where = urlsplit(desk.url)
    address = (where.hostname or "", where.port or 0)
    return stack.enter_context(socket.create_connection(address, timeout=5))


def answers(desk: Running) -> bool:
    with urllib.request.urlopen(desk.url, timeout=5) as answer:
        return b"<title>sheetmark</title>" in answer.read()


def send_slowly(connection: socket.socket, data: bytes) -> None:
    for letter in data:
        connection.sendall(bytes([letter]))
        time.sleep(0.02)


def closed_after(connection: socket.socket) -> float:
    """Seconds until the desk closes it."""
    start = time.monotonic()
    try:
        while connection.recv(4096):
            pass
    except ConnectionResetError:
        pass
    return time.monotonic() - start


@pytest.mark.usefixtures("many_files")
def test_500_idle_connections_leave_the_page_usable(desk: Running, stack: ExitStack) -> None:
    first = connected(desk, stack)
    for _ in range(499):
        connected(desk, stack)
    assert answers(desk)
    assert closed_after(first) < 1, "the one that was idle for longest made room"


@pytest.mark.usefixtures("many_files")
def test_slow_senders_leave_the_page_usable(desk: Running, stack: ExitStack) -> None:
    """Each has sent a part of its head: more of them than there is room for."""
    at = urlsplit(desk.url).netloc.encode()
    for _ in range(connections.MOST + 20):
        connected(desk, stack).sendall(HEAD % at)
    assert answers(desk)


@pytest.mark.usefixtures("hasty")
def test_a_silent_connection_is_closed(desk: Running, stack: ExitStack) -> None:
    assert 0.1 < closed_after(connected(desk, stack)) < 1


@pytest.mark.usefixtures("hasty")
@pytest.mark.parametrize("kept_alive", [False, True])
def test_a_head_that_comes_byte_by_byte_is_closed(
    desk: Running, stack: ExitStack, *, kept_alive: bool
) -> None:
    slow = connected(desk, stack)
    if kept_alive:
        slow.sendall(HEAD % urlsplit(desk.url).netloc.encode() + b"\r\n")
        assert slow.recv(100).startswith(b"HTTP/1.1 200")
    with pytest.raises(OSError, match=r"\[(Errno|WinError)"):
        send_slowly(slow, b"GET / HTTP/1.1\r\nHost: far.too.slow.to.be.taken\r\n")


@pytest.mark.usefixtures("hasty")
def test_a_body_that_does_not_come_is_given_up(desk: Running, stack: ExitStack) -> None:
    slow = connected(desk, stack)
    at = urlsplit(desk.url).netloc.encode()
    head = b"POST /api/day HTTP/1.1\r\nHost: %b\r\nContent-Length: 100\r\n" % at
    slow.sendall(head + b"X-Sheetmark-Token: token-of-the-test\r\n\r\nfew")
    assert 0.3 < closed_after(slow) < 1.5
    assert answers(desk)


def test_the_parts_of_uvicorn_that_it_stands_on_are_there() -> None:
    made = inspect.getsource(H11Protocol.__init__)
    assert "self.connections = server_state.connections" in made
    assert "self.loop" in made
    assert {"more_body", "response_complete"} <= set(
        inspect.getsource(RequestResponseCycle.__init__).replace("self.", " ").split()
    )

"""`sheetmark desk` as a person starts and ends it."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from sheetmark.cli.app import run
from sheetmark.desk.server import serve

DESK = [sys.executable, "-m", "sheetmark", "desk", "--no-browser"]


@contextmanager
def started(
    *arguments: str, port: str = "0"
) -> Iterator[tuple[subprocess.Popen[str], str, list[str]]]:
    """A desk in a process of its own, its address, and what it said before."""
    desk = subprocess.Popen([*DESK, "--port", port, *arguments], stderr=subprocess.PIPE, text=True)
    assert desk.stderr is not None
    warnings: list[str] = []
    try:
        for line in desk.stderr:
            if line.startswith("desk open at "):
                yield desk, line.split()[3], warnings
                break
            warnings.append(line)
        else:
            pytest.fail(f"the desk did not open: {warnings}")
    finally:
        desk.kill()
        desk.wait(10)
        desk.stderr.close()


def browser() -> urllib.request.OpenerDirector:
    """Something that keeps its cookies."""
    return urllib.request.build_opener(urllib.request.HTTPCookieProcessor())


def fetched(address: str, by: urllib.request.OpenerDirector | None = None) -> str:
    with (by or browser()).open(address, timeout=20) as answer:
        text: str = answer.read().decode()
        return text


def without_code(address: str) -> str:
    return address.partition("?")[0]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGINT to send to one process")
def test_it_opens_answers_and_closes_on_ctrl_c() -> None:
    with started() as (desk, address, warnings):
        assert warnings == []
        assert address.startswith("http://127.0.0.1:")
        own = browser()
        assert "<title>sheetmark</title>" in fetched(address, own)
        assert '"title":"26 (ISO) · upper left first molar · restoration"' in fetched(
            f"{without_code(address)}api/case?treat=26", own
        )
        desk.send_signal(signal.SIGINT)
        assert desk.wait(10) == 0
        assert desk.stderr is not None
        assert desk.stderr.read() == "desk closed\n"


def test_a_taken_port_is_reported_in_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        assert run(["desk", "--no-browser", "--port", str(port)]) == 2
    warnings = capsys.readouterr().err.splitlines()
    assert len(warnings) == 1
    assert f"port {port} on 127.0.0.1: cannot be used (" in warnings[0]
    assert "choose another port with --port" in warnings[0]


@pytest.mark.parametrize(
    ("arguments", "problem"),
    [
        (["--port", "70000"], "70000"),
        (["--host", "no.such.host.invalid"], "no.such.host.invalid"),
        (["--host", "192.0.2.1"], "192.0.2.1"),
        (["--host", ""], "host '': empty; leave --host out"),
        (["--practice", "nowhere.toml"], "practice file nowhere.toml: cannot be read (No such"),
    ],
)
def test_what_cannot_be_served_is_reported(
    arguments: list[str], problem: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["desk", "--no-browser", *arguments]) == 2
    assert problem in capsys.readouterr().err


def test_without_its_parts_it_says_how_to_get_them() -> None:
    program = (
        "import sys; sys.modules['fastapi'] = None; from sheetmark.cli.app import main; "
        "main(['desk', '--no-browser'])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert '-m pip install "sheetmark[desk]"' in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("host", ["", " ", "256.1.1.1", "192.0.2.77", "no such", "127.0.0.1:80"])
def test_a_host_that_is_not_this_machine_is_refused_in_one_line(
    host: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["desk", "--no-browser", "--port", "0", "--host", host]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith(f"sheetmark: error: host '{host.strip()}': ")
    assert "leave --host out" in line


def test_another_host_than_this_machine_is_warned_of() -> None:
    with started("--host", "0.0.0.0") as (_, address, warnings):
        assert "can be reached from other machines" in warnings[0]
        assert "change settings, punch and printers" in warnings[0]
        code = warnings[1].split()[-1]
        assert re.fullmatch(r"[a-z2-9]{4}-[a-z2-9]{4}", code)
        assert "?" not in address
        assert "sheetmark" in fetched(address)
        port = address.rsplit(":", 1)[1]
        assert "sheetmark" in fetched(f"http://127.0.0.1:{port}")
        request = urllib.request.Request(f"http://127.0.0.1:{port}", headers={"Host": "evil.test"})
        with pytest.raises(urllib.error.HTTPError, match="421"):
            urllib.request.urlopen(request, timeout=20)


def test_a_practice_file_that_is_named_is_in_force(tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    assert run(["practice", "init", "--yes", "-o", str(file), "--notation", "universal"]) == 0
    with started("--practice", str(file)) as (_, address, _):
        own = browser()
        fetched(address, own)
        assert '"title":"14 (Universal) · upper left first molar · restoration"' in fetched(
            f"{without_code(address)}api/case?treat=26", own
        )


@pytest.mark.parametrize(
    ("host", "own"),
    [
        ("127.0.0.1", {"localhost:80", "127.0.0.1:80", "[::1]:80"}),
        ("localhost", {"localhost:80", "127.0.0.1:80", "[::1]:80"}),
        ("192.0.2.7", {"192.0.2.7:80"}),
        ("2001:db8::7", {"[2001:db8::7]:80"}),
    ],
)
def test_it_answers_under_its_own_names_only(host: str, own: set[str]) -> None:
    assert serve._hosts(host, 80) == own


def test_no_other_command_loads_the_server() -> None:
    program = (
        "import sys; from sheetmark.cli.app import run; run(['overlay', '16']); "
        "print([m for m in sys.modules if m.startswith(('fastapi', 'uvicorn', 'pydantic'))])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.endswith("[]\n")


def test_no_click_waits_for_another_packet() -> None:
    """asyncio sends small packets at once only on a socket that says it is TCP."""
    with serve._listen("127.0.0.1", 0) as listener:
        assert listener.proto == socket.IPPROTO_TCP

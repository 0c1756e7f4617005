"""Many processes that use what they share for the first time, with threads that take turns far more
often than they do by themselves."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from tests.helpers.paths import ROOT

# A server is forked from a process that has loaded the program and used none of it.
MANY_SERVERS = """
import os, socket, sys, threading
from pathlib import Path

from sheetmark.desk.server import serve

def server():
    sys.setswitchinterval(1e-6)
    answers = []
    def opened(address, code):
        place = address.split("/")[2]
        host, _, port = place.rpartition(":")
        threading.Thread(target=ask_all, args=(place, (host, int(port)), code)).start()
    def ask_all(place, at, code):
        def sent(link, path, more=""):
            link.sendall(f"GET {path} HTTP/1.1\\r\\nHost: {place}\\r\\n{more}"
                         "Connection: close\\r\\n\\r\\n".encode())
            return link
        with socket.create_connection(at) as link:
            head = sent(link, f"/?code={code}").recv(2000).decode()
        cookie = head.partition("set-cookie: ")[2].partition(";")[0]
        ready = threading.Barrier(6)
        def ask(treat):
            with socket.create_connection(at) as link:
                ready.wait()
                sent(link, f"/api/case?treat={treat}", f"Cookie: {cookie}\\r\\n")
                answers.append(link.recv(12))
        asking = [threading.Thread(target=ask, args=(n,)) for n in (16, 26, 36, 46, 16, 26)]
        def finish():
            for each in asking:
                each.join(60)
            os._exit(0 if answers == [b"HTTP/1.1 200"] * 6 else 3)
        for each in (*asking, threading.Thread(target=finish)):
            each.start()
    serve.serve(Path("practice.toml"), "127.0.0.1", 0, opened, browser=False)

codes = []
for _ in range(int(sys.argv[1])):
    child = os.fork()
    if not child:
        try:
            server()
        finally:
            os._exit(4)
    codes.append(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
print(*codes)
"""
# The same for the conversion alone: many at once of a record that is new.
MANY_RECORDS = """
import os, sys, threading
import msgspec
from sheetmark.base.records import convert

sys.setswitchinterval(1e-6)
codes = []
for number in range(int(sys.argv[1])):
    child = os.fork()
    if not child:
        Inner = msgspec.defstruct("Inner", [(f"a{n}", int, 0) for n in range(40)], frozen=True)
        Outer = msgspec.defstruct("Outer", [(f"b{n}", tuple[Inner, ...]) for n in range(40)])
        data = {f"b{n}": [{}] for n in range(40)}
        ready = threading.Barrier(8)
        def ask():
            ready.wait()
            convert(data, Outer)
        asking = [threading.Thread(target=ask) for _ in range(8)]
        for each in asking:
            each.start()
        for each in asking:
            each.join()
        os._exit(0)
    codes.append(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
print(*codes)
"""


def codes(script: str, folder: Path, *arguments: str, seconds: int = 300) -> list[int]:
    """The exit codes of a script's children, which it prints; it runs in `folder`, for so many
    seconds at most."""
    done = subprocess.run(
        [sys.executable, "-c", script, *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT), "XDG_CONFIG_HOME": str(folder)},
        capture_output=True,
        text=True,
        timeout=seconds,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return [int(code) for code in done.stdout.split()]

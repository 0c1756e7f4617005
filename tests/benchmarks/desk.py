"""How long a click waits: previews of a desk in a process of its own, over loopback.

`python -m tests.benchmarks.desk` prints the 95th percentile of a preview as a ratio to the bare
plan and SVG in one process, at one client and at fifty for twenty seconds, all in one run. Bare and
served take turns with each tooth, so that what else the machine does meets both.
"""

from __future__ import annotations

import http.client
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import urlsplit

from sheetmark.anatomy.arch_model import load_model
from sheetmark.anatomy.teeth import Tooth
from sheetmark.case.case import Case
from sheetmark.documents.case.preview import sheet_alone
from sheetmark.plan.make import make_plan
from sheetmark.practice.settings import Practice
from sheetmark.render.svg import render_svg

TEETH = [Tooth(q, p) for q in (1, 2, 3, 4) for p in range(1, 8)]
ROUNDS = 100
CLIENTS, SECONDS = 50, 20


def p95(times: list[float]) -> float:
    return statistics.quantiles(times, n=20)[-1]


def bare(tooth: Tooth) -> float:
    """Seconds for the plan and its SVG in this process, as the page would show them."""
    start = time.perf_counter()
    plan = make_plan(Case(treat=(tooth,)), load_model("adult-mean"), Practice())
    render_svg(sheet_alone(plan))
    return time.perf_counter() - start


@contextmanager
def desk() -> Iterator[tuple[str, int]]:
    """A desk on a free port: its address with the code that opens it, and its process's number."""
    wording = [sys.executable, "-m", "sheetmark", "desk", "--no-browser", "--port", "0"]
    process = subprocess.Popen(wording, stderr=subprocess.PIPE, text=True)
    assert process.stderr is not None
    try:
        yield process.stderr.readline().split()[3], process.pid
    finally:
        process.terminate()
        process.wait(10)


class Client:
    """A connection, and the cookie that it got for the code in the address."""

    def __init__(self, address: str) -> None:
        parts = urlsplit(address)
        self.connection = http.client.HTTPConnection(parts.netloc, timeout=60)
        self.connection.request("GET", f"/?{parts.query}")
        answer = self.connection.getresponse()
        answer.read()
        self.headers = {"Cookie": (answer.headers["Set-Cookie"] or "").partition(";")[0]}


def ask(client: Client, tooth: Tooth, more: str = "") -> float:
    """Seconds for one preview; `more` are further choices. Raises RuntimeError for any answer but a
    sheet."""
    start = time.perf_counter()
    path = f"/api/case?treat={tooth.iso}{more}"
    client.connection.request("GET", path, headers=client.headers)
    answer = client.connection.getresponse()
    body = answer.read()
    seconds = time.perf_counter() - start
    if answer.status != 200 or b'"svg"' not in body:
        raise RuntimeError(f"{path}: {answer.status} {body[:200]!r}")
    return seconds


def one_client(at: str) -> tuple[list[float], list[float]]:
    """Seconds of each bare plan, and of each preview."""
    client = Client(at)
    both = [(bare(tooth), ask(client, tooth)) for _ in range(ROUNDS) for tooth in TEETH]
    client.connection.close()
    plain, single = zip(*both[len(TEETH) :], strict=True)  # the first round warms up
    return list(plain), list(single)


def many_clients(at: str) -> tuple[list[float], list[str]]:
    """Seconds of each preview that all clients together got, and what failed."""
    times: list[float] = []
    failed: list[str] = []
    end = time.monotonic() + SECONDS

    def work(first: int) -> None:
        client = Client(at)
        number = first
        while time.monotonic() < end:
            try:
                times.append(ask(client, TEETH[number % len(TEETH)]))
            except (OSError, RuntimeError, http.client.HTTPException) as error:
                failed.append(repr(error))
                return
            number += 1
        client.connection.close()

    clients = [threading.Thread(target=work, args=(number,)) for number in range(CLIENTS)]
    for client in clients:
        client.start()
    for client in clients:
        client.join()
    return times, failed


def main() -> None:
    with desk() as (at, _):
        plain, single = one_client(at)
        many, failed = many_clients(at)
    usual = statistics.median(plain)
    print(f"bare plan and SVG: p95 over median {p95(plain) / usual:.2f}")
    print(f"one client: {len(single)} previews, p95 {p95(single) / usual:.2f} x the bare median,")
    print(
        f"  {p95(single) / p95(plain):.2f} x the bare p95 (aim: at most 2); medians "
        f"{statistics.median(single) / usual:.2f}"
    )
    print(f"{CLIENTS} clients, {SECONDS} s: {len(many)} previews, {len(failed)} failed, ", end="")
    print(f"p95 {p95(many) / usual:.0f} x the bare median")
    for line in failed[:5]:
        print(line)


if __name__ == "__main__":
    main()

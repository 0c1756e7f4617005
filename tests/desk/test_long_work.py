"""Long requests wait for each other, and leave the rest of the page quick."""

from __future__ import annotations

import asyncio
import threading
import time
import urllib.request
from collections.abc import Callable, Coroutine, MutableMapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from statistics import median
from typing import Any

import pytest
from starlette.testclient import TestClient

from sheetmark.base.stopping import StoppedError, go_on, stopped_when
from sheetmark.desk.server.long_work import MOST_WAITING, LongWork
from sheetmark.studies.membrane import solve
from tests.helpers.running_desk import Running

EVEN = b"treat=16&shift=even"


class Requests:
    """Requests put to an application of the test's own, whose clients leave when told to."""

    def __init__(self) -> None:
        self.begun: list[bytes] = []
        self.answered: list[tuple[bytes, int]] = []
        self.finish: dict[bytes, asyncio.Event] = {}
        self.work = LongWork(self.app, lambda _, path: path == "/api/day.pdf")

    async def app(self, scope: Any, _: Any, send: Any) -> None:
        name = scope["name"]
        self.begun.append(name)
        while not self.finish[name].is_set():
            go_on()
            await asyncio.sleep(0.001)
        await send({"type": "http.response.start", "status": 200, "headers": []})

    def request(
        self, name: bytes, path: str = "/api/case", query: bytes = EVEN, method: str = "GET"
    ) -> tuple[asyncio.Task[None], Callable[[], None]]:
        """Its task, and what makes its client go."""
        left = asyncio.Event()
        sent: list[MutableMapping[str, Any]] = [
            {"type": "http.request", "body": b"", "more_body": False}
        ]
        self.finish[name] = asyncio.Event()

        async def receive() -> MutableMapping[str, Any]:
            if sent:
                return sent.pop()
            await left.wait()
            return {"type": "http.disconnect"}

        async def send(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                self.answered.append((name, message["status"]))

        scope = {
            "type": "http",
            "name": name,
            "path": path,
            "query_string": query,
            "method": method,
            "headers": [],
        }
        return asyncio.ensure_future(self.work(scope, receive, send)), left.set


def play(scene: Callable[[], Coroutine[Any, Any, None]]) -> None:
    """In a thread of its own: the browser of other tests keeps this one's loop running."""
    with ThreadPoolExecutor(1) as thread:
        thread.submit(lambda: asyncio.run(scene())).result()


async def settle() -> None:
    for _ in range(10):
        await asyncio.sleep(0.002)


def test_one_runs_at_a_time_and_the_newest_is_next() -> None:
    async def scene() -> None:
        requests = Requests()
        tasks = []
        for name in (b"first", b"second", b"third"):
            tasks.append(requests.request(name)[0])
            await settle()
        assert requests.begun == [b"first"]
        for name in (b"first", b"third", b"second"):
            requests.finish[name].set()
            await settle()
        assert requests.begun == [b"first", b"third", b"second"]
        await asyncio.gather(*tasks)
        assert [status for _, status in requests.answered] == [200, 200, 200]

    play(scene)


@pytest.mark.parametrize(
    ("path", "query", "method"),
    [("/api/case", b"treat=16", "GET"), ("/api/practice", b"", "POST"), ("/", b"", "GET")],
)
def test_a_short_request_waits_for_nobody(path: str, query: bytes, method: str) -> None:
    async def scene() -> None:
        requests = Requests()
        long, leave = requests.request(b"long")
        short, _ = requests.request(b"short", path, query, method)
        requests.finish[b"short"].set()
        await short
        assert requests.answered == [(b"short", 200)]
        leave()
        with pytest.raises(StoppedError):
            await long

    play(scene)


def test_another_kind_does_not_wait_either() -> None:
    async def scene() -> None:
        requests = Requests()
        tasks = [
            requests.request(b"even")[0],
            requests.request(b"day", "/api/day.pdf", b"", "POST")[0],
        ]
        await settle()
        assert requests.begun == [b"even", b"day"]
        for name in requests.begun:
            requests.finish[name].set()
        await asyncio.gather(*tasks)

    play(scene)


def test_a_client_that_has_gone_is_not_computed() -> None:
    async def scene() -> None:
        requests = Requests()
        running, leave_running = requests.request(b"running")
        waiting, leave_waiting = requests.request(b"waiting")
        await settle()
        leave_waiting()
        await waiting
        leave_running()
        with pytest.raises(StoppedError):
            await running
        await settle()
        assert requests.begun == [b"running"]
        assert requests.answered == []
        after, _ = requests.request(b"after")
        requests.finish[b"after"].set()
        await after
        assert requests.answered == [(b"after", 200)]

    play(scene)


def test_of_too_many_that_wait_the_oldest_is_turned_away() -> None:
    async def scene() -> None:
        requests = Requests()
        names = [str(number).encode() for number in range(MOST_WAITING + 2)]
        tasks = [requests.request(name)[0] for name in names]
        await settle()
        assert requests.answered == [(b"1", 503)]
        for name in names:
            requests.finish[name].set()
        await asyncio.gather(*tasks)
        assert requests.begun == [b"0", *reversed(names[2:])]

    play(scene)


def test_a_computation_stops_at_its_next_step() -> None:
    with stopped_when(lambda: False):
        go_on()
        with stopped_when(lambda: True), pytest.raises(StoppedError):
            go_on()
        go_on()
    go_on()


def test_60_even_requests_leave_previews_quick_and_end_with_their_clients(
    desk: Running, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps: list[float] = []

    def counted() -> None:
        steps.append(time.monotonic())
        go_on()

    monkeypatch.setattr(solve, "go_on", counted)

    def preview() -> float:
        start = time.monotonic()
        with urllib.request.urlopen(f"{desk.url}api/case?treat=26", timeout=20) as answer:
            assert b'"title":"26' in answer.read()
        return time.monotonic() - start

    preview()
    usual = median(preview() for _ in range(9))
    clients = [threading.Thread(target=give_up_soon, args=(desk, n)) for n in range(60)]
    for client in clients:
        client.start()
    wait_for(lambda: bool(steps))
    loaded = median(preview() for _ in range(9))
    for client in clients:
        client.join()
    assert loaded < 5 * usual
    # A step may be under way, and the next is the last.
    time.sleep(1.0)
    count = len(steps)
    time.sleep(0.5)
    assert len(steps) == count


def wait_for(condition: Callable[[], bool]) -> None:
    end = time.monotonic() + 10
    while not condition():
        assert time.monotonic() < end, "it did not come true in 10 s"
        time.sleep(0.01)


def give_up_soon(desk: Running, number: int) -> None:
    """A request for the most even place of a mouth of its own, given up after two seconds."""
    moved = f"16%20facial%20{number / 100}" if number else ""
    address = f"{desk.url}api/case?treat=16&shift=even&with={moved}"
    with suppress(OSError):
        urllib.request.urlopen(address, timeout=2).close()


def test_any_address_is_looked_at(client: TestClient) -> None:
    """Also one that is no ASCII."""
    answer = client.get("/api/case", params={"treat": "26", "ref": "\u6b6f", "shift": "rule"})
    assert answer.status_code == 200 or answer.json()["problems"]

"""Requests that compute for seconds wait for each other, and not the rest of the page for them.

Of each kind one runs at a time, the newest of those that wait comes next, and one whose page has
gone or has given up is not computed any further.
"""

from __future__ import annotations

import asyncio
import threading
from collections import defaultdict
from typing import Any

from starlette.responses import JSONResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from sheetmark.base.stopping import stopped_when
from sheetmark.desk.server.computing import Computes
from sheetmark.desk.server.guard import query_of

# As many may wait before the oldest is turned away (assumption).
MOST_WAITING = 8


class LongWork:
    """Takes long requests one by one. It stands behind the guard, which has read their bodies."""

    def __init__(self, app: ASGIApp, computes: Computes) -> None:
        self.app = app
        self._computes = computes
        self._queues: dict[str, _Queue] = defaultdict(_Queue)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on: a long one when its turn comes, any other at once."""
        kind = self._kind(scope) if scope["type"] == "http" else None
        if kind is None:
            await self.app(scope, receive, send)
            return
        request = await receive()
        gone = asyncio.ensure_future(_gone(receive))
        queue = self._queues[kind]
        turn = queue.wait()
        try:
            either: list[asyncio.Future[Any]] = [gone, turn]
            await asyncio.wait(either, return_when=asyncio.FIRST_COMPLETED)
            if gone.done():
                return
            if not turn.result():
                await _turned_away()(scope, receive, send)
                return
            await self._run(scope, request, gone, send)
        finally:
            gone.cancel()
            queue.leave(turn)

    def _kind(self, scope: Scope) -> str | None:
        """Which long requests it waits for: those under the same path; None for a short one."""
        path = scope["path"]
        even = query_of(scope).get("shift") == ["even"]
        if even or self._computes(scope["method"], path):
            return "/".join(path.partition(".")[0].split("/")[:3])
        return None

    async def _run(
        self, scope: Scope, request: Message, gone: asyncio.Future[None], send: Send
    ) -> None:
        stop = threading.Event()
        gone.add_done_callback(lambda _: stop.set())
        messages = [request]

        async def receive() -> Message:
            if messages:
                return messages.pop()
            await asyncio.shield(gone)
            return {"type": "http.disconnect"}

        with stopped_when(stop.is_set):
            await self.app(scope, receive, send)


class _Queue:
    """Whose turn it is: one at a time, the newest of those that wait first."""

    def __init__(self) -> None:
        self._waiting: list[asyncio.Future[bool]] = []
        self._running: asyncio.Future[bool] | None = None

    def wait(self) -> asyncio.Future[bool]:
        """Done with True when the turn has come, with False where too many newer ones wait."""
        turn: asyncio.Future[bool] = asyncio.get_running_loop().create_future()
        self._waiting.append(turn)
        if len(self._waiting) > MOST_WAITING:
            self._waiting.pop(0).set_result(False)
        self._next()
        return turn

    def leave(self, turn: asyncio.Future[bool]) -> None:
        """Its request is answered or gone: the next one's turn."""
        if turn is self._running:
            self._running = None
        elif turn in self._waiting:
            self._waiting.remove(turn)
        self._next()

    def _next(self) -> None:
        if self._running is None and self._waiting:
            self._running = self._waiting.pop()
            self._running.set_result(True)


async def _gone(receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass


def _turned_away() -> JSONResponse:
    return JSONResponse({"problems": ["too many computations at once; try again"]}, 503)

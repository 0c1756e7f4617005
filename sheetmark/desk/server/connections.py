"""Connections that send nothing, or send slowly, make room for those that ask for something.

uvicorn times out a connection only after its first answer, and refuses everybody once it holds its
most. A test guards the parts of uvicorn that this stands on.
"""

from __future__ import annotations

import asyncio

from uvicorn.protocols.http.h11_impl import H11Protocol

# Assumptions: a browser opens six connections to a page, and sends a request at once.
MOST = 100
SECONDS_FOR_A_HEAD = 10
SECONDS_FOR_A_BODY = 60


class BoundedConnection(H11Protocol):
    """A connection of at most `MOST`; it is closed unless it sends a whole request in time.

    Where a new one finds no room, the one that has been idle for longest is closed.
    """

    _deadline: asyncio.TimerHandle | None = None
    _awaits_head = True
    _heard = 0.0

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Make room, and give the new connection its time."""
        self._make_room()
        super().connection_made(transport)
        self._heard = self.loop.time()
        self._set_deadline(SECONDS_FOR_A_HEAD)

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget the deadline."""
        self._set_deadline(None)
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """A head that is complete gives the body its time; each part of it does not."""
        super().data_received(data)
        self._heard = self.loop.time()
        cycle = self.cycle
        if cycle is None or cycle.response_complete:
            if not self._awaits_head:
                self._awaits_head = True
                self._set_deadline(SECONDS_FOR_A_HEAD)
        elif cycle.more_body:
            if self._awaits_head:
                self._awaits_head = False
                self._set_deadline(SECONDS_FOR_A_BODY)
        else:
            self._awaits_head = False
            self._set_deadline(None)

    @property
    def idle_since(self) -> float | None:
        """When it was heard or answered last, by the loop's clock; None while a request is open."""
        if self.cycle is not None and not self.cycle.response_complete:
            return None
        return self._heard

    def _make_room(self) -> None:
        held = [
            other
            for other in self.connections
            if isinstance(other, BoundedConnection) and not other.transport.is_closing()
        ]
        if len(held) < MOST:
            return
        idle = [(since, at) for at, other in enumerate(held) if (since := other.idle_since)]
        if idle:
            held[min(idle)[1]].transport.close()

    def _set_deadline(self, seconds: float | None) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None
        if seconds is not None:
            self._deadline = self.loop.call_later(seconds, self.transport.abort)

"""Ends a long computation once nobody waits for its answer any more.

A computation calls `go_on()` at each of its steps. Whoever starts it may say, for what runs in the
present context, when it is to stop.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar


class StoppedError(Exception):
    """The computation was stopped; there is no answer, and nobody to give it to."""


_stops: ContextVar[Callable[[], bool] | None] = ContextVar("stops", default=None)


def go_on() -> None:
    """Raises StoppedError where the computation is to stop."""
    stops = _stops.get()
    if stops is not None and stops():
        raise StoppedError


@contextmanager
def stopped_when(stops: Callable[[], bool]) -> Iterator[None]:
    """What is computed inside stops at the first step at which `stops()` holds."""
    token = _stops.set(stops)
    try:
        yield
    finally:
        _stops.reset(token)

"""Endpoints that compute and keep nothing, marked as such where they are declared.

Whoever may look may have them computed, though some are posted; and since an answer may take
seconds, each waits for its turn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from fastapi import APIRouter
from fastapi.routing import APIRoute

COMPUTES: dict[str, Any] = {"x-computes": True}
"""The mark, to be given to a route as `openapi_extra`."""

Computes = Callable[[str, str], bool]
"""Whether a request, by its method and path, goes to an endpoint with the mark."""


def computing(routers: Iterable[APIRouter]) -> Computes:
    """Sees the marked endpoints of these routers. None of their paths holds a variable."""
    marked = {
        (method, route.path)
        for router in routers
        for route in router.routes
        if isinstance(route, APIRoute) and route.openapi_extra == COMPUTES
        for method in route.methods or ()
    }
    return lambda method, path: (method, path) in marked

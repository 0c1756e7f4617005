"""Libraries without a part that takes long to load and that nothing here needs."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import active_count
from types import ModuleType


@contextmanager
def standing_in(*stand_ins: ModuleType) -> Iterator[None]:
    """What is imported inside finds these modules, each where that of its name is not loaded yet.

    Beside another thread, which may want the real ones at this moment, it finds the real ones.
    """
    put = []
    if active_count() == 1:
        put = [own for own in stand_ins if sys.modules.setdefault(own.__name__, own) is own]
    try:
        yield
    finally:
        for own in put:
            if sys.modules.get(own.__name__) is own:
                del sys.modules[own.__name__]

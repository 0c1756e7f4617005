"""svgwrite without its checks of attributes, whose tables take longer to load than all the rest."""

from __future__ import annotations

import sys
from types import ModuleType
from typing import Any

_CHECKS = "svgwrite.validator2"


class _Validator:
    """Stands in for a validator, which is loaded when it is used: by a drawing that is checked."""

    def __init__(self, profile: str, debug: bool = True) -> None:
        self._wanted = (profile, debug)

    def __getattr__(self, name: str) -> Any:
        from svgwrite.validator2 import get_validator

        return getattr(get_validator(*self._wanted), name)


_stand_in = ModuleType(_CHECKS)
vars(_stand_in)["get_validator"] = _Validator
_there = sys.modules.setdefault(_CHECKS, _stand_in)

import svgwrite  # noqa: E402  after its stand-in

if _there is _stand_in:
    del sys.modules[_CHECKS]

__all__ = ["svgwrite"]

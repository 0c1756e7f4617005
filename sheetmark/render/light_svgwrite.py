"""svgwrite without two parts that take longer to load than all the rest of it: the tables of its
checks, and the web client that would fetch fonts."""

from __future__ import annotations

from types import ModuleType
from typing import Any, NoReturn

from sheetmark.base.stand_ins import standing_in


class _Validator:
    """Stands in for a validator, which is loaded when it is used: by a drawing that is checked."""

    def __init__(self, profile: str, debug: bool = True) -> None:
        self._wanted = (profile, debug)

    def __getattr__(self, name: str) -> Any:
        from svgwrite.validator2 import get_validator

        return getattr(get_validator(*self._wanted), name)


def _urlopen(*_: object) -> NoReturn:
    raise OSError("a drawing fetches nothing")


_checks, _web = ModuleType("svgwrite.validator2"), ModuleType("urllib.request")
vars(_checks)["get_validator"] = _Validator
vars(_web)["urlopen"] = _urlopen
with standing_in(_checks, _web):
    import svgwrite

__all__ = ["svgwrite"]

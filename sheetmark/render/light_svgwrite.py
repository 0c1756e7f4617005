"""svgwrite without two parts that take longer to load than all the rest of it: the tables of its
checks, and the web client that would fetch fonts."""

from __future__ import annotations

import sys
from types import ModuleType
from typing import Any, NoReturn


class _Validator:
    """Stands in for a validator, which is loaded when it is used: by a drawing that is checked."""

    def __init__(self, profile: str, debug: bool = True) -> None:
        self._wanted = (profile, debug)

    def __getattr__(self, name: str) -> Any:
        from svgwrite.validator2 import get_validator

        return getattr(get_validator(*self._wanted), name)


def _urlopen(*_: object) -> NoReturn:
    raise OSError("a drawing fetches nothing")


_STAND_INS: dict[str, dict[str, object]] = {
    "svgwrite.validator2": {"get_validator": _Validator},
    "urllib.request": {"urlopen": _urlopen},
}
_put: list[str] = []
for _name, _content in _STAND_INS.items():
    if _name not in sys.modules:
        sys.modules[_name] = ModuleType(_name)
        vars(sys.modules[_name]).update(_content)
        _put.append(_name)

import svgwrite  # noqa: E402  after its stand-ins

for _name in _put:
    del sys.modules[_name]

__all__ = ["svgwrite"]

"""The operators of a page's content, read with one pattern: pdfminer's own reader, which looks for
everything a PDF may hold, takes most of the time of a read-back. What sheetmark never writes, as
dictionaries or hexadecimal strings, is refused rather than passed over."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Any

from pdfminer.pdfinterp import PDFPageInterpreter
from pdfminer.pdftypes import stream_value
from pdfminer.psparser import LIT

_TOKEN = re.compile(
    rb"""[\x00\t\n\f\r ]*(?:
    (?P<number>[-+]?(?:\d+\.?\d*|\.\d+)(?![^\x00\t\n\f\r ()<>\[\]{}/%]))
    |(?P<operator>[A-Za-z'"][A-Za-z01*]*)
    |/(?P<name>[^\x00\t\n\f\r ()<>\[\]{}/%#]*)
    |\((?P<text>(?:[^()\\\r\n]|\\.)*)\)
    |(?P<bracket>[\[\]])
    |(?P<end>\Z)
    |(?P<other>.)
    )""",
    re.VERBOSE | re.DOTALL,
)
_ESCAPED = re.compile(rb"\\([0-7]{1,3}|.)", re.DOTALL)
_CONTROL = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}


class QuickInterpreter(PDFPageInterpreter):
    """pdfminer's interpreter with a reader that knows only what a page of marks holds."""

    def execute(self, streams: Sequence[object]) -> None:
        """Carry out the streams' operators. Raises AssertionError for anything unknown."""
        content = [stream_value(stream) for stream in streams]
        self.stream_ids = {stream.objid for stream in content if stream.objid is not None}
        assert not self.stream_ids & self.parent_stream_ids, "a form that shows itself"
        known: dict[bytes, tuple[Callable[..., None], int]] = {}
        outer: list[Any] | None = None
        for token in _TOKEN.finditer(b"\n".join(stream.get_data() for stream in content)):
            kind = token.lastgroup
            value = token[kind] if kind else b""
            if kind == "number":
                self.argstack.append(float(value) if b"." in value else int(value))
            elif kind == "operator":
                if value not in known:
                    known[value] = self._carried_out(value)
                carry_out, count = known[value]
                given = self.pop(count) if count else []
                assert len(given) == count, f"{value!r}: {given}"
                carry_out(*given)
            elif kind == "name":
                self.argstack.append(LIT(value.decode()))
            elif kind == "text":
                self.argstack.append(_ESCAPED.sub(_plain, value) if b"\\" in value else value)
            elif value == b"[":
                assert outer is None, "an array in an array"
                outer, self.argstack = self.argstack, []
            elif value == b"]":
                assert outer is not None, "an array without a beginning"
                outer.append(self.argstack)
                self.argstack, outer = outer, None
            else:
                assert kind == "end", f"no part of a page's content: {token[0]!r}"
        assert outer is None, "an array without an end"
        assert not self.argstack, f"left without an operator: {self.argstack}"

    def _carried_out(self, operator: bytes) -> tuple[Callable[..., None], int]:
        """What carries out an operator, and with how much before it."""
        name = operator.decode().replace("*", "_a").replace('"', "_w").replace("'", "_q")
        carry_out = getattr(self, f"do_{name}")
        return carry_out, carry_out.__code__.co_argcount - 1


def _plain(escaped: re.Match[bytes]) -> bytes:
    meant = escaped[1]
    if meant.isdigit():
        return bytes([int(meant, 8)])
    return _CONTROL.get(meant, meant)

"""A PDF's objects on their way to the file: streams as they are, all others packed by the hundred.

ISO 32000-1, 7.5.7 object streams and 7.5.8 cross-reference streams (from memory): every reader of
PDF 1.5 and later knows them, and what a page says of itself takes a fifth of the room.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from struct import Struct
from typing import BinaryIO

_PACKED = 100  # objects to a stream: more save little, and a reader unpacks all of them for one
_FREE, _ALONE, _WITHIN = 0, 1, 2
# A place: its kind, an offset or the number of a stream, and the index in that.
_PLACE, _WIDTHS = Struct(">BIH"), b"[1 4 2]"


class PdfObjects:
    """The objects of one file, each by its number, from 1 with none left out."""

    def __init__(self, file: BinaryIO, head: bytes) -> None:
        self._file = file
        self._offset = 0
        self._table = bytearray()  # a place for each object, as the file has it
        self._waiting: list[tuple[int, bytes]] = []
        self._place(0, _FREE, 0, 0xFFFF)
        self._put(head)

    @property
    def full(self) -> bool:
        """Whether enough objects wait to be packed."""
        return len(self._waiting) >= _PACKED

    def add(self, number: int, content: bytes) -> None:
        """Write an object, or let it wait to be packed."""
        if content.endswith(b"endstream\n"):
            self._write(number, content)
        else:
            self._waiting.append((number, content))

    def pack(self, number: int) -> None:
        """Write those that wait as one object of this number."""
        heads, contents, at = [], [], 0
        for index, (packed, content) in enumerate(self._waiting):
            self._place(packed, _WITHIN, number, index)
            heads.append(b"%d %d " % (packed, at))
            contents.append(content + b"\n")
            at += len(contents[-1])
        head = b"".join(heads)
        about = b"/Type /ObjStm /N %d /First %d" % (len(heads), len(head))
        self._write(number, _stream(about, head + b"".join(contents)))
        self._waiting.clear()

    def finish(self, number: int, about: Sequence[bytes]) -> None:
        """Write where each object is, as the object of this number, with these entries beside."""
        start = self._offset
        self._place(number, _ALONE, start)
        entries = (b"/Type /XRef", b"/Size %d" % (number + 1), b"/W " + _WIDTHS, *about)
        self._write(number, _stream(b"\n".join(entries), self._table))
        self._put(b"startxref\n%d\n%%%%EOF\n" % start)

    def _write(self, number: int, content: bytes) -> None:
        self._place(number, _ALONE, self._offset)
        self._put(b"%d 0 obj\n%bendobj\n" % (number, content))

    def _place(self, number: int, kind: int, at: int, index: int = 0) -> None:
        begin = number * _PLACE.size
        self._table.extend(bytes(max(0, begin + _PLACE.size - len(self._table))))
        _PLACE.pack_into(self._table, begin, kind, at, index)

    def _put(self, content: bytes) -> None:
        self._file.write(content)
        self._offset += len(content)


def _stream(about: bytes, content: bytes | bytearray) -> bytes:
    packed = zlib.compress(content)
    head = b"<< %b\n/Filter /FlateDecode /Length %d >>\nstream\n" % (about, len(packed))
    return head + packed + b"\nendstream\n"

"""Text from bytes: UTF-8, UTF-16, or Windows-1252, as spreadsheets and practice systems write."""

from __future__ import annotations

import re

from sheetmark.base.findings import InputError

_MARKS = {b"\xef\xbb\xbf": "utf-8-sig", b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}
# Bytes that Windows-1252 leaves open: a text that holds one is in no encoding we know.
_OPEN = bytes((0x81, 0x8D, 0x8F, 0x90, 0x9D))
# A letter such as ü in UTF-8. In Windows-1252 it would be two signs that never stand together.
_UTF_8_LETTER = re.compile(rb"[\xc2-\xdf][\x80-\xbf]")


def decoded(content: bytes, shown: str) -> tuple[str, str]:
    """The text, and its encoding where it is not UTF-8; `shown` names the file.

    Raises InputError for what is no text in any of the three.
    """
    mark = next((name for begin, name in _MARKS.items() if content.startswith(begin)), None)
    encoding = mark or _without_mark(content)
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise InputError(
            f"{shown}: line {line} is not {encoding.upper()} text (byte {error.start}); "
            f"save the whole file as UTF-8"
        ) from error
    if "\0" in text:
        raise InputError(f"{shown}: not a text file (it holds NUL); save it as CSV in UTF-8")
    named = {"utf-8": "", "utf-8-sig": "", "cp1252": "Windows-1252"}
    return text, named.get(encoding, "UTF-16")


def _without_mark(content: bytes) -> str:
    # Every other byte of plain letters in UTF-16 is 0.
    for encoding, zeros in (("utf-16-le", content[1:2000:2]), ("utf-16-be", content[:2000:2])):
        if len(zeros) > 2 and zeros.count(0) > 0.7 * len(zeros):
            return encoding
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        mixed = _UTF_8_LETTER.search(content) or any(byte in _OPEN for byte in content)
        return "utf-8" if mixed else "cp1252"
    return "utf-8"

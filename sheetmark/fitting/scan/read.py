"""Files of intra-oral scanners: STL (binary, text), PLY, OBJ.

Read through trimesh without its optional parts. A file names no unit; it is taken as mm. What is
damaged is refused in one line; holes in the surface are no damage.
"""

from __future__ import annotations

import re
import struct
from io import BytesIO
from pathlib import Path, PurePath

import numpy as np

from sheetmark.base.files import read_within
from sheetmark.base.findings import InputError
from sheetmark.fitting.scan.mesh import Floats, Ints, Mesh, merged

LARGEST_FILE_BYTES = 400_000_000  # a text STL of 1.5 million triangles (assumption)
MOST_TRIANGLES = 1_500_000  # bounds the memory (assumption); scanners give 0.1 to 0.6 million
KINDS = ("stl", "ply", "obj")
_TEXT_PIECE = 4_000_000
_EXPORT = "export the scan again"
_NUMBERS = {
    "char": 1, "uchar": 1, "int8": 1, "uint8": 1, "short": 2, "ushort": 2, "int16": 2,
    "uint16": 2, "int": 4, "uint": 4, "int32": 4, "uint32": 4, "float": 4, "float32": 4,
    "double": 8, "float64": 8,
}  # fmt: skip


def scan_content(path: Path) -> bytes:
    """The bytes of a scan's file. Raises InputError for one that is missing or too large."""
    content = read_within(path, path.name, LARGEST_FILE_BYTES)
    if content is None:
        raise _too_large_file(path.name, path.stat().st_size)
    return content


def read_scan(content: bytes, name: str) -> Mesh:
    """The mesh in a file's bytes, mm, in the scanner's axes.

    name: the file's name; its ending names the kind.
    Raises InputError in one line when the content is empty, cut off, damaged or too large.
    """
    kind = PurePath(name).suffix.lower().lstrip(".")
    if kind not in KINDS:
        raise InputError(f"{name}: not a scan that can be read; export STL, PLY or OBJ")
    if len(content) > LARGEST_FILE_BYTES:
        raise _too_large_file(name, len(content))
    if not content.strip(b"\0 \r\n\t"):
        raise InputError(f"{name}: the file is empty; {_EXPORT}")
    _check_whole(content, kind, name)
    vertices, faces = _load(content, kind, name)
    if len(faces) > MOST_TRIANGLES:
        raise _too_many(name, len(faces))
    if len(faces) == 0:
        raise InputError(f"{name}: no triangles, points only; export the scan as a surface")
    if int(faces.max()) >= len(vertices) or int(faces.min()) < 0:
        raise InputError(f"{name}: a triangle names a corner that is not there; {_EXPORT}")
    bad = int((~np.isfinite(vertices)).any(axis=1).sum())
    if bad:
        raise InputError(f"{name}: {bad} corners are not numbers (NaN or infinite); {_EXPORT}")
    return merged(vertices, faces)


def _too_large_file(name: str, size: int) -> InputError:
    limit = LARGEST_FILE_BYTES // 1_000_000
    return InputError(
        f"{name}: {size / 1e6:.0f} MB, at most {limit} MB; export fewer triangles or binary STL"
    )


def _too_many(name: str, count: int) -> InputError:
    return InputError(f"{name}: {count} triangles, at most {MOST_TRIANGLES}; export a coarser scan")


def _load(content: bytes, kind: str, name: str) -> tuple[Floats, Ints]:
    """Corners and triangles as the library reads them."""
    import trimesh

    if kind == "stl" and not _is_binary_stl(content):
        return _text_stl(content, name)
    extra = {"skip_materials": True} if kind == "obj" else {}
    try:
        mesh = trimesh.load_mesh(BytesIO(content), file_type=kind, process=False, **extra)
        vertices = np.asarray(mesh.vertices, dtype=np.float64)
        faces = np.asarray(getattr(mesh, "faces", np.empty((0, 3))), dtype=np.int64)
    except Exception as error:  # noqa: BLE001 - the library raises whatever its parsers meet
        detail = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise InputError(f"{name}: damaged, not read ({detail[:80]}); {_EXPORT}") from None
    return vertices, faces


def _text_stl(content: bytes, name: str) -> tuple[Floats, Ints]:
    """Corners of a text STL, piece by piece: the library's reader takes eight times the file."""
    blocks = []
    start = 0
    while start < len(content):
        end = content.find(b"endfacet", start + _TEXT_PIECE)
        end = len(content) if end < 0 else end
        lines = re.findall(rb"vertex([^\r\n]*)", content[start:end])
        numbers = b" ".join(lines).split()
        try:
            blocks.append(np.array(numbers, dtype="S32").astype(np.float64))
        except ValueError:
            raise InputError(f"{name}: damaged, a corner is not a number; {_EXPORT}") from None
        if len(numbers) != 3 * len(lines):
            raise InputError(f"{name}: damaged, a corner without three numbers; {_EXPORT}")
        start = end
    vertices = np.concatenate(blocks).reshape(-1, 3)
    return vertices, np.arange(len(vertices)).reshape(-1, 3)


def _check_whole(content: bytes, kind: str, name: str) -> None:
    """Raises InputError when the file ends too early or too late."""
    if kind == "ply":
        _check_ply(content, name)
    elif kind == "obj":
        _check_obj(content, name)
    elif _is_binary_stl(content):
        _check_binary_stl(content, name)
    else:
        _check_text_stl(content, name)


def _is_binary_stl(content: bytes) -> bool:
    """Some binary files begin with "solid" too: the length then decides, or zero bytes."""
    if content.lstrip()[:5].lower() != b"solid":
        return True
    if len(content) >= 84 and len(content) == 84 + 50 * struct.unpack_from("<I", content, 80)[0]:
        return True
    return b"\0" in content[:2000]


def _check_binary_stl(content: bytes, name: str) -> None:
    if len(content) < 84:
        raise InputError(f"{name}: {len(content)} bytes, not an STL file; {_EXPORT}")
    count = struct.unpack_from("<I", content, 80)[0]
    found, over = divmod(len(content) - 84, 50)
    if count > MOST_TRIANGLES and found >= count:
        raise _too_many(name, count)
    if found < count:
        raise InputError(
            f"{name}: the file is cut off, {found} of {count} triangles are there; {_EXPORT}"
        )
    if found > count or over:
        extra = len(content) - 84 - 50 * count
        raise InputError(f"{name}: {extra} bytes after the last triangle; {_EXPORT}")


def _check_text_stl(content: bytes, name: str) -> None:
    tail = content[-4000:].lower()
    end = tail.rfind(b"endsolid")
    if end < 0:
        if b"endsolid" in content.lower():
            raise InputError(f"{name}: text after the end of the surface; {_EXPORT}")
        raise InputError(f"{name}: the file is cut off, its last line is missing; {_EXPORT}")
    if b"\n" in tail[end:].strip():
        raise InputError(f"{name}: text after the end of the surface; {_EXPORT}")
    lowered = content.count(b"vertex"), content.count(b"endfacet")
    if lowered[0] != 3 * lowered[1]:
        raise InputError(
            f"{name}: {lowered[0]} corners for {lowered[1]} triangles, three each; {_EXPORT}"
        )


def _check_ply(content: bytes, name: str) -> None:
    """Counts of the header against the length of what follows."""
    mark = re.search(rb"end_header\r?\n", content[:20_000])
    if not content.startswith(b"ply") or mark is None:
        raise InputError(f"{name}: not a PLY file, or its head is cut off; {_EXPORT}")
    form, counts, sizes = _ply_head(content[: mark.start()].decode("latin-1"))
    if counts.get("face", 0) > MOST_TRIANGLES:
        raise _too_many(name, counts["face"])
    left = len(content) - mark.end()
    if form == "ascii":
        needed, left = sum(counts.values()), len(content[mark.end() :].split(b"\n"))
        left -= content.endswith(b"\n")
    else:
        # One list in the faces, of three corners each, is what scanners write.
        needed = sum(counts[e] * sizes[e] for e in counts)
    if left < needed:
        raise InputError(
            f"{name}: the file is cut off, {100 * left / needed:.0f} % of it is there; {_EXPORT}"
        )
    if left > needed:
        raise InputError(
            f"{name}: text after the end, or faces of more than three corners; "
            "export triangles again"
        )


def _ply_head(head: str) -> tuple[str, dict[str, int], dict[str, int]]:
    """Text or binary, and each element's count and bytes, lists taken as of three items."""
    sizes: dict[str, int] = {}
    counts: dict[str, int] = {}
    element, form = "", ""
    for line in head.splitlines():
        match line.split():
            case ["format", form, *_]:
                pass
            case ["element", element, number] if number.isdigit():
                counts[element], sizes[element] = int(number), 0
            case ["property", "list", size, item, _] if element:
                sizes[element] += _NUMBERS.get(size, 4) + 3 * _NUMBERS.get(item, 4)
            case ["property", item, _] if element:
                sizes[element] += _NUMBERS.get(item, 4)
            case _:
                pass
    return form, counts, sizes


def _check_obj(content: bytes, name: str) -> None:
    """Lines that are no part of the format, and a last line that was cut."""
    odd = re.search(
        rb"(?m)^[ \t]*(?!(?:v|vn|vt|vp|f|l|p|g|o|s|mg|usemtl|mtllib)(?:\s|$)|#)\S",
        content,
    )
    if odd:
        line = content.count(b"\n", 0, odd.start()) + 1
        raise InputError(f"{name}: line {line} is no part of a surface; {_EXPORT}")
    last = content.rstrip().rsplit(b"\n", 1)[-1].split()
    if last and last[0] in {b"v", b"f"} and len(last) < 4:
        raise InputError(f"{name}: the file is cut off in its last line; {_EXPORT}")
    if last and last[0] in {b"v", b"vn", b"vt"} and not re.search(rb"(?m)^f ", content):
        raise InputError(f"{name}: the file is cut off, it has no triangles; {_EXPORT}")

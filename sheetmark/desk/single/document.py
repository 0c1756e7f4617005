"""The page as one HTML file: its scripts, styles and fonts, and what its worker starts Python from.

A file that is opened by a double-click may load nothing beside it. Its scripts are modules under
names of their own, which a map in the file leads to addresses that hold their text.
"""

from __future__ import annotations

import gzip
import json
import re
from base64 import b64encode
from collections.abc import Mapping
from hashlib import sha256
from importlib.resources import files
from posixpath import dirname, join, normpath

from sheetmark.desk.server.pages import TYPES, page_files

_OWN = ("keep.js", "relay.js", "start.js")
_SHARED = "sheetmark/"
_IMPORTS = re.compile(r'(\b(?:from|import)\s*\(?\s*)"(\.{1,2}/[^"]+)"')
_ADDRESSES = re.compile(r'url\("\.\./([^"]+)"\)')
_STYLES = re.compile(r'<link rel="stylesheet" href="/page/([^"]+)">\n')
_ICONS = re.compile(r'(<link rel="[a-z-]*icon" href=)"/page/([^"]+)"')
_MANIFEST = re.compile(r'<link rel="manifest" [^>]*>\n')
_MAIN = '<script type="module" src="/page/main.js"></script>\n'
_TOKEN = '<meta name="token" content="TOKEN">\n'
# Where the core's loader would fetch from; it is given all it needs.
_ELSEWHERE = re.compile(rb"https://[a-z.]+/pyodide/")


def document(parts: Mapping[str, bytes], licences: str) -> str:
    """The whole page; `parts` are the core's files and those of Python's folder of packages."""
    page = page_files()
    index = page["index.html"].decode()
    style = "\n".join(
        _with_fonts(page[name].decode(), page) for name in _STYLES.findall(index)
    ) + _own("style.css")
    imports = json.dumps({"imports": _modules(page)})
    start = f'import "{_SHARED}single/page/start.js";'
    head = [
        _policy(style, (imports, start)),
        f"<style>{style}</style>",
        f'<script type="importmap">{imports}</script>',
        f'<script type="module">{start}</script>',
    ]
    text = _MANIFEST.sub("", _STYLES.sub("", index))
    text = _ICONS.sub(lambda icon: f'{icon[1]}"{_held(icon[2], page)}"', text)
    for old, new in (
        (_TOKEN, ""),
        (_MAIN, "\n".join(head) + "\n"),
        ("</main>", '  <p id="starting" role="status">Starting …</p>\n</main>'),
        ("</footer>", '<div id="about"></div></footer>'),
        ("</body>", f"{_carried(parts, licences)}\n</body>"),
    ):
        if text.count(old) != 1:
            raise AssertionError(f"index.html holds {old!r} {text.count(old)} times, not once")
        text = text.replace(old, new)
    return text


def _policy(style: str, scripts: tuple[str, ...]) -> str:
    """What the browser lets the page do: nothing that leaves it. Its own server, where it has one,
    is there to install it."""
    rules = {
        "default-src": "'none'",
        "script-src": f"{' '.join(map(_hash, scripts))} data: blob: 'wasm-unsafe-eval'",
        "style-src": _hash(style),
        "font-src": "data:",
        "frame-src": "blob:",
        "img-src": "blob: data: 'self'",
        "manifest-src": "'self'",
        "worker-src": "data: 'self'",
        "base-uri": "'none'",
        "form-action": "'none'",
    }
    text = "; ".join(f"{name} {value}" for name, value in rules.items())
    return f'<meta http-equiv="Content-Security-Policy" content="{text}">'


def _hash(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"


def _modules(page: Mapping[str, bytes]) -> dict[str, str]:
    """The address of each script by the name under which the others import it."""
    scripts = {f"page/{name}": data.decode() for name, data in page.items() if name[-3:] == ".js"}
    scripts |= {f"single/page/{name}": _own(name) for name in _OWN}
    return {
        f"{_SHARED}{name}": _address(_renamed(name, text).encode(), "text/javascript")
        for name, text in sorted(scripts.items())
    }


def _renamed(name: str, text: str) -> str:
    def wanted(found: re.Match[str]) -> str:
        return f'{found[1]}"{_SHARED}{normpath(join(dirname(name), found[2]))}"'

    return _IMPORTS.sub(wanted, text)


def _with_fonts(style: str, page: Mapping[str, bytes]) -> str:
    return _ADDRESSES.sub(lambda found: f'url("{_held(found[1], page)}")', style)


def _held(name: str, page: Mapping[str, bytes]) -> str:
    """The address that holds one of the page's files."""
    return _address(page[name], TYPES[name.rpartition(".")[2]])


def _carried(parts: Mapping[str, bytes], licences: str) -> str:
    """What the page hands to its worker, in elements that the browser does not run."""
    rest = {name: data for name, data in parts.items() if name != "pyodide.asm.wasm"}
    rest["pyodide.mjs"] = _ELSEWHERE.sub(b"memory:/", rest["pyodide.mjs"])
    index = json.dumps([(name, len(data)) for name, data in rest.items()]).encode()
    packed = len(index).to_bytes(4, "little") + index + b"".join(rest.values())
    texts = {
        "licences": licences.replace("</", "< /"),
        "worker": _own("worker.js"),
        "engine": _packed(parts["pyodide.asm.wasm"]),
        "rest": _packed(packed),
    }
    return "\n".join(
        f'<script type="text/plain" id="{name}">{text}</script>' for name, text in texts.items()
    )


def _packed(data: bytes) -> str:
    # 9 takes 2.7 times as long for 0.6 % less.
    return b64encode(gzip.compress(data, 7, mtime=0)).decode()


def _own(name: str) -> str:
    return (files("sheetmark.desk.single") / "page" / name).read_text("utf-8")


def _address(data: bytes, kind: str) -> str:
    return f"data:{kind};base64,{b64encode(data).decode()}"

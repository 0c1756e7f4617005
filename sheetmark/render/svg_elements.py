"""SVG as text: elements and the file around them, each attribute in its order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

Pair = tuple[float, float]
_NAMESPACES = {
    "xmlns": "http://www.w3.org/2000/svg",
    "xmlns:ev": "http://www.w3.org/2001/xml-events",
    "xmlns:xlink": "http://www.w3.org/1999/xlink",
}
_IN_TEXT = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;"})
# Blanks other than a space are escaped, or a reader makes spaces of them.
_IN_VALUE = _IN_TEXT | str.maketrans({'"': "&quot;", "\t": "&#09;", "\n": "&#10;", "\r": "&#13;"})


def escaped(text: str) -> str:
    """Text as it stands inside an element."""
    return text.translate(_IN_TEXT)


def element(name: str, attributes: Mapping[str, object], inside: str = "") -> str:
    """An element; inside it are others, or `escaped` text."""
    pairs = "".join(
        [f' {key}="{str(value).translate(_IN_VALUE)}"' for key, value in sorted(attributes.items())]
    )
    return f"<{name}{pairs}>{inside}</{name}>" if inside else f"<{name}{pairs} />"


def circle(centre: Pair, radius: float, attributes: Mapping[str, object]) -> str:
    """A circle about a place in user units, y down."""
    x, y = centre
    return element("circle", {"cx": x, "cy": y, "r": radius, **attributes})


def listed_points(points: Iterable[Pair]) -> str:
    """The places of a polygon or polyline, as its attribute has them."""
    return " ".join([f"{x},{y}" for x, y in points])


def svg_file(
    attributes: Mapping[str, object], title: str, recipe: str, drawn: Iterable[str]
) -> bytes:
    """The whole file; `recipe` says how it was made."""
    root = {"baseProfile": "full", "version": "1.1", **_NAMESPACES, **attributes}
    named = element("title", {}, escaped(title)) + element("desc", {}, escaped(recipe))
    xml = element("svg", root, "".join([named, "<defs />", *drawn]))
    return f'<?xml version="1.0" encoding="utf-8"?>\n{xml}\n'.encode()

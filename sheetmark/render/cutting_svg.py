"""SVG for a cutter: hairlines in two groups, CUT and ENGRAVE, 1 user unit = 1 mm."""

from __future__ import annotations

from sheetmark.render.svg_elements import circle, element, listed_points, svg_file
from sheetmark.typesetting.cutting import Round, Stencil

_LINE = {"fill": "none", "stroke-width": 0.1}  # a hairline, mm
_DIGITS = 4


def render_cutting_svg(stencil: Stencil) -> bytes:
    """The stencil as an SVG of its exact size, y down."""
    (left, bottom), (right, top) = stencil.bounds
    width, height = right - left, top - bottom
    attributes = {
        "width": f"{width:.4f}mm",
        "height": f"{height:.4f}mm",
        "viewBox": f"0 0 {width:.4f} {height:.4f}",
    }
    drawn: dict[str, list[str]] = {layer: [] for layer in stencil.colours}

    def at(point: tuple[float, float]) -> tuple[float, float]:
        return (round(point[0] - left, _DIGITS), round(top - point[1], _DIGITS))

    for shape in stencil.shapes:
        named = {"data-name": shape.name}
        if isinstance(shape, Round):
            drawing = circle(at(shape.centre), round(shape.diameter / 2, _DIGITS), named)
        else:
            points = listed_points(map(at, shape.points))
            drawing = element(
                "polygon" if shape.closed else "polyline", {**named, "points": points}
            )
        drawn[shape.layer].append(drawing)
    groups = [
        element("g", {**_LINE, "id": layer, "stroke": colour}, "".join(drawn[layer]))
        for layer, colour in stencil.colours.items()
    ]
    return svg_file(attributes, stencil.title, stencil.recipe, groups)

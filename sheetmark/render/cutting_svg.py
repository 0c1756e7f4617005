"""SVG for a cutter: hairlines in two groups, CUT and ENGRAVE, 1 user unit = 1 mm."""

from __future__ import annotations

from sheetmark.render.light_svgwrite import svgwrite
from sheetmark.typesetting.cutting import Round, Stencil

_HAIRLINE_MM = 0.1
_DIGITS = 4


def render_cutting_svg(stencil: Stencil) -> bytes:
    """The stencil as an SVG of its exact size, y down."""
    (left, bottom), (right, top) = stencil.bounds
    width, height = right - left, top - bottom
    drawing = svgwrite.Drawing(
        size=(f"{width:.4f}mm", f"{height:.4f}mm"),
        viewBox=f"0 0 {width:.4f} {height:.4f}",
        debug=False,
    )
    drawing.set_desc(title=stencil.title, desc=stencil.recipe)
    groups = {
        layer: drawing.add(
            drawing.g(id=layer, fill="none", stroke=colour, stroke_width=_HAIRLINE_MM)
        )
        for layer, colour in stencil.colours.items()
    }

    def at(point: tuple[float, float]) -> tuple[float, float]:
        return (round(point[0] - left, _DIGITS), round(top - point[1], _DIGITS))

    for shape in stencil.shapes:
        if isinstance(shape, Round):
            element = drawing.circle(at(shape.centre), round(shape.diameter / 2, _DIGITS))
        else:
            make = drawing.polygon if shape.closed else drawing.polyline
            element = make([at(point) for point in shape.points])
        element.attribs["data-name"] = shape.name
        groups[shape.layer].add(element)
    xml: str = drawing.tostring()
    return f'<?xml version="1.0" encoding="utf-8"?>\n{xml}\n'.encode()

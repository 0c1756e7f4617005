"""DXF by ezdxf: millimetres, a layer for each thing the machine does, audited."""

from __future__ import annotations

from io import StringIO

from sheetmark.typesetting.cutting import Round, Stencil

# ezdxf's colours by number: red to cut, blue to engrave; the layer's name is what counts.
_COLOURS = {"CUT": 1, "ENGRAVE": 5}


def render_dxf(stencil: Stencil) -> bytes:
    """The stencil as a DXF file, the same bytes every time."""
    import ezdxf
    from ezdxf import units
    from ezdxf.filemanagement import new

    # Else each file would carry the time and a number of its own.
    ezdxf.options.write_fixed_meta_data_for_testing = True  # type: ignore[attr-defined]
    drawing = new("R2010", units=units.MM)
    drawing.header["$MEASUREMENT"] = 1
    drawing.header.custom_vars.append("title", stencil.title)
    drawing.header.custom_vars.append("recipe", stencil.recipe)
    for name, colour in _COLOURS.items():
        drawing.layers.add(name, color=colour)
    space = drawing.modelspace()
    for shape in stencil.shapes:
        style = {"layer": shape.layer}
        if isinstance(shape, Round):
            space.add_circle(shape.centre, shape.diameter / 2, dxfattribs=style)
        else:
            space.add_lwpolyline(shape.points, close=shape.closed, dxfattribs=style)
    audit = drawing.audit()
    if audit.has_errors:
        raise AssertionError(f"the DXF fails its audit: {audit.errors[0].message}")
    text = StringIO()
    drawing.write(text)
    return text.getvalue().encode()

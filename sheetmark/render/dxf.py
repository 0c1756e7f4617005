"""DXF by ezdxf: millimetres, a layer for each thing the machine does, audited."""

from __future__ import annotations

import os
import re
from functools import cache
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from sheetmark.typesetting.cutting import Round, Stencil

# What stands in each file in place of the time and of a number of its own: 1 January 2000.
_DAY = 2451545.0
_NUMBER = "{00000000-0000-0000-0000-000000000000}"
_MARKER = "0.0 @ 2000-01-01T00:00:00.000000+00:00"

if TYPE_CHECKING:
    from ezdxf.document import Drawing


def render_dxf(stencil: Stencil) -> bytes:
    """The stencil as a DXF file, the same bytes every time."""
    _load_alone()
    from ezdxf import units
    from ezdxf.filemanagement import new

    drawing = new("R2010", units=units.MM)
    drawing.header["$MEASUREMENT"] = 1
    drawing.header.custom_vars.append("title", stencil.title)
    drawing.header.custom_vars.append("recipe", stencil.recipe)
    for name, colour in stencil.colours.items():
        drawing.layers.add(name, true_color=int(colour.removeprefix("#"), 16))
    space = drawing.modelspace()
    for shape in stencil.shapes:
        style = {"layer": shape.layer}
        if isinstance(shape, Round):
            space.add_circle(shape.centre, shape.diameter / 2, dxfattribs=style)
        else:
            space.add_lwpolyline(shape.points, close=shape.closed, dxfattribs=style)
    low, high = stencil.bounds
    space.reset_extents((low.x, low.y, 0.0), (high.x, high.y, 0.0))
    audit = drawing.audit()
    if audit.has_errors:
        raise AssertionError(f"the DXF fails its audit: {audit.errors[0].message}")
    return _same_each_time(drawing).encode()


@cache
def _load_alone() -> None:
    """Load ezdxf without the settings and the list of fonts that it keeps in a person's home: no
    file of ours changes with them, and none comes to lie there."""
    names = ("XDG_CACHE_HOME", "XDG_CONFIG_HOME")
    before = {name: os.environ.get(name) for name in names}
    with TemporaryDirectory() as folder:
        fonts = Path(folder) / "ezdxf" / "font_manager_cache.json"
        fonts.parent.mkdir()
        fonts.write_text('{"version": 0, "font-faces": []}', "utf-8")
        os.environ |= dict.fromkeys(names, folder)
        try:
            import ezdxf  # noqa: F401  it reads both while it loads
        finally:
            for name, value in before.items():
                os.environ.pop(name)
                os.environ |= {} if value is None else {name: value}


def _same_each_time(drawing: Drawing) -> str:
    """The drawing's text without the time of writing and the numbers that ezdxf draws for it.

    ezdxf has an option for that, but it holds for the whole program.
    """
    from ezdxf.document import CREATED_BY_EZDXF, WRITTEN_BY_EZDXF
    from ezdxf.sections.classes import ClassesSection

    for name in ("$TDCREATE", "$TDUCREATE", "$TDUUPDATE"):
        drawing.header[name] = _DAY
    drawing.header["$FINGERPRINTGUID"] = _NUMBER
    drawing.ezdxf_metadata()[CREATED_BY_EZDXF] = _MARKER
    required = ClassesSection()
    for section in (required, drawing.classes):
        section.add_required_classes(drawing.dxfversion)
    # ezdxf adds the others in the order of a set, which changes from process to process.
    classes = drawing.classes.classes
    for key in sorted(classes.keys() - required.classes.keys()):
        classes[key] = classes.pop(key)
    text = StringIO()
    drawing.write(text)
    # These three are set while it writes.
    written = text.getvalue().replace(drawing.ezdxf_metadata()[WRITTEN_BY_EZDXF], _MARKER)
    written = re.sub(r"(\$TDUPDATE\n *40\n)[^\n]*", rf"\g<1>{_DAY}", written)
    return re.sub(r"(\$VERSIONGUID\n *2\n)[^\n]*", rf"\g<1>{_NUMBER}", written)

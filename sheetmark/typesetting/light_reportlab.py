"""ReportLab's fonts without pillow, which ReportLab loads at its start and needs for pictures only.

No page here holds a picture; where somebody else draws one with ReportLab, pillow is loaded then.
"""

from __future__ import annotations

from types import ModuleType
from typing import Any

from sheetmark.base.stand_ins import standing_in


class _Pictures(ModuleType):
    """Stands in for `PIL.Image`, which is loaded when ReportLab looks into it."""

    def __getattr__(self, name: str) -> Any:
        from PIL import Image

        return getattr(Image, name)


_pillow = ModuleType("PIL")
vars(_pillow)["Image"] = _Pictures("PIL.Image")
with standing_in(_pillow):
    from reportlab.pdfbase.ttfonts import TTFont

__all__ = ["TTFont"]

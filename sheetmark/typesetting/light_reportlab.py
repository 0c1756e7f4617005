"""ReportLab's fonts without pillow, which ReportLab loads at its start and needs for pictures only.

No page here holds a picture; where somebody else draws one with ReportLab, pillow is loaded then.
"""

from __future__ import annotations

import sys
from threading import active_count
from types import ModuleType
from typing import Any


class _Pictures(ModuleType):
    """Stands in for `PIL.Image`, which is loaded when ReportLab looks into it."""

    def __getattr__(self, name: str) -> Any:
        from PIL import Image

        return getattr(Image, name)


_stand_in = ModuleType("PIL")
vars(_stand_in)["Image"] = _Pictures("PIL.Image")
# Beside another thread, which may want the real one at this moment, the real one is loaded.
if active_count() == 1:
    sys.modules.setdefault("PIL", _stand_in)

from reportlab.pdfbase.ttfonts import TTFont  # noqa: E402  after the stand-in

if sys.modules.get("PIL") is _stand_in:
    del sys.modules["PIL"]

__all__ = ["TTFont"]

"""A scan opened on the page: seen from above at true scale, with the teeth proposed in it.

The scan comes from this machine's own browser, is looked at in memory, and is not kept.
"""

from __future__ import annotations

from base64 import b64encode
from typing import Annotated

from fastapi import APIRouter, Body, Query
from pydantic import BaseModel

from sheetmark.anatomy.teeth import Jaw
from sheetmark.desk.server.computing import COMPUTES
from sheetmark.desk.server.desk import DeskOf
from sheetmark.desk.server.findings import FindingShown, findings_shown
from sheetmark.fitting.scan.turns import Turn

router = APIRouter()

Content = Annotated[bytes, Body(media_type="application/octet-stream")]
PIXELS_PER_MM = 10.0


class ProposedTooth(BaseModel):
    """A tooth (ISO 3950), the middle of its crown in pixels of the picture, counted to the right
    and downwards, and how sure it is, 0 to 1; `unsure` where a person is to look."""

    tooth: str
    middle: tuple[float, float]
    sure: float
    unsure: bool


class Scanned(BaseModel):
    """A jaw seen from above: `picture` is the address of a PNG, sizes are in its pixels."""

    jaw: Jaw
    picture: str
    width: int
    height: int
    pixels_per_mm: float
    teeth: list[ProposedTooth]
    findings: list[FindingShown]


@router.post("/api/arch/scan", openapi_extra=COMPUTES)
def scan(
    desk: DeskOf,
    content: Content,
    name: Annotated[str, Query(max_length=200)],
    jaw: Jaw | None = None,
    turn: Annotated[list[Turn], Query(max_length=40)] = [],  # noqa: B006  FastAPI copies it
) -> Scanned:
    """The teeth of a scan; `turn` are turns by hand, in their order, from the position found."""
    # Loaded here so that the page opens without them.
    import numpy as np

    from sheetmark.fitting.scan.height_map import height_map
    from sheetmark.fitting.scan.jaw import scanned_jaw
    from sheetmark.fitting.scan.picture import picture_png
    from sheetmark.fitting.scan.remarks import SURE_TEETH

    practice = desk.practice()
    scanned = scanned_jaw(content, name, practice.notation, jaw, turn)
    proposals = scanned.proposals
    seen = height_map(proposals.frame.view(scanned.mesh), PIXELS_PER_MM)
    height, width = seen.heights_mm.shape
    # Pixels are counted from the picture's corner here, from a pixel's middle there.
    middles = seen.pixel_of(np.array([tooth.view_mm for tooth in proposals.teeth])) + 0.5
    return Scanned(
        jaw=proposals.jaw,
        picture="data:image/png;base64," + b64encode(picture_png(seen)).decode(),
        width=width,
        height=height,
        pixels_per_mm=PIXELS_PER_MM,
        teeth=[
            ProposedTooth(
                tooth=tooth.tooth.iso,
                middle=(float(column), float(row)),
                sure=tooth.sure,
                unsure=tooth.sure < SURE_TEETH,
            )
            for tooth, (row, column) in zip(proposals.teeth, middles, strict=True)
        ],
        findings=findings_shown(scanned.findings, practice),
    )

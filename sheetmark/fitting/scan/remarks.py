"""What a person should know of the teeth proposed in a scan: each line a look at the mouth."""

from __future__ import annotations

from collections.abc import Iterator

from sheetmark.anatomy.teeth import Notation, write
from sheetmark.base.codes import Code
from sheetmark.base.findings import Action, Choice, Finding
from sheetmark.fitting.scan.propose import Proposals

# Below these the person is to look (assumptions, tried on drawn scans).
SURE_TEETH, SURE_UP, SURE_FRONT, SURE_JAW = 0.6, 0.75, 0.5, 0.9
# A jaw that a person named is doubted only where the scan speaks against it (assumption).
SURE_NAMED_JAW = 0.1


def scan_remarks(proposals: Proposals, notation: Notation) -> tuple[Finding, ...]:
    """Warnings about one scan; none where all is sure."""
    return tuple(_remarks(proposals, notation))


def _remarks(found: Proposals, notation: Notation) -> Iterator[Finding]:
    jaw, frame = found.jaw, found.frame
    if found.inside_out:
        yield Finding(
            Code.SCAN_INSIDE_OUT,
            "warning",
            "The scan's surface faces inwards: the file is inside out, or MIRRORED left to right.",
            "Compare right and left with the mouth before you use this arch.",
            jaw,
        )
    if frame.up_sure < SURE_UP:
        what = "Not sure on which side of the scan the teeth are"
        yield _unsure(Code.SCAN_UP, what, frame.up_sure, SURE_UP, jaw)
    if frame.front_sure < SURE_FRONT:
        what = "Not sure where the front of the scan is"
        yield _unsure(Code.SCAN_FRONT, what, frame.front_sure, SURE_FRONT, jaw)
    limit = SURE_NAMED_JAW if found.jaw_named else SURE_JAW
    if found.jaw_sure < limit:
        other = "lower" if jaw == "upper" else "upper"
        yield Finding(
            Code.SCAN_JAW,
            "warning",
            f"The scan looks like the {other} jaw, not the {jaw} one."
            if found.jaw_named
            else f"Not sure whether the scan shows the {jaw} jaw ({found.jaw_sure:.0%} sure).",
            "Make sure which jaw it is.",
            jaw,
            found.jaw_sure,
            limit,
            (Action(Choice.JAW),),
        )
    unsure = [tooth for tooth in found.teeth if tooth.sure < SURE_TEETH]
    if unsure:
        names = ", ".join(f"{write(t.tooth, notation)} ({t.sure:.0%} sure)" for t in unsure)
        yield Finding(
            Code.SCAN_TEETH,
            "warning",
            f"Not sure of these teeth in the scan: {names}.",
            "Compare the number and the place of each with the picture.",
            jaw,
            min(tooth.sure for tooth in unsure),
            SURE_TEETH,
        )


def _unsure(code: Code, what: str, sure: float, limit: float, jaw: str) -> Finding:
    advice = "Look at the picture, and turn the scan if it is wrong."
    return Finding(code, "warning", f"{what} ({sure:.0%} sure).", advice, jaw, sure, limit)

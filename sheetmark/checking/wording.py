"""The check as sentences and as data, for terminal, page and paper alike."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot
from typing import Any, Literal

from sheetmark.anatomy.teeth import Tooth
from sheetmark.base.frames import SheetPoint
from sheetmark.base.json_files import schema_name
from sheetmark.base.version import __version__
from sheetmark.checking.check_file import CheckedHole, CheckFile
from sheetmark.checking.result import Check, ExtraHole, HoleCheck

FORMAT: Literal["sheetmark-check/1"] = "sheetmark-check/1"
# Smaller shifts and turns are not mentioned.
_NOTHING_MM, _NOTHING_DEG = 0.15, 0.3
# A sheet's own size by its edges: beyond this it stands up, or the page is off scale (assumption).
_SIZE_OFF_MM = 1.0
_MOST_EXTRA = 8


def where(point: SheetPoint) -> str:
    """A move as text, such as `1.2 mm to the patient's left, 0.4 mm towards the nose`."""
    parts = []
    if abs(point.x) >= _NOTHING_MM:
        parts.append(f"{abs(point.x):.1f} mm to the patient's {'left' if point.x > 0 else 'right'}")
    if abs(point.y) >= _NOTHING_MM:
        parts.append(f"{abs(point.y):.1f} mm towards the {'nose' if point.y > 0 else 'chin'}")
    return ", ".join(parts) or "in place"


def headline(check: Check) -> str:
    """The verdict in one sentence."""
    if check.good:
        return _as_planned(check)
    if check.pattern == "wrong side":
        return "Wrong side: the holes are mirrored. Do not use this sheet."
    if check.pattern == "turned":
        return "Wrong way round: the holes are turned against the marks. Do not use this sheet."
    if not check.face_known and check.laid != "straight":
        return (
            "Cannot be told: the sheet lies face down or turned, or it is punched so, and its "
            "marks are not seen. Lay it marked side up, and take another photograph."
        )
    parts = [
        *_counted(check, [hole.tooth for hole in check.missing], "missing"),
        *_counted(check, [h.wanted.tooth for h in check.misplaced], "out of place"),
        *_counted(check, [h.wanted.tooth for h in check.wrong_sizes], "of another size"),
        *_counted(check, [h.wanted.tooth for h in check.ragged], "not round"),
        *([f"{len(check.extra)} too many"] if check.extra else []),
    ]
    if not parts:
        return "Not judged: all holes are cut into a slit. Look at it."
    return f"Not as planned: {'; '.join(parts)}."


def _as_planned(check: Check) -> str:
    within, judged = f"within {check.tolerance_mm:g} mm of", len(check.judged)
    what, whose = f"{judged} holes are", "their places"
    if judged == 1:
        what, whose = "hole is", "its place"
    if judged < len(check.holes):
        return f"As planned, but the slit is not judged: the other {what} {within} {whose}."
    return f"As planned: {'the' if judged == 1 else 'all'} {what} {within} {whose}."


def _counted(check: Check, teeth: list[Any], what: str) -> list[str]:
    return [f"{' '.join(map(check.wanted.written, teeth))} {what}"] if teeth else []


def remarks(check: Check) -> tuple[str, ...]:
    """What a person should know beside the table, a sentence or two each."""
    found = []
    if check.shift_mm is not None:
        found.append(_pattern(check))
    found += [_extra(check, extra) for extra in check.extra[:_MOST_EXTRA]]
    if len(check.extra) > _MOST_EXTRA:
        found.append(f"And {len(check.extra) - _MOST_EXTRA} more holes that no tooth has.")
    found += [
        f"{check.wanted.written(hole.wanted.tooth)} lies so near {check.tolerance_mm:g} mm that "
        f"the photograph does not decide: measure it."
        for hole in check.unsure
    ]
    if check.face_known and check.laid == "face down":
        found.append("The sheet lies face down; its holes are judged as from the marked side.")
    if check.face_known and check.laid == "turned":
        found.append("The sheet lies turned on the page; its holes are judged as on the sheet.")
    if not check.face_known and check.laid == "straight":
        found.append(
            "The sheet's marks are not seen, so which face lies up is taken from the holes alone."
        )
    found += [_slit(check, slit) for slit in check.wanted.slits]
    width, height = check.sheet_size_mm
    sheet = check.wanted.sheet
    if max(abs(width - sheet.width_mm), abs(height - sheet.height_mm)) > _SIZE_OFF_MM:
        found.append(
            f"The sheet measures {width:.1f} x {height:.1f} mm: it stands up, is cut otherwise, or "
            f"the check page was not printed at 100 %. Measure the page's bars."
        )
    return tuple(found)


def _slit(check: Check, slit: Sequence[Tooth]) -> str:
    teeth = " ".join(map(check.wanted.written, slit))
    if any(hole.cut for hole in check.holes if hole.wanted.tooth in slit):
        return (
            f"The slit of {teeth} is there. Its place, ends and width are not judged: look at it."
        )
    return f"The slit of {teeth} is not seen: it is not cut, or lies closed. Look at it."


def _pattern(check: Check) -> str:
    """The pattern as a whole, and what the holes are off apart from it."""
    shift = check.shift_mm
    assert shift is not None
    whole = [where(shift)] if hypot(*shift) >= _NOTHING_MM else []
    if check.turn_deg is not None and abs(check.turn_deg) >= _NOTHING_DEG:
        way = "anticlockwise" if check.turn_deg > 0 else "clockwise"
        whole.append(f"turned {abs(check.turn_deg):.1f} degrees {way}")
    text = f"The pattern as a whole: {', '.join(whole) or 'in place'}."
    own = [h.own_mm for h in check.holes if h.own_mm is not None]
    if own:
        text += f" Apart from that the holes are off by up to {max(own):.1f} mm."
    return text


def _extra(check: Check, extra: ExtraHole) -> str:
    place = f"{extra.diameter_mm:.1f} mm wide, {where(extra.at)} from the sheet's middle"
    if extra.beside is not None:
        return f"A second hole beside {check.wanted.written(extra.beside.tooth)}: {place}."
    return f"A hole that no tooth has: {place}."


def size_text(hole: HoleCheck) -> str:
    """The verdict on the hole's size, as text."""
    if hole.found is None or hole.size is None:
        return "not judged: in a slit" if hole.cut else "missing"
    if not hole.found.diameter_mm:
        return "cannot be told: added by hand"
    if not hole.found.round:
        return "not round: torn, or punched twice"
    others = [mm for mm in hole.sizes_mm if mm != hole.wanted.diameter_mm]
    may = " or ".join(f"{mm:g}" for mm in others)
    if hole.size == "right":
        return f"right, or {may}" if others else "right"
    if hole.size == "wrong":
        return f"wrong: looks like {may}"
    return "cannot be told: between two holes of the punch"


def place_text(check: Check, hole: HoleCheck) -> str:
    """The verdict on the hole's place, as text."""
    if hole.cut:
        return "in a slit"
    if hole.off_mm is None or hole.distance_mm is None:
        return "missing"
    if hole in check.unsure:
        return "too near to tell"
    return "in place" if hole.distance_mm <= check.tolerance_mm else "out of place"


def check_json(check: Check) -> CheckFile:
    """The check as numbers, text, lists and dicts; places in the sheet frame, mm."""
    shift = check.shift_mm
    return {
        "$schema": schema_name(FORMAT),
        "format": FORMAT,
        "sheetmark": __version__,
        "case": check.wanted.name,
        "command": check.wanted.command,
        "verdict": headline(check),
        "good": check.good,
        "remarks": list(remarks(check)),
        "tolerance_mm": check.tolerance_mm,
        "laid": check.laid,
        "pattern": check.pattern,
        "face_known": check.face_known,
        "shift_mm": None if shift is None else [_tidy(shift.x), _tidy(shift.y)],
        "turn_deg": None if check.turn_deg is None else _tidy(check.turn_deg),
        "tilt_deg": _tidy(check.tilt_deg),
        "sheet_size_mm": [_tidy(side) for side in check.sheet_size_mm],
        "holes": [_hole_json(check, hole) for hole in check.holes],
        "extra": [
            {
                "x_mm": _tidy(extra.at.x),
                "y_mm": _tidy(extra.at.y),
                "diameter_mm": _tidy(extra.diameter_mm),
                "beside": extra.beside.tooth.iso if extra.beside else None,
            }
            for extra in check.extra
        ],
    }


def _hole_json(check: Check, hole: HoleCheck) -> CheckedHole:
    wanted = hole.wanted
    data: CheckedHole = {
        "tooth": wanted.tooth.iso,
        "planned": {
            "x_mm": _tidy(wanted.at.x),
            "y_mm": _tidy(wanted.at.y),
            "diameter_mm": wanted.diameter_mm,
        },
        "found": None,
        "place": place_text(check, hole),
        "size": size_text(hole),
    }
    if hole.found is not None and hole.at is not None and hole.off_mm is not None:
        data["found"] = {
            "x_mm": _tidy(hole.at.x),
            "y_mm": _tidy(hole.at.y),
            "diameter_mm": _tidy(hole.found.diameter_mm),
            "off_mm": [_tidy(hole.off_mm.x), _tidy(hole.off_mm.y)],
            "distance_mm": _tidy(hypot(*hole.off_mm)),
            "own_mm": None if hole.own_mm is None else _tidy(hole.own_mm),
            "uncertain_mm": _tidy(hole.uncertain_mm),
        }
    return data


def _tidy(number: float) -> float:
    return round(number, 3) + 0.0

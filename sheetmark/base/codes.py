"""Every finding's code, with what it means in one line of plain English."""

from __future__ import annotations

from enum import StrEnum


class Code(StrEnum):
    """What was found. The value stands in the plan's JSON; `meaning` explains it to a person."""

    meaning: str

    def __new__(cls, value: str, meaning: str) -> Code:
        """A code with its value and its meaning."""
        code = str.__new__(cls, value)
        code._value_, code.meaning = value, meaning
        return code

    # Which teeth come through the sheet
    FEW_IN_FRONT = "few-in-front", "Too few teeth in front of the tooth to treat hold the sheet."
    NO_TOOTH_BEHIND = "no-tooth-behind", "No tooth behind the one to treat can take the clamp."
    NO_RIGHT_END = "no-right-end", "No back tooth on the patient's right can hold the sheet."
    NO_LEFT_END = "no-left-end", "No back tooth on the patient's left can hold the sheet."
    SHORT_ARCH = "short-arch", "One side of a full arch has no second molar."
    NO_MORE = "no-more", "No teeth were added in front: the row already crosses the midline."
    FEW_MORE = "few-more", "Fewer teeth could be added in front than were wanted."

    ROW_RULE = "row-rule", "The row of teeth follows a rule other than the textbooks'."
    ROW_RULE_UNUSED = (
        "row-rule-unused",
        "The row of teeth does not follow the rule that was chosen.",
    )

    # Which of them hold the sheet
    ANCHOR_REPLACED = "anchor-replaced", "The usual anchor is not sound; the next sound tooth is."
    ANCHOR_NOT_SOUND = "anchor-not-sound", "The anchor tooth may not hold a clamp."
    PERHAPS_PARTLY_ERUPTED = (
        "perhaps-partly-erupted",
        "At this age the anchor tooth may be only partly out of the gum.",
    )
    PERHAPS_LOOSE = (
        "perhaps-loose",
        "At this age the anchor, a primary tooth, may be loose.",
    )
    HELD_WITHOUT_CLAMP = "held-without-clamp", "A ligature or wedge holds the sheet at an anchor."
    HOLD_UNUSED = "hold-unused", "Only clamps hold this row, whatever else was chosen."

    # What is different in the mouth
    TOOTH_STATE = "tooth-state", "A tooth differs from the usual, and what that means here."
    OTHER_JAW = "other-jaw", "A tooth of the other jaw was described; it changes nothing here."

    # Holes, strips and slits
    STRETCH_OVER_LIMIT = "stretch-over-limit", "The sheet stretches far while a crown passes."
    END_RIM_OVER_BREAK = (
        "end-rim-over-break",
        "At an end of the row the frame may stretch a rim beyond the break.",
    )
    NO_LARGER_HOLE = "no-larger-hole", "A tooth needs a larger hole than the punch has."
    NARROW_STRIP = "narrow-strip", "The sheet between two holes is narrow and may tear or leak."
    WIDE_STRIP = "wide-strip", "The sheet between two holes is wide and may bunch up."
    MUCH_EASE = "much-ease", "The ease is so large that the sheet may wrinkle between teeth."

    # The arch
    WIDTH_MISSED = "width-missed", "The teeth cannot reach a width across the arch as given."

    # Sheet and clamps
    HOLE_TO_EDGE = "hole-to-edge", "A hole is nearer to an edge of the sheet than it should be."
    SIDE_EDGE = "side-edge", "A side edge of the sheet is too near to the midline."
    UPPER_EDGE = "upper-edge", "The upper edge of the sheet is too low or too high."
    LOWER_EDGE = "lower-edge", "The lower edge of the sheet is too near to the mouth."
    ABOVE_NOSTRILS = "above-nostrils", "The sheet covers the nostrils unless its edge is folded."
    NOT_IN_STOCK = "not-in-stock", "The clinic does not list the sheet in use among its stock."
    NO_CLAMP = "no-clamp", "No clamp in the tray fits an anchor tooth."

    # A mouth that was measured
    UNUSUAL_MEASURE = "unusual-measure", "A measure is far from what mouths usually show."
    MEASURES_DISAGREE = "measures-disagree", "No mouth fits all the measures exactly."
    PREDICTED_PLACE = "predicted-place", "A tooth was not seen; its place is predicted."
    PLACE_KEPT = "place-kept", "A gap in the case changes nothing: the teeth were seen in place."

    # An arch fitted to landmarks
    UNUSUAL_SCALE = "unusual-scale", "All teeth are unusually near or far: check the scale."
    ROW_DIFFERS = "row-differs", "The teeth picked are not those of the base model."
    MIRRORED = "mirrored", "The picture is a mirror image: right and left are exchanged."
    MIRROR_UNKNOWN = "mirror-unknown", "The teeth picked cannot show whether it is a mirror image."
    STRAY_POINT = "stray-point", "A tooth stands away from where the others would put it."
    ODD_WIDTH = "odd-width", "The two points of a tooth are too near together or too far apart."
    SCAN_CRUMBS = "scan-crumbs", "Small loose pieces of the scan were left out."
    SCAN_INSIDE_OUT = "scan-inside-out", "The scan is inside out or mirrored."
    SCAN_UP = "scan-up", "It is not sure on which side of the scan the teeth are."
    SCAN_FRONT = "scan-front", "It is not sure where the front of the scan is."
    SCAN_JAW = "scan-jaw", "It is not sure which jaw the scan shows."
    SCAN_TEETH = "scan-teeth", "Some teeth proposed in the scan are not sure."

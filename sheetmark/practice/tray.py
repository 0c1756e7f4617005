"""The clinic's tray of clamps, in its own words. No catalogue number ships with the product."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

# What the clamp is made for; a front-tooth clamp has a double bow.
ClampKind = Literal["molar", "premolar", "front", "primary-molar"]
Jaws = Literal["alike", "larger-to-cheek"]

# A clamp with its larger jaw towards the cheek is made in two versions: one serves quadrants 1
# and 3, its mirror 2 and 4 (common practice, no source).
Version = Literal["quadrants-1-3", "quadrants-2-4"]


class Clamp(Struct, frozen=True):
    """One sort of clamp that the clinic owns. What kinds do is common practice, no source."""

    label: str
    """The clinic's own free text."""
    kind: ClampKind
    """What it is made for."""
    winged: bool
    """Whether it has wings."""
    jaws: Jaws = "alike"
    """Of like size, or the larger towards the cheek."""
    version: Version | None = None
    """For jaws of unlike size only: the one for quadrants 1 and 3, or its mirror."""
    span_mm: tuple[float, float] | None = None
    """Mesiodistal tooth widths at the neck that its jaws hold, least and most; None: not known."""
    secondary: bool = False
    """Only holds the sheet down beside a stronger one, never alone."""
    cervical: bool = False
    """Draws the gum back from a lesion once the sheet is on; never holds the sheet."""
    jaws_towards_gum: bool = False
    """Its jaws reach below a low crown."""
    count: int = 1
    """How many the clinic owns."""
    retired: bool = False
    """No longer in use."""

    def serves(self, quadrant: int) -> bool:
        """Whether the clamp's jaws suit the quadrant, 1-4 or, primary, 5-8."""
        if self.version is None:
            return True
        odd = ((quadrant - 1) % 4) in (0, 2)
        return odd == (self.version == "quadrants-1-3")


# Invented labels in trade words; what a small tray usually holds (assumption).
DEFAULT_TRAY: tuple[Clamp, ...] = (
    Clamp("molar winged", "molar", winged=True, count=4),
    Clamp("molar wingless", "molar", winged=False, count=4),
    Clamp("premolar winged", "premolar", winged=True, count=4),
    Clamp("premolar wingless", "premolar", winged=False, count=2),
    Clamp("front double bow", "front", winged=True, count=2),
    Clamp("primary molar winged", "primary-molar", winged=True, count=2),
)

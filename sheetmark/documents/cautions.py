"""The short cautions that stand on every printed page: by what a page is used for."""

from __future__ import annotations

CAUTIONS: tuple[str, ...] = (
    # Ask about latex; known allergy: latex-free sheet and gloves (seen in print).
    "Ask about latex. Allergy: latex-free sheet and gloves.",
    # Floss tied to the clamp before it goes in (seen in print).
    "Floss through both clamp holes, its end outside the mouth.",
    # Common practice, no source.
    "Do not force the sheet. If it sticks, take it off and try again.",
    # Nostrils free, patient can breathe through the nose (seen in print; Black 1908).
    "Keep the nostrils free. Ask: breathing through the nose?",
    # A ragged hole tears: punch clean, look at each hole (Davis 1917, seen in print).
    "Punch clean; look at each hole. A ragged one tears.",
    # Sturdevant (from memory); a clamp on gum or bone injures (J Endod 2023, seen in print).
    "After: cut the strips, look for missing pieces, check the gum.",
)

# For a page that is measured, and never used on a patient. Common practice, no source.
PRINTING_CAUTIONS: tuple[str, ...] = (
    "Print at 100 %, actual size. Fit nothing to the page.",
    "Measure both bars with a rule. Wrong lengths: do not use the print.",
    "Print and measure again after a change of printer, driver, viewer or paper.",
)

# For a drawing that is looked at only. Common practice, no source.
DRAWING_CAUTIONS: tuple[str, ...] = (
    "A drawing to look at: mark no sheet from it.",
    "Print overlays at 100 % and measure both bars of each.",
)

RESPONSIBILITY = "The treating clinician decides. Local rules apply."

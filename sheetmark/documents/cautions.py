"""The short cautions that stand on every printed page."""

from __future__ import annotations

CAUTIONS: tuple[str, ...] = (
    # Ask about latex; known allergy: latex-free sheet and gloves (seen in print).
    "Ask about latex. Allergy: latex-free sheet and gloves.",
    # Floss tied to the clamp before it goes in (seen in print).
    "Tie floss to the clamp before it goes in.",
    # Common practice, no source.
    "Do not force the sheet. If it sticks, take it off and try again.",
    # Nostrils free, patient can breathe through the nose (seen in print; Black 1908).
    "Nostrils stay free; the patient breathes through the nose.",
    # A ragged hole tears: punch clean, look at each hole (Davis 1917, seen in print).
    "Punch clean; look at each hole. A ragged one tears.",
    # Sturdevant (from memory); a clamp on gum or bone injures (J Endod 2023, seen in print).
    "After: cut the strips, look for missing pieces, check the gum.",
)

RESPONSIBILITY = "The treating clinician decides. Local rules apply."

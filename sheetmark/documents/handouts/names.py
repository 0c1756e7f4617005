"""The handouts by name, and what each shows."""

from __future__ import annotations

HANDOUTS = {
    "arch-map": "both jaws at true scale, every tooth numbered, the pitches written",
    "numbering": "the three notations side by side",
    "exercise": "cases to plan by hand, or sheets with faults to find, and their key",
    "why-the-middle-moves": "one case centred, by the rule, and where the pull is most even",
    "hole-size": "the punch's holes, and the stretch each asks of the sheet",
    "steps": "placing and taking off, winged and wingless, with drawings",
}

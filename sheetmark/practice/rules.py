"""The figures that rules of placement and cutter files take, each with its source beside it."""

from __future__ import annotations

from msgspec import Struct


class PlacementRules(Struct, frozen=True, kw_only=True):
    """Preferred limits of placement, mm. All are assumptions, unless said otherwise.

    That the sheet's middle goes into the working quadrant is common practice, no source; that
    the upper lip is covered and the nostrils stay free is Black 1908 (seen in print).
    """

    inwards_mm: float = 10.0
    """The sheet's middle, inwards of the row of holes."""
    upper_edge_above_incisal_mm: tuple[float, float] = (15.0, 30.0)
    """The sheet's upper edge, above the upper incisal line: least and most."""
    nostrils_above_incisal_mm: float = 24.0
    """Where an adult's nostrils begin: the lower end of about 24 to 28 (derived: `plan.face`)."""
    lower_edge_below_incisal_mm: float = 85.0
    """The sheet's lower edge, below the upper incisal line, at least: mouth opening 40, lower lip
    about 22, the rest to reach the frame."""
    side_edge_from_midline_mm: float = 45.0
    """Each side edge, from the midline, at least."""
    hole_to_edge_mm: float = 20.0
    """A hole, from any edge, at least. The upper incisors' holes lie about 25 below the edge
    (Sturdevant, from memory)."""
    hole_to_edge_refused_mm: float = 15.0
    """Nearer than this a plan is refused."""
    lesion_facial_mm: float = 1.0
    """How far a gumline lesion's hole moves to the facial side (Sturdevant, from memory)."""
    lesion_to_neighbour_mm: float = 1.0
    """How far it moves away from each neighbour (Sturdevant, from memory)."""


class CutterColours(Struct, frozen=True):
    """The colours of a cutter file's two layers, `#rrggbb`; the layers' names are what counts."""

    cut: str = "#000000"
    """Lines to cut (assumption)."""
    engrave: str = "#808080"
    """Lines to engrave (assumption)."""

"""Printed holes laid over a patient's teeth: the best rigid fit in the plane, and what is left.

Points are complex numbers x + iy in mm. A sheet can be moved and turned, but neither scaled nor
turned over; the turn that leaves the least sum of squares has a closed form in the plane (the
problem of Kabsch and Procrustes): the argument of one sum.
"""

from __future__ import annotations

import numpy as np

from sheetmark.studies.coverage.laying import Array
from sheetmark.studies.coverage.patients import Centres


def worst_holes(holes: Centres, teeth: Centres) -> Array:
    """The largest distance from a hole to its tooth after the fit, mm: an overlay to a row, a
    patient to a column. `holes` has an overlay to a row and a tooth to a column, `teeth` a tooth
    to a row and a patient to a column."""
    holes = holes - holes.mean(axis=1, keepdims=True)
    teeth = teeth - teeth.mean(axis=0)
    turns = holes.conj() @ teeth
    turns /= np.abs(turns)
    worst = np.empty(turns.shape)
    for number, (row, turn) in enumerate(zip(holes, turns, strict=True)):
        off = teeth - row[:, None] * turn
        worst[number] = (off.real**2 + off.imag**2).max(axis=0)
    return np.sqrt(worst)


def worst_pitches(holes: Centres, teeth: Centres) -> Array:
    """The largest error of any pitch between neighbours, mm, which no fit can change; shapes as
    in `worst_holes`."""
    printed, own = np.abs(np.diff(holes, axis=1)), np.abs(np.diff(teeth, axis=0))
    worst: Array = np.abs(printed[:, :, None] - own).max(axis=1)
    return worst

"""Whether a mesh can be one jaw in mm. Limits are assumptions, from adult and child arches."""

from __future__ import annotations

import numpy as np

from sheetmark.base.codes import Code
from sheetmark.base.findings import Finding, InputError
from sheetmark.fitting.scan.mesh import Floats, Ints, Mesh, area_vectors, parts, subset

LEAST_MM, LARGEST_MM = 32.0, 105.0  # longest side of the box round one jaw, base of a cast included
LEAST_ACROSS_MM = 26.0  # second longest side: a row of one side is about 15
SMALL_PART_MM2 = 25.0  # a crown has 100 and more
SMALL_PARTS_SHARE = 0.03  # of the whole area
STACKED_SHARE = 0.25  # of the cells; neighbours' crowns share 0.01-0.06, measured


def checked_jaw(mesh: Mesh, name: str) -> tuple[Mesh, list[Finding]]:
    """The mesh without its crumbs, and what was left out.

    Raises InputError when its size says metres, inches, a single tooth or a head, when both jaws
    lie in it, or when much of it is loose crumbs.
    """
    labels = parts(mesh)
    areas = np.bincount(labels, np.linalg.norm(area_vectors(mesh), axis=1))
    whole = areas >= 0.01 * areas.sum()
    _check_size(subset(mesh, whole[labels]) if whole.any() else mesh, name)
    small = areas < SMALL_PART_MM2
    share = float(areas[small].sum() / areas.sum())
    if share > SMALL_PARTS_SHARE:
        raise InputError(
            f"{name}: {int(small.sum())} loose crumbs, {100 * share:.0f} % of the surface, at most "
            f"{100 * SMALL_PARTS_SHARE:.0f} %; clean the scan in the scanner's program"
        )
    findings = []
    if small.any():
        count = int(small.sum())
        findings.append(
            Finding(
                Code.SCAN_CRUMBS, "info", f"{count} loose crumbs of the scan were left out.",
                "Look whether a tooth is missing.", value=float(count),
            )
        )  # fmt: skip
        keep = ~small[labels]
        mesh, labels = subset(mesh, keep), np.unique(labels[keep], return_inverse=True)[1]
    _check_size(mesh, name)
    _check_one_layer(mesh, labels, name)
    return mesh, findings


def _sides_mm(mesh: Mesh) -> Floats:
    """Longest, middle and shortest side of the box along the mesh's own axes."""
    centred = mesh.vertices - mesh.vertices.mean(axis=0)
    axes = np.linalg.eigh(centred.T @ centred)[1]
    return np.asarray(np.sort(np.ptp(centred @ axes, axis=0))[::-1], dtype=np.float64)


def _check_size(mesh: Mesh, name: str) -> None:
    longest, across, _ = (float(side) for side in _sides_mm(mesh))
    reason = ""
    if LEAST_MM <= 1000 * longest <= LARGEST_MM:
        reason = "looks like metres; export in mm"
    elif LEAST_MM <= 25.4 * longest <= LARGEST_MM:
        reason = "looks like inches or cm; export in mm"
    elif longest < 1:
        reason = "too small in every unit; export one jaw in mm"
    elif longest < 16:
        reason = "a single tooth, or cm; scan the whole jaw, and export in mm"
    elif longest < LEAST_MM:
        reason = "a few teeth only; scan the whole jaw"
    elif longest > 10_000:
        reason = "looks like micrometres; export in mm"
    elif longest > LARGEST_MM:
        reason = (
            "a whole head, or both jaws side by side; export one jaw"
            if longest < 600
            else "too large; export one jaw in mm"
        )
    elif across < LEAST_ACROSS_MM:
        raise InputError(
            f"{name}: {longest:.0f} × {across:.0f} mm, one side of a jaw only (at least "
            f"{LEAST_ACROSS_MM:.0f} across); scan the whole jaw"
        )
    if reason:
        raise InputError(
            f"{name}: {longest:.3g} long, one jaw is {LEAST_MM:.0f}-{LARGEST_MM:.0f} mm: {reason}"
        )


def _check_one_layer(mesh: Mesh, labels: Ints, name: str) -> None:
    """Both jaws in one file: parts lie over one another nearly everywhere."""
    middles = mesh.vertices[mesh.faces].mean(axis=1)
    middles -= middles.mean(axis=0)
    axes = np.linalg.eigh(middles.T @ middles)[1]
    across = np.floor((middles @ axes)[:, 1:] / 1.0).astype(np.int64)
    across -= across.min(axis=0)
    cell = across[:, 0] * (across[:, 1].max() + 1) + across[:, 1]
    pairs = np.unique(cell * np.int64(labels.max() + 1) + labels)
    counts = np.unique(pairs // (labels.max() + 1), return_counts=True)[1]
    share = float((counts > 1).mean())
    if share > STACKED_SHARE:
        raise InputError(
            f"{name}: two surfaces lie over one another in {100 * share:.0f} % of the scan (at "
            f"most {100 * STACKED_SHARE:.0f} %), as when both jaws are in one file; export one jaw"
        )

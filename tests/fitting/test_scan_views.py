"""The view from above: heights and scale of its picture, and what many triangles cost."""

from __future__ import annotations

import tracemalloc
from io import BytesIO
from time import process_time

import numpy as np
import pytest
from PIL import Image

from sheetmark.fitting.scan.frame import find_frame
from sheetmark.fitting.scan.height_map import height_map
from sheetmark.fitting.scan.mesh import Mesh, merged
from sheetmark.fitting.scan.picture import picture_png, scale_of_png
from sheetmark.fitting.scan.plausible import checked_jaw
from sheetmark.fitting.scan.propose import propose
from sheetmark.fitting.scan.read import read_scan
from tests.helpers.scan_files import as_file, drawn
from tests.helpers.scans import Recipe

# Two upright pins 30 mm apart, on a square of 50 by 40 mm at z = 0, in mm.
PINS = ((-15.0, 5.0), (15.0, 5.0))


def plate_with_pins() -> Mesh:
    corners = [(-25.0, -20.0, 0), (25.0, -20.0, 0), (25.0, 20.0, 0), (-25.0, 20.0, 0)]
    faces = [(0, 1, 2), (0, 2, 3)]
    for x, y in PINS:
        start = len(corners)
        corners += [(x - 1, y - 1, 5), (x + 1, y - 1, 5), (x + 1, y + 1, 5), (x - 1, y + 1, 5)]
        faces += [(start, start + 1, start + 2), (start, start + 2, start + 3)]
    return merged(np.array(corners, float), np.array(faces))


@pytest.mark.parametrize("pixels_per_mm", [4.0, 10.0])
def test_the_view_is_at_true_scale_and_not_mirrored(pixels_per_mm: float) -> None:
    seen = height_map(plate_with_pins(), pixels_per_mm)
    rows, columns = np.nonzero(seen.heights_mm > 4)
    left, right = columns[columns < columns.mean()], columns[columns > columns.mean()]
    assert (right.mean() - left.mean()) / pixels_per_mm == pytest.approx(30.0, abs=0.01)
    # The pins stand above the middle of the plate, so in the upper half of the picture.
    assert rows.max() < seen.heights_mm.shape[0] / 2
    points = seen.point_of(np.column_stack([rows, columns]).astype(float))
    assert points[:, 1].mean() == pytest.approx(5.0, abs=0.01)
    assert np.allclose(seen.point_of(seen.pixel_of(np.array(PINS))), PINS)


def test_the_highest_surface_is_seen() -> None:
    seen = height_map(plate_with_pins(), 4.0)
    assert set(np.unique(seen.heights_mm[seen.seen])) == {0.0, 5.0}
    assert seen.seen.sum() / 16 == pytest.approx(50 * 40, rel=0.02)


def test_the_picture_has_its_scale_in_the_file() -> None:
    seen = height_map(plate_with_pins(), 10.0)
    content = picture_png(seen)
    assert scale_of_png(content) == 10.0
    with Image.open(BytesIO(content)) as image:
        assert image.size == (seen.heights_mm.shape[1], seen.heights_mm.shape[0])
        assert image.info["dpi"] == pytest.approx((254.0, 254.0), abs=0.01)
    plain = BytesIO()
    Image.new("L", (4, 4)).save(plain, "PNG")
    assert scale_of_png(plain.getvalue()) is None


def test_grooves_and_gaps_between_crowns_show() -> None:
    scan = drawn(Recipe("upper", 7000, crowding=0.4, triangles=20_000))
    frame = propose(scan.mesh, "upper").frame
    with Image.open(BytesIO(picture_png(height_map(frame.view(scan.mesh), 5.0)))) as image:
        grey = np.asarray(image).astype(float)
    shown = grey[grey < 255]
    assert np.percentile(shown, 5) < 80
    assert np.percentile(shown, 95) > 170


FEW, MANY = 20_000, 100_000
MOST = 600_000


def surface_of(content: bytes) -> None:
    """All that grows with the triangles; the teeth are found in its picture of fixed size."""
    mesh, _ = checked_jaw(read_scan(content, "a.stl"), "a.stl")
    height_map(find_frame(mesh).view(mesh), 5.0)


def seconds(content: bytes) -> float:
    """CPU, the less of two."""
    times = []
    for _ in range(2):
        start = process_time()
        surface_of(content)
        times.append(process_time() - start)
    return min(times)


def peak(content: bytes) -> float:
    """The most bytes held at a time."""
    tracemalloc.start()
    surface_of(content)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return most


def test_triangles_cost_no_more_than_their_share() -> None:
    """Five times the triangles take less than ten times as long, 25 times where work grows with
    their square; and by what both take, 600,000 fit into 450 MB. The scan study measures these."""
    few, many = (
        as_file(drawn(Recipe("upper", 7000, triangles=count)).mesh) for count in (FEW, MANY)
    )
    surface_of(few)
    assert seconds(many) < 10 * seconds(few)
    at_few, at_many = peak(few), peak(many)
    at_most = at_few + (at_many - at_few) * (MOST - FEW) / (MANY - FEW)
    assert at_most < 450e6, f"{at_most / 1e6:.0f} MB"

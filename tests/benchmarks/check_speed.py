"""Time and memory of one check, in a process of its own:

    python -m tests.benchmarks.check_speed PHOTO.jpg PLAN.json

The yardstick is to decode the same photograph whole: it is timed in turn with the check, so that
what else the machine does hits both alike.
"""

from __future__ import annotations

import sys
from io import BytesIO
from pathlib import Path
from statistics import median
from time import process_time

import numpy as np
from PIL import Image

from sheetmark.checking.wanted import read_wanted
from sheetmark.jobs.check import check_photo

ROUNDS = 7


def peak_mb() -> float:
    """The most memory that this process has had, MB; Linux alone says it without its parent's."""
    status = Path("/proc/self/status").read_text("ascii")
    return next(int(line.split()[1]) for line in status.splitlines() if "VmHWM" in line) / 1024


def decode(data: bytes) -> None:
    with Image.open(BytesIO(data)) as image:
        np.asarray(image.convert("RGB"))


def main() -> None:
    photo, plan = map(Path, sys.argv[1:])
    data, wanted = photo.read_bytes(), read_wanted(plan.read_bytes(), plan.name)
    before = peak_mb()
    check_photo(data, photo.name, wanted, 2.0)
    after = peak_mb()
    decoded, checked = [], []
    for _ in range(ROUNDS):
        start = process_time()
        decode(data)
        middle = process_time()
        check_photo(data, photo.name, wanted, 2.0)
        decoded.append(middle - start)
        checked.append(process_time() - middle)
    with Image.open(BytesIO(data)) as image:
        pixels = image.width * image.height / 1e6
    ratio = median(b / a for a, b in zip(decoded, checked, strict=True))
    print(
        f"One check of a JPEG of {pixels:.0f} megapixels ({len(data) / 1e6:.1f} MB) takes "
        f"{ratio:.1f} times as long as to decode it whole: of processor {median(checked):.2f} s "
        f"against {median(decoded):.2f} s, medians of {ROUNDS} in turn. A process of its own "
        f"needs at most {after:.0f} MB, {after - before:.0f} MB more than before the check."
    )


if __name__ == "__main__":
    main()

"""Whether a desk that runs all day keeps its memory: previews of cases that all differ.

`python -m tests.benchmarks.memory` asks for 20,000 of them, one after the other, and prints what
the desk's process holds after each tenth (by `ps`, so not on Windows); a number behind it asks for
so many. The first tenth fills the caches, which are bounded; from there on it should be flat.
"""

from __future__ import annotations

import subprocess
import sys

from tests.benchmarks.desk import TEETH, Client, ask, desk

PREVIEWS = 20_000
PROCEDURES = ("restoration", "crown", "cervical", "full-arch")


def held_mb(process: int) -> float:
    """Resident memory of a process, MB."""
    command = ["ps", "-o", "rss=", "-p", str(process)]
    return int(subprocess.run(command, check=True, capture_output=True).stdout) / 1024


def choices(number: int) -> str:
    """Such that no two previews are of the same case: a tooth stands a little off."""
    procedure = PROCEDURES[number % len(PROCEDURES)]
    tooth = TEETH[number % len(TEETH)].iso
    off_mm = 0.1 + number % 997 * 0.001
    return f"&for={procedure}&with={tooth}%20mesial%20{off_mm:.3f}&reference={number}"


def main(arguments: list[str]) -> None:
    count = int(arguments[0]) if arguments else PREVIEWS
    tenth = max(count // 10, 1)
    held = []
    with desk() as (at, process):
        client = Client(at)
        print(f"opened: {held_mb(process):.1f} MB", flush=True)
        for number in range(1, count + 1):
            ask(client, TEETH[number % len(TEETH)], choices(number))
            if number % tenth == 0:
                held.append(held_mb(process))
                print(f"{number:>6} previews: {held[-1]:.1f} MB", flush=True)
    grown = held[-1] - held[0]
    each = 1000 * grown / (count - tenth)
    print(f"grown after the first tenth: {grown:+.1f} MB, {each:+.2f} MB for 1,000 previews")


if __name__ == "__main__":
    main(sys.argv[1:])

"""Arbitrary argument lists and files thrown at the program, in numbers for a night:

    python -m tests.fuzz --rounds 20000

runs that many argument lists, half as many files, a tenth as many requests to the page, and a
five-hundredth as many starts of the desk with all requests at once and runs that are stopped at a
random moment. Each outcome is done, bad
input in one line a problem, or stopped; anything else ends it with what was asked. The suite runs
a few hundred of the same.
"""

from __future__ import annotations

import argparse
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st

from sheetmark.base.files import PART_ENDING
from tests.helpers.damaged_files import GOOD, KINDS, check_file, damage, damaged
from tests.helpers.many_starts import MANY_SERVERS, codes
from tests.helpers.wild_arguments import after_a_command, aimed, chaos, check, nearly_right
from tests.helpers.wild_requests import WAYS, described, request_endpoint


def stop_at_random(rounds: int) -> None:
    """Each run that is stopped leaves one line, its code and nothing half written."""
    dice = random.Random(rounds)
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "list.csv").write_text("teeth\n" + "16\n" * 4000)
        command = [sys.executable, "-m", "sheetmark", "day", "list.csv", "-q", "-o", "day.pdf"]
        for _ in range(rounds):
            number = dice.choice([signal.SIGINT, signal.SIGTERM])
            with subprocess.Popen(
                command, cwd=folder, stderr=subprocess.PIPE, text=True, env=None
            ) as running:
                time.sleep(dice.uniform(0.1, 1.0))  # the first hundredths are the interpreter's
                running.send_signal(number)
                _, err = running.communicate(timeout=30)
            assert running.returncode in (128 + number, 0), (running.returncode, err)
            assert "Traceback" not in err, err
            assert not [p for p in Path(folder).iterdir() if p.name.endswith(PART_ENDING)]


def rounds_of(count: int, first: int) -> list[tuple[str, Callable[[], None]]]:
    """What is run, with its name; `first` seeds the dice."""

    def many(strategy: st.SearchStrategy[list[str]], share: int, what: Callable[..., None]) -> None:
        quick = settings(
            max_examples=max(1, count // share),
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
        )
        seed(first)(quick(given(strategy)(what)))()

    def files() -> None:
        def check_damaged(both: tuple[str, list[tuple[float, int, bytes]]]) -> None:
            kind, changes = both
            check_file(kind, damaged(GOOD[kind], changes))

        many(st.tuples(st.sampled_from(sorted(KINDS)), damage), 2, check_damaged)  # type: ignore[arg-type]

    def requests() -> None:
        for endpoint, mode in WAYS:
            with tempfile.TemporaryDirectory() as folder:
                endpoints = described(Path(folder, "practice.toml"))
                request_endpoint(endpoints, endpoint, mode, max(1, count // 10 // len(WAYS)))

    def servers() -> None:
        starts = max(1, count // 500)
        with tempfile.TemporaryDirectory() as folder:
            assert codes(MANY_SERVERS, Path(folder), str(starts)) == [0] * starts

    return [
        ("anything", lambda: many(chaos, 4, check)),
        ("a command and anything", lambda: many(after_a_command, 4, check)),
        ("a case nearly right", lambda: many(nearly_right, 4, check)),
        ("one odd value", lambda: many(aimed, 4, lambda more: check(["overlay", "16", *more]))),
        ("files", files),
        ("requests to the page", requests),
        ("starts of the desk", servers),
        ("stops", lambda: stop_at_random(max(1, count // 500))),
    ]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--rounds", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    for name, run_it in rounds_of(chosen.rounds, chosen.seed):
        begun = time.perf_counter()
        run_it()
        print(f"{name}: held, {time.perf_counter() - begun:.0f} s", flush=True)


if __name__ == "__main__":
    main()

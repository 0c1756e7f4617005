"""All checks in one command: format, lint, types, tests. `python tests/check.py`."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

CHECKS = (
    ["ruff", "format", "--check", "."],
    ["ruff", "check", "."],
    ["mypy"],
    ["pytest"],
)


def main(arguments: list[str]) -> int:
    """Run every check, even after one failed; 0 when all passed."""
    checks = CHECKS[:-1] if "--without-tests" in arguments else CHECKS
    root = Path(__file__).parent.parent
    failed = []
    for check in checks:
        print(f"== {' '.join(check)}", flush=True)
        if subprocess.run([sys.executable, "-m", *check], cwd=root, check=False).returncode:
            failed.append(check[0])
    print(f"failed: {', '.join(failed)}" if failed else "all checks passed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

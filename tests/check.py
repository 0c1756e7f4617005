"""All checks in one command: format, lint, types, tests. `python tests/check.py`.

The chairside page's scripts are checked with Node.js packages, which are installed once with
`npm install --no-package-lock --prefix tests/js`. Where they are missing, their checks are left
out and the last line says so; in CI they fail.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
SCRIPTS = Path("tests", "js")
PACKAGES = SCRIPTS / "node_modules"
PYTHON_CHECKS = {
    "ruff format": ["ruff", "format", "--check", "."],
    "ruff check": ["ruff", "check", "."],
    "mypy": ["mypy"],
    "pytest": ["pytest"],
}
SCRIPT_CHECKS = {
    "eslint": [
        str(PACKAGES / "eslint" / "bin" / "eslint.js"),
        *("--config", str(SCRIPTS / "eslint.config.js")),
        *("--max-warnings", "0"),
        str(Path("sheetmark", "desk", "page")),
        str(Path("sheetmark", "desk", "single", "page")),
    ],
    "tsc": [str(PACKAGES / "typescript" / "bin" / "tsc"), "--project", str(SCRIPTS)],
}


def main(arguments: list[str]) -> int:
    """Run every check, even after one failed; 0 when all passed."""
    checks = {name: [sys.executable, "-m", *call] for name, call in PYTHON_CHECKS.items()}
    if "--without-tests" in arguments:
        del checks["pytest"]
    missing = _missing()
    if not missing:
        node = str(shutil.which("node"))
        checks = {name: [node, *call] for name, call in SCRIPT_CHECKS.items()} | checks
    failed = [name for name, call in checks.items() if not _passes(name, call)]
    if missing and os.environ.get("CI"):
        failed.append(missing)
    elif missing:
        print(f"left out: {missing}")
    print(f"failed: {', '.join(failed)}" if failed else "all checks passed")
    return 1 if failed else 0


def _missing() -> str:
    """What the checks of the page's scripts lack, and what to do about it; empty for nothing."""
    checks = " and ".join(SCRIPT_CHECKS)
    install = f"npm install --no-package-lock --prefix {SCRIPTS.as_posix()}"
    if shutil.which("node") is None:
        return f"{checks} (no Node.js: install it, then run {install})"
    if not (ROOT / PACKAGES / "eslint").exists():
        return f"{checks} (not installed: run {install})"
    return ""


def _passes(name: str, call: list[str]) -> bool:
    print(f"== {name}", flush=True)
    return subprocess.run(call, cwd=ROOT, check=False).returncode == 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

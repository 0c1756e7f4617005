"""The program itself, also `python -m sheetmark`: it can be stopped from its first line on."""

from __future__ import annotations

import gc
import os
import sys

_LINE = b"sheetmark: stopped; nothing half written\n"

try:
    import signal
except KeyboardInterrupt:  # this alone takes a hundredth of a second
    os.write(2, _LINE)
    os._exit(130)

TYPE_CHECKING = False
if TYPE_CHECKING:
    from types import FrameType
    from typing import NoReturn

# More new objects than a plain overlay makes: looking for garbage among what is only being loaded
# would take a tenth of it.
_OBJECTS_BEFORE_A_LOOK = 100_000
_SIGNALS = [getattr(signal, name, None) for name in ("SIGINT", "SIGTERM", "SIGHUP")]


def main() -> NoReturn:
    """Load the program and run its command line; see `sheetmark.cli.app.main` for the exit code."""
    gc.set_threshold(_OBJECTS_BEFORE_A_LOOK)
    _open_streams()
    _answer(_stop_while_loading)
    if sys.argv[1:] == ["--version"]:
        _show_version()
    from sheetmark.cli.app import run
    from sheetmark.cli.stopped import raise_stopped

    _answer(raise_stopped)
    code = run()
    _answer(signal.SIG_IGN)  # all is written
    gc.freeze()  # nor is the interpreter to look through all of it as it ends
    sys.exit(code)


def _open_streams() -> None:
    """Where the program was started without them, what goes there goes nowhere; nor may an output
    take their numbers."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            nowhere = os.open(os.devnull, os.O_WRONLY)
            setattr(sys, name, os.fdopen(nowhere, "w", encoding="utf-8"))


def _show_version() -> None:
    """Write the version and exit at once; where it cannot be written, return for the words."""
    from sheetmark.base.version import LINE

    try:
        print(LINE, flush=True)
    except OSError:
        return
    sys.exit(0)


def _answer(handler: signal.Handlers | signal._HANDLER) -> None:
    for number in filter(None, _SIGNALS):
        if signal.getsignal(number) is not signal.SIG_IGN:  # as nohup and a background job ask
            signal.signal(number, handler)


def _stop_while_loading(number: int, _frame: FrameType | None) -> None:
    """Nothing is written yet, and an exception may be lost in what is half loaded."""
    os.write(2, _LINE)
    os._exit(128 + number)


if __name__ == "__main__":
    main()

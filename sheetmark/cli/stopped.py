"""A signal that ends the program, as an exception that lets what is half written be removed."""

from __future__ import annotations

import signal
import sys
from threading import Timer, main_thread
from types import FrameType

# Until the callback is left in which an exception counts for nothing (assumption).
_SOON_SECONDS = 0.01


class Stopped(BaseException):
    """The program was asked to end, by the signal of that number."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


class Interrupted(Stopped, KeyboardInterrupt):
    """Ctrl-C. Python ends without an exit code of ours where its own KeyboardInterrupt has once
    passed through code that was made at run time, as that of data classes."""


def raise_stopped(number: int, _frame: FrameType | None) -> None:
    """Answer a signal: once in good order; a second one ends the program at once."""
    sys.unraisablehook = _once_more
    signal.signal(number, signal.SIG_DFL)
    raise (Interrupted if number == signal.SIGINT else Stopped)(number)


def _once_more(lost: sys.UnraisableHookArgs) -> None:
    """Python drops an exception that comes in a callback of its own, such as `__del__`; the signal
    is given again."""
    if not isinstance(lost.exc_value, Stopped):
        sys.__unraisablehook__(lost)
        return
    number = lost.exc_value.number
    signal.signal(number, raise_stopped)
    Timer(_SOON_SECONDS, _give, [number]).start()


def _give(number: int) -> None:
    ident = main_thread().ident
    if sys.platform == "win32" or ident is None:
        signal.raise_signal(number)
    else:
        # Given to this thread, it would not wake the main one from a wait.
        signal.pthread_kill(ident, number)

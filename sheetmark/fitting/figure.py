"""A figure of a mouth that was measured, beside what was measured and what is usual. mm."""

from __future__ import annotations

from msgspec import Struct


class Figure(Struct, frozen=True):
    """A line of the result, mm: what was measured, and what the mouth has in its place."""

    what: str
    """What the figure is of."""
    fitted_mm: float
    """What it is in the fitted mouth."""
    measured_mm: float | None = None
    """What was measured; None where it was not."""
    expected: str = ""
    """What the base model has, with the SD among mouths, as text."""
    sd_mm: float | None = None
    """How sure a figure is that was not measured: its SD."""

    @property
    def sentence(self) -> str:
        """The figure as a line of text, mm with two decimals."""
        fitted = f"{self.fitted_mm:.2f}"
        if self.measured_mm is None:
            return f"{self.what}: {fitted}" + (f" (SD {self.sd_mm:.1f})" if self.sd_mm else "")
        measured = f"{self.measured_mm:.2f}"
        if measured == fitted:
            return f"{self.what}: {fitted}, as measured"
        return f"{self.what}: {fitted}, {measured} measured"

"""Cases by name, for the tests that read finished pages back."""

from __future__ import annotations

from msgspec.structs import replace

from sheetmark.base.codes import Code
from sheetmark.base.findings import Finding
from sheetmark.practice.settings import STANDARD_SHEETS, Practice, Sheet
from tests.helpers.valid_cases import Sample, sample

SMALL, _ = STANDARD_SHEETS
NAMED_CASES = {
    "molar": sample("16"),
    "front": sample("11"),
    "root canal": sample("36", procedure="root-canal"),
    "universal": sample("12", notation="universal"),
    "palmer on letter": sample("44", Practice(paper="letter", sheet=SMALL), notation="palmer"),
    "full arch": sample("21", procedure="full-arch"),
    "sheet shorter than its bar": sample("36", Practice(sheet=Sheet(100, 90))),
    "primary": sample("74", arch="age-6", notation="universal"),
}


def _many_findings() -> Sample:
    """A plan with more to say than one page holds."""
    findings = tuple(
        Finding(
            Code.TOOTH_STATE, "warning" if i % 3 else "info", f"Finding {i} of many.", "Look at it."
        )
        for i in range(90)
    )
    return Sample(replace(NAMED_CASES["molar"].plan, findings=findings))


MANY_FINDINGS = _many_findings()

"""Which tests run in one process, since what one of them computes serves the others."""

from __future__ import annotations

# Each group's modules or single tests, below `tests`.
GROUPS = {
    "solved membranes": (
        "cli/test_strain.py",
        "desk/test_case_page.py::test_the_most_even_place_is_shown_and_printed",
        "documents/test_goldens.py",
        "documents/test_handout_middle.py",
        "documents/test_handouts.py",
        "studies/test_strain.py",
    ),
    "a plain install": ("base/test_extras.py::test_a_plain_install_does_the_daily_work",),
    "three processes": ("plan/test_plan_json.py::test_the_same_bytes_in_any_process",),
    "fitted arches": ("documents/test_arch_picture.py", "plan/test_measured.py"),
    "measured mouths": ("fitting/test_measuring_helps.py",),
    "checked types": ("base/test_frames.py",),
    "all imports": ("whole/test_import_order.py",),
    "every output": ("render/test_same_bytes.py",),
    "files in several ways": ("render/test_pdf_ways.py",),
    "pages as pixels": ("render/test_raster.py",),
    "text in viewers": ("render/test_svg_text.py",),
    "exercises": ("documents/test_exercises.py",),
    "the cards": ("documents/test_card.py",),
    "the drawer's pages": ("documents/test_drawer.py",),
    "drawn patients": ("studies/test_coverage_patients.py", "studies/test_coverage_study.py"),
    "one run of the coverage": ("cli/test_coverage.py",),
    "photographs of a sheet": ("cli/test_check.py",),
    "photographs on the page": ("desk/test_check_page.py",),
    "scans on the page": ("desk/test_scan.py",),
    "the page in one file": ("desk/test_single_core.py", "desk/test_single_page.py"),
    "the installed package": ("whole/test_wheel.py",),
    "the remade examples": ("whole/test_examples.py",),
}
_GROUP_OF = {f"tests/{name}": group for group, names in GROUPS.items() for name in names}


def group_of(test: str) -> str:
    """The group of a test by its pytest id; a test without a group is a group of its own."""
    module, _, _ = test.partition("::")
    name, _, _ = test.partition("[")
    return _GROUP_OF.get(name) or _GROUP_OF.get(module) or test

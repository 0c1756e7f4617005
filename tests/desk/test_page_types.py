"""The types that the page's scripts are checked with are those of the desk's own records."""

from __future__ import annotations

from tests.helpers.page_types import TYPES, page_types


def test_the_types_of_the_page_are_up_to_date() -> None:
    made = page_types()
    assert TYPES.read_text("utf-8") == made, "run: python -m tests.renew_page_types"
    assert '"/api/case": Shown,' in made

"""Write the types of the page's scripts anew, after a change of a record that the desk sends:

    python -m tests.renew_page_types

`tests/desk/test_page_types.py` compares them.
"""

from __future__ import annotations

from tests.helpers.page_types import TYPES, page_types

if __name__ == "__main__":
    TYPES.write_text(page_types(), encoding="utf-8", newline="\n")
    print(TYPES)

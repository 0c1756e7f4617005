"""Make the page's fonts anew from the documents' font, after a change of their ranges in
`shared/style.css` of the page:

    python -m tests.renew_page_fonts

`tests/desk/test_page_fonts.py` compares them.
"""

from __future__ import annotations

from tests.helpers.page_fonts import page_fonts

if __name__ == "__main__":
    for path, data in page_fonts().items():
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(data)
        print(f"{path}: {len(data)} bytes")

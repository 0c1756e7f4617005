"""Write the golden pages anew, after a change that is meant to move marks:

    python -m tests.renew_goldens

Read the difference in git before it is committed. `test_goldens.py` compares them, and works out
their key figures a second time from the published tables.
"""

from __future__ import annotations

from tests.helpers.golden_pages import CASES, FOLDER, HANDOUTS, handout_listing, listing


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    for name in CASES:
        path = FOLDER / f"{name}.txt"
        path.write_text(listing(name), "utf-8")
        print(path)
    for name in HANDOUTS:
        path = FOLDER / f"handout-{name}.txt"
        path.write_text(handout_listing(name), "utf-8")
        print(path)


if __name__ == "__main__":
    main()

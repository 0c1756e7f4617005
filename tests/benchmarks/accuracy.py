"""Makes sheetmark/plan/accuracy.toml again: how far a page's worst hole is off, by model and row.

    python -m tests.benchmarks.accuracy

Each adult model is held against 100,000 patients drawn from its own means and SDs, as
`sheetmark arch coverage MODEL --population MODEL` does; a model without SDs has no row.
"""

from __future__ import annotations

from sheetmark.anatomy.arch_model import load_model
from sheetmark.base.findings import InputError
from sheetmark.studies.coverage.study import USUAL_MODELS, study
from tests.helpers.accuracy import rows
from tests.helpers.paths import ROOT

FILE = ROOT / "sheetmark" / "plan" / "accuracy.toml"
PATIENTS = 100_000
HEAD = f"""\
# How far the worst hole of a page is off from the teeth it was not measured on, mm: half of the
# patients stand better than half_mm, 95 % better than most_mm, after the best move and turn of the
# sheet. A one-sided row counts as its longest usual one. Made again by
# python -m tests.benchmarks.accuracy.

[cites]  # the teeth's own displacement
gum-line-landmarks = ""

[sources]
drawn-patients = "{PATIENTS:,} patients drawn from the model's own means and SDs"
"""


def main() -> None:
    text = HEAD
    for name in USUAL_MODELS:
        model = load_model(name)
        try:
            found = study([model], model, patients=PATIENTS, seed=1)
        except InputError as error:
            print(error)
            continue
        for jaw, kind, half, most in rows(found):
            text += (
                f'\n[[worst_hole]]\nmodel = "{name}"\njaw = "{jaw}"\nrow = "{kind}"\n'
                f"half_mm = {half:.2f}\nmost_mm = {most:.2f}\n"
                'source = "drawn-patients"\nflag = "D"\n'
            )
    FILE.write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()

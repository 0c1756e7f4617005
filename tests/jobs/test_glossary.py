"""The glossary: every term leads somewhere, and `sheetmark help` finds it by any of its names."""

from __future__ import annotations

import pytest

from sheetmark.base.findings import InputError
from sheetmark.cli.app import run
from sheetmark.jobs.glossary import find_term, terms

Output = pytest.CaptureFixture[str]


def test_there_are_thirty_terms_of_a_few_plain_sentences() -> None:
    known = terms()
    assert len(known) >= 30
    titles = [term.title for term in known.values()]
    assert titles == sorted(titles, key=str.casefold)
    for term in known.values():
        assert term.text.endswith(".")
        assert 40 <= len(term.text) <= 300, term.title


def test_related_terms_exist_and_no_name_means_two_terms() -> None:
    known = terms()
    names: list[str] = []
    for key, term in known.items():
        assert term.see
        assert set(term.see) <= known.keys() - {key}, key
        names += {word.casefold() for word in (key, term.title, *term.also)}
    assert len(names) == len(set(names))


@pytest.mark.parametrize(
    ("text", "title"),
    [
        ("anchor", "Anchor"),
        ("gum line", "Gum line"),
        ("GUM-LINE", "Gum line"),
        ("fit  to page", "Actual size"),
        ("clamps", "Clamp"),
        ("fdi", "Numbers of teeth"),
    ],
)
def test_a_term_is_found_by_its_names(text: str, title: str) -> None:
    assert find_term(text).title == title


def test_an_unknown_term_is_answered_with_the_nearest(capsys: Output) -> None:
    with pytest.raises(InputError, match=r"did you mean Shift or Slit\?"):
        find_term("shfit")
    assert run(["help", "zzz"]) == 2
    assert capsys.readouterr().err == (
        "sheetmark: error: term 'zzz': not in the glossary; sheetmark help lists the terms\n"
    )


def test_help_shows_a_term_or_lists_all(capsys: Output) -> None:
    assert run(["help", "fit", "to", "page"]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("Actual size\nPrinting at 100 %")
    assert "See: Bars, Printer's correction." in shown
    assert run(["help"]) == 0
    listed = " ".join(capsys.readouterr().out.split())
    assert listed == ", ".join(term.title for term in terms().values())

"""Keys of the practice file under the labels of the settings form."""

from __future__ import annotations

import pytest

from sheetmark.practice.file.form import make_form
from sheetmark.practice.file.labels import label_of


@pytest.mark.parametrize(
    ("key", "label"),
    [
        ("name", "Clinic's name"),
        ("page", "Paper and printer"),
        ("page.margin_mm", "Paper and printer, Page margin"),
        ("punch.labels[3]", "The punch, Labels on the punch, entry 3"),
        ("tray", "Clamps"),
        ("tray[8]", "Clamp 8"),
        ("tray[8].winged", "Clamp 8, Winged"),
        ("sheets[1].width_mm", "Sheet 1, Width"),
        ("colour", "“colour”"),
        ("page.colour", "Paper and printer, “colour”"),
        ('sheets[2]."a.b"', 'Sheet 2, “"a.b"”'),
    ],
)
def test_a_key_is_called_as_the_form_calls_it(key: str, label: str) -> None:
    assert label_of(key) == label


def test_every_field_of_the_form_has_a_label_of_its_own() -> None:
    form = make_form({})
    keys = [field.key for section in form.sections for field in section.fields]
    keys += [f"{part.key}[1].{field.key}" for part in form.lists for field in part.columns]
    labels = [label_of(key) for key in keys]
    assert len({*labels}) == len(labels) > 30
    assert not [label for label in labels if "“" in label]

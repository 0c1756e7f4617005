"""Other forms of the arch on a model's own widths. Lengths in mm."""

from __future__ import annotations

from math import inf
from typing import get_args

import pytest
from msgspec.structs import replace

from sheetmark.anatomy.arch_model import ArchModel, load_model
from sheetmark.anatomy.curves import Curve, EvenOrder, SixthOrder
from sheetmark.anatomy.jaw import build_arch
from sheetmark.anatomy.teeth import JAWS, Jaw
from sheetmark.base.findings import InputError
from sheetmark.studies.published_forms import Form, nearest_curve, with_form

FORMS: tuple[Form, ...] = get_args(Form)
every_form = pytest.mark.parametrize("form", FORMS)
every_jaw = pytest.mark.parametrize("jaw", JAWS)


def laid(model: ArchModel, jaw: Jaw) -> dict[int, float]:
    """Widths between the centres of right and left by place, as far as the first molar."""
    row = tuple((slot, None) for slot in model.jaw(jaw).reaching_row)
    places = build_arch(model, jaw, row, row).places
    return {p.tooth.position: 2 * p.centre.x for p in places if p.tooth.side == "left"}


def squares(model: ArchModel, jaw: Jaw, curve: Curve) -> float:
    """The sum of squares of what the widths are off by; endless where the row does not fit."""
    table = replace(model.jaw(jaw), curve=curve)
    try:
        across = laid(replace(model, **{jaw: table}), jaw)
    except InputError:
        return inf
    return sum((across[place] - mm) ** 2 for place, mm in table.across_mm.items())


@every_form
@every_jaw
@pytest.mark.parametrize("name", ["adult-mean", "age-8"])
def test_no_curve_beside_it_is_nearer_to_the_widths(name: str, jaw: Jaw, form: Form) -> None:
    model = with_form(load_model(name), form)
    curve = model.jaw(jaw).curve
    assert curve is not None
    least = squares(model, jaw, curve)
    numbers = [key for key in curve.__struct_fields__ if key not in ("source", "flag")]
    for key in numbers:
        for times in (0.98, 1.02):
            beside = replace(curve, **{key: times * getattr(curve, key)})
            assert squares(model, jaw, beside) >= least - 1e-9, key


@every_jaw
def test_widths_that_a_form_carries_are_met(jaw: Jaw) -> None:
    # Widths taken from a sixth-order curve: that form and the one with a term more return them.
    mean = load_model("adult-mean")
    known = SixthOrder(a=1.2e-7, b=0.03, source="moorrees-1957", flag="D")
    across = laid(replace(mean, **{jaw: replace(mean.jaw(jaw), curve=known)}), jaw)
    rows = tuple(replace(row, mm=across[int(row.tooth)]) for row in mean.jaw(jaw).centre_widths)
    model = replace(mean, **{jaw: replace(mean.jaw(jaw), centre_widths=rows)})
    for form in ("sixth-order", "even-order"):
        curve = nearest_curve(model, jaw, form)
        assert squares(model, jaw, curve) < 1e-8
    found = nearest_curve(model, jaw, "sixth-order")
    assert isinstance(found, SixthOrder)
    assert found.a == pytest.approx(known.a, rel=1e-3)
    assert found.b == pytest.approx(known.b, rel=1e-3)


@every_form
def test_third_molars_are_left_out_and_the_form_has_its_source(form: Form) -> None:
    model = with_form(load_model("adult-mean"), form)
    for jaw in JAWS:
        table = model.jaw(jaw)
        assert table.row == ("1", "2", "3", "4", "5", "6", "7")
        assert table.curve is not None
        assert type(table.curve).__struct_config__.tag == form
        assert table.curve.source in model.sources
        assert table.curve.flag == ("assumption" if form == "even-order" else "D")


def test_the_even_form_is_an_even_polynomial() -> None:
    curve = EvenOrder(a=0.02, b=3e-5, c=1e-7, source="test", flag="assumption")
    x = 17.0
    assert curve.depth(x) == pytest.approx(0.02 * x**2 + 3e-5 * x**4 + 1e-7 * x**6)
    assert curve.depth(-x) == curve.depth(x)

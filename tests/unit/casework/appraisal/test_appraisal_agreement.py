"""An agreement as a form: to a document and back, what it nets, and a drawn signature."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from heelstamp.casework.appraisal.agreement import (
    AgreementForm,
    document_of,
    form_of,
    net_table,
    read_strokes,
    strokes_path,
)
from heelstamp.casework.appraisal.consignment import parse_terms
from heelstamp.errors import InputError
from heelstamp.valuation.money import Money

EXAMPLE: dict[str, Any] = tomllib.loads(
    (Path(__file__).parents[4] / "examples" / "consignment.toml").read_text("utf-8")
)


def test_a_form_says_what_its_document_says_and_back() -> None:
    assert document_of(form_of(EXAMPLE), EXAMPLE, "USD") == {**EXAMPLE, "tax": {"scheme": "none"}}


def test_a_blank_form_asks_for_the_three_clauses_and_writes_none_of_them() -> None:
    form = form_of({})
    assert [title for title, _ in form.clauses] == ["Opening", "Loss", "Return"]
    made = document_of(replace(form, tiers=[("20 %", ""), ("", "")]), {}, "EUR")
    assert made == {
        "schema": "heelstamp/consignment/1",
        "currency": "EUR",
        "commission": [{"rate": "20 %"}],
        "tax": {"scheme": "none"},
    }
    assert str(parse_terms(made, where="x").settled(Money.parse("100", "EUR")).net) == "80 EUR"


def test_what_a_form_has_no_field_for_stays() -> None:
    made = document_of(AgreementForm({}), {"later": "kept", "start": "9"}, "USD")
    assert made["later"] == "kept"
    assert "start" not in made


@pytest.mark.parametrize("days", ["-1", "many", "1.5", "١٢"])
def test_days_are_whole_numbers(days: str) -> None:
    with pytest.raises(InputError, match="not a number of days"):
        document_of(AgreementForm({"pay_days": days}), {}, "USD")


def test_the_net_at_three_prices_by_hand() -> None:
    # by hand: 22 % of the first 5,000 is 1,100, 14 % of the rest; less 185 and 128
    terms = parse_terms(EXAMPLE, where="x")
    prices = [Money.parse(one, "USD") for one in ("5000", "8200", "9900")]
    head, rows = net_table(terms, prices)
    assert head == ["5,000 USD", "8,200 USD", "9,900 USD"]
    assert rows[-1] == ("Net to the consignor", "3,587.00 USD", "6,339.00 USD", "7,801.00 USD")
    assert len({len(row) for row in rows}) == 1


def test_a_signature_is_strokes_within_the_field() -> None:
    drawn = [[(x, 2 * x) for x in range(10)], [(500, 500)]]
    strokes = read_strokes(json.dumps(drawn))
    assert strokes == drawn
    assert strokes_path(strokes[1:]) == "M500 500"
    for wrong in ("", "[]", "[[[0,0],[1,1]]]", "[[[0,0,0]]]", '[[["a",1]]]', "[[[0,1001]]]", "{}"):
        with pytest.raises(InputError):
            read_strokes(wrong)
    many = [[[one % 1000, one // 1000] for one in range(5001)]]
    with pytest.raises(InputError):
        read_strokes(json.dumps(many))

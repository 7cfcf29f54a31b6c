"""A buyer's report is for a person who has never met a posterior: what must not stand in it."""

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass

import pytest

from fakes.doubted import close_marks, doubts_of, hero, misread_neck, tree
from fakes.wherry_examinations import wherry
from heelstamp.casework.papers.document import ReportDocument
from heelstamp.casework.papers.examination_report import Issue, examination_report
from heelstamp.report.payload import payload
from heelstamp.shop.subjects import names_of
from heelstamp.wording import Statement

CASES = {"hero": hero, "misread": misread_neck, "close": close_marks}
FORBIDDEN = (
    "under a changed table",
    "covered areas must",
    "1/turn",
    "probability mass",
    "foretold",
    "leave alone",
)
OLD_NAMES = ("guard", "board", "socket", "coat", "coating", "lags", "knots", "rod")
NAMED = re.compile(rf"\b({'|'.join(OLD_NAMES)})\b", re.IGNORECASE)
KEYS = frozenset(
    {"id", "key", "kind", "status", "layer", "template", "reader", "frame", "file", "frames"}
)
"""Fields that a page does not print, or that name a photograph."""


def report(name: str, reader: str = "buyer") -> ReportDocument:
    state, finding, doubts = doubts_of(CASES[name]())
    return examination_report(
        state,
        tree(),
        finding.data(),
        reader=reader,  # type: ignore[arg-type]
        issue=Issue("Heelstamp 0.1.0", "2026-11-04"),
        names=names_of(wherry()),
        doubts=doubts.data(),
    )


def printed(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from printed(one)
    elif is_dataclass(value):
        for field in fields(value):
            if field.name not in KEYS:
                yield from printed(getattr(value, field.name))


@pytest.fixture(scope="module", params=CASES)
def buyers(request: pytest.FixtureRequest) -> tuple[str, ReportDocument]:
    return request.param, report(request.param)


def test_no_forbidden_words_stand_in_it(buyers) -> None:
    for text in printed(buyers[1]):
        for words in FORBIDDEN:
            assert words not in text.lower(), text


def test_parts_have_the_names_of_the_trade(buyers) -> None:
    _, document = buyers
    told = [row.label for row in document.parts]
    told += [row.part for row in document.not_read]
    told += [one.text for one in (*document.part_statements, *document.doubts, *document.inferred)]
    for text in told:
        found = NAMED.search(text.replace("truss rod", ""))
        assert found is None, text


def test_no_entry_is_named_in_it(buyers) -> None:
    """The shop's copy names them, so the record is still traced."""
    name, document = buyers
    shops = report(name, "shop")
    ids = {id_ for one in shops.statements() for id_ in one.rests_on}
    assert ids
    for one in document.statements():
        assert not ids & set(one.rests_on)
    assert all(not row.evidence for row in document.parts)
    assert payload(document)["entries_named"] is False
    assert payload(shops)["entries_named"] is True


def test_a_figure_of_a_part_stands_once_in_its_row_beside_its_word(buyers) -> None:
    _, document = buyers
    by_id = {one.id: one for one in document.part_statements}
    first_page = [one for one in document.conclusions if one.id.startswith("answer:part:")]
    assert first_page
    for said in (*document.part_statements, *first_page):
        assert "%" not in said.text, said.text
    rows = [row for row in document.parts if row.probability]
    assert rows
    for row in rows:
        assert row.word or row.verdict in ("not settled", "not determined")
        assert row.prior
        assert f"part:{row.key}" in by_id


def test_the_shop_keeps_the_figures_in_its_sentences(buyers) -> None:
    said = [one for one in report(buyers[0], "shop").part_statements if one.plain]
    assert said
    assert all("%" in one.text for one in said)


def test_a_rate_is_printed_without_a_unit_of_the_program() -> None:
    from heelstamp.units import Quantity
    from heelstamp.wording.about_record import measured

    told = measured.say(
        part="Tone pot", quantity="crackle events per turn", value=Quantity(19.0, "1/turn", 2.0)
    )
    assert told == "Tone pot: crackle events per turn 19 ± 2."


def test_a_statement_without_figures_is_the_same_for_every_reader(buyers) -> None:
    name, document = buyers
    shops: dict[str, Statement] = {one.id: one for one in report(name, "shop").statements()}
    for one in document.statements():
        before = shops[one.id]
        if not before.plain and "•" not in one.text and "withheld]" not in one.text:
            assert one.text == before.text

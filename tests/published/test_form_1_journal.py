"""A journal as it was published in form 1 folds through the converter to the same findings.

The file is the journal of the invented demonstration as it came with the program before entries
had fields for what was told in words; it stays as it is. Held against the demonstration of today:
date, setup sheet, price and every sentence of the report.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from heelstamp.casework.appraisal.agreed import INSURED, SOLD, agreed_price, sum_of
from heelstamp.casework.appraisal.instrument import given_by
from heelstamp.casework.dating.procedure import date_instrument
from heelstamp.casework.feature_names import FeatureNames
from heelstamp.casework.jack.request import sets_of
from heelstamp.casework.papers import evidence_section as told
from heelstamp.casework.setup.evidence import missing_evidence, rod_history
from heelstamp.casework.setup.records import read_record
from heelstamp.catalogue import DossierState, Folding, PartsTree
from heelstamp.reference.demonstration import demo_journal
from heelstamp.reference.market import load_market

PUBLISHED = Path(__file__).with_name("demonstration-form-1.jsonl")


def folded(rows: list[dict[str, Any]], tree: PartsTree, form: int) -> DossierState:
    folding = Folding(tree)
    for number, row in enumerate(rows, start=1):
        where = f"row {number}"
        folding.add(row["kind"], row["body"], at=row["at"], by=row["by"], form=form, where=where)
    return folding.state


@pytest.fixture(scope="module")
def tree() -> PartsTree:
    from heelstamp.reference.parts_trees import tree_loader

    return tree_loader()("guitar")


@pytest.fixture(scope="module")
def before(tree: PartsTree) -> DossierState:
    lines = PUBLISHED.read_text("utf-8").splitlines()
    return folded([json.loads(line) for line in lines], tree, 1)


FACES = ("front", "back", "sides", "headstock", "neck", "fingerboard")
ASPECTS = ("structural", "finish", "electronics", "hardware", "frets", "case")
LATER = {"heads-bridge", "seat-nut", "slots-frets"} | {
    *("scale-F017", "scale-F019", "scale-F040", "box-F017", "search-stolen", "materials"),
    *("sale-examined", "sale-cleared", "sale-offered", "sale-agreed", "m-rod-tool"),
    *(f"looked-{way}-{face}" for way in ("in", "out") for face in FACES),
    *("place-buckle", "place-pick", "place-bridge", "place-buckle-out", "place-pick-out"),
    *(f"grade-{one}" for one in ASPECTS if one != "frets"),
    *(f"grade-{one}-second" for one in ASPECTS),
    *(f"talk-{one}" for one in ("asked", "answered", "price", "viewing", "viewed", "ended")),
    *("law-dalbergia-nigra", "law-dalbergia-finished", "law-dalbergia-cochinchinensis"),
    *("terms-signed", "deposit", "deposit-cleared", "balance", "balance-cleared", "sale-paid"),
    *("F047", "F048", "F049", "F050", "packing"),
}
"""Looks, scales, boxes, condition, grades, talk and steps of the sale, which it has since."""


@pytest.fixture(scope="module")
def today(tree: PartsTree) -> DossierState:
    """The demonstration without what form 1 could not say: how many screws were counted."""
    rows = [row for row in demo_journal() if row["body"].get("id") not in LATER]
    counted = {"turned", "judged"}
    for row in rows:
        if counted & set(row["body"]):
            row["body"] = {key: one for key, one in row["body"].items() if key not in counted}
    return folded(rows, tree, 2)


def test_every_entry_is_converted(before: DossierState, today: DossierState) -> None:
    assert not before.unconverted
    assert before.length == today.length
    assert set(before.entered) == set(today.entered)
    assert {type(one) for one in before.bodies()} == {type(one) for one in today.bodies()}


def test_the_setup_is_the_same(before: DossierState, today: DossierState) -> None:
    assert read_record(before) == read_record(today)
    record = read_record(today)
    assert rod_history(before, record) == rod_history(today, record)
    assert missing_evidence(before, record) == missing_evidence(today, record) == ()


def test_the_jack_and_the_price_rest_on_the_same(before: DossierState, today: DossierState) -> None:
    assert sets_of(before) == sets_of(today)
    assert len(sets_of(today)) == 2
    assert given_by(before, load_market()) == given_by(today, load_market())
    for of in (INSURED, SOLD):
        one, other = agreed_price(before, of), agreed_price(today, of)
        assert one is not None
        assert other is not None
        assert sum_of(one, "USD") == sum_of(other, "USD")


def test_the_report_tells_the_same(
    before: DossierState, today: DossierState, tree: PartsTree
) -> None:
    names = FeatureNames({}, {})
    for section in (told.measured_statements,):
        assert _texts(section(before, tree)) == _texts(section(today, tree))
    assert _texts(told.seen_statements(before, tree, names)) == _texts(
        told.seen_statements(today, tree, names)
    )
    assert _texts(told.acts(before, tree, "sells it")) == _texts(told.acts(today, tree, "sells it"))
    assert _texts(told.told_statements(before)) == _texts(told.told_statements(today))


def test_the_date_is_the_same(before: DossierState, today: DossierState) -> None:
    from heelstamp.reference.chronology_files import load_chronology
    from heelstamp.reference.tables import mark_context

    chronology = load_chronology("sallowby-wherry")
    one = date_instrument(before, chronology, mark_context()).data()
    other = date_instrument(today, chronology, mark_context()).data()
    for key in ("completion", "parts", "observations"):
        assert one[key] == other[key]


def _texts(statements: Any) -> list[tuple[str, str]]:
    return [(one.id, one.text) for one in statements]

from importlib import import_module, util

import pytest

from heelstamp.wording import RULES, rule
from heelstamp.wording.table import all_sentences


def test_fifteen_rules_in_order() -> None:
    assert [one.number for one in RULES] == list(range(1, 16))
    assert rule(8).title == "Completion"


@pytest.mark.parametrize("one", RULES, ids=lambda one: str(one.number))
def test_what_is_said_to_enforce_a_rule_exists(one) -> None:
    assert one.enforced_by
    for name in one.enforced_by:
        module, _, attribute = name.rpartition(".")
        if module == "papers":
            assert util.find_spec(f"heelstamp.casework.papers.{attribute}") is not None
        else:
            assert hasattr(import_module(f"heelstamp.wording.{module}"), attribute), name


def test_every_sentence_obeys_a_rule_that_exists() -> None:
    numbers = {one.number for one in RULES}
    assert {one.rule for one in all_sentences().values()} <= numbers

"""Consent: the last word on an act counts, and silence is not leave."""

import pytest

from heelstamp.catalogue import Consent, leave_for, require_leave
from heelstamp.errors import ConflictError

WORDS = [
    Consent(id="c1", act="take neck off", granted=False, by="a consignor"),
    Consent(id="c2", act="lift guard", granted=True, by="a consignor", condition="once"),
    Consent(id="c3", act="take neck off", granted=True, by="a consignor"),
]


def test_the_last_word_counts() -> None:
    assert leave_for("take neck off", WORDS[:2]).standing == "refused"
    assert leave_for("take neck off", WORDS).standing == "granted"


def test_silence_is_neither_leave_nor_refusal() -> None:
    leave = leave_for("lift bridge", WORDS)
    assert (leave.standing, leave.entry) == ("not asked", "")


def test_leave_names_its_entry_and_condition() -> None:
    leave = require_leave("lift guard", WORDS)
    assert (leave.entry, leave.condition) == ("c2", "once")


@pytest.mark.parametrize("act", ["lift bridge", "Lift guard"])
def test_without_leave_the_act_is_refused(act: str) -> None:
    with pytest.raises(ConflictError, match=r"not asked.*consent entry first"):
        require_leave(act, WORDS, where="entry 9")

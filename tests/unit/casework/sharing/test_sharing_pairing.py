"""Pairing: one code, one device, one decision."""

from datetime import UTC, datetime, timedelta

import pytest

from heelstamp.casework.sharing import Offer, Pairings
from heelstamp.casework.sharing.held_state import in_process
from heelstamp.casework.sharing.pairing import GOOD_FOR, OFFERS_MAX
from heelstamp.errors import ConflictError

AT = datetime(2026, 11, 2, 9, 0, tzinfo=UTC)
DESK = "d" * 64


def test_a_device_is_let_in_once() -> None:
    pairings = Pairings()
    pairings.open("code", "examiner B", DESK, AT)
    assert pairings.of_code("code", AT) is not None
    pairings.claim("code", "claim", "0417", "a telephone", AT)
    assert pairings.of_code("code", AT) is None
    assert pairings.collect("claim", AT) is None
    pairings.confirm(DESK, "0417", AT)
    collected = pairings.collect("claim", AT)
    assert collected is not None
    assert (collected.account, collected.device) == ("examiner B", "a telephone")
    with pytest.raises(ConflictError, match="not good any more"):
        pairings.collect("claim", AT)


def test_a_second_device_gets_nothing_from_the_same_code() -> None:
    pairings = Pairings()
    pairings.open("code", "examiner B", DESK, AT)
    pairings.claim("code", "thief", "1111", "", AT)
    with pytest.raises(ConflictError):
        pairings.claim("code", "owner's telephone", "2222", "", AT)
    with pytest.raises(ConflictError):
        pairings.confirm(DESK, "2222", AT)
    pairings.refuse(DESK)
    with pytest.raises(ConflictError):
        pairings.collect("thief", AT)


def test_everything_ends_after_two_minutes() -> None:
    late = AT + GOOD_FOR
    assert timedelta(minutes=2) == GOOD_FOR
    for asked, confirmed in ((False, False), (True, False), (True, True)):
        pairings = Pairings()
        pairings.open("code", "x", DESK, AT)
        if asked:
            pairings.claim("code", "claim", "1234", "", AT)
        if confirmed:
            pairings.confirm(DESK, "1234", AT)
        assert pairings.of_desk(DESK, late) is None
        assert pairings.asked("claim", late) is None
        with pytest.raises(ConflictError):
            pairings.claim("code", "other", "1", "", late)
        with pytest.raises(ConflictError):
            pairings.collect("claim", late)


def test_a_new_code_ends_the_one_before_it_and_offers_are_bounded() -> None:
    offers: dict[str, Offer] = {}
    pairings = Pairings(in_process(offers))
    pairings.open("first", "x", DESK, AT)
    pairings.open("second", "x", DESK, AT)
    assert pairings.of_code("first", AT) is None
    offer = pairings.of_desk(DESK, AT)
    assert offer is not None
    assert offer.code == "second"
    for number in range(2 * OFFERS_MAX):
        pairings.open(f"code {number}", "x", f"desk {number}", AT)
    assert len(offers) == OFFERS_MAX


def test_no_claim_is_no_claim() -> None:
    pairings = Pairings()
    pairings.open("code", "x", DESK, AT)
    assert pairings.asked("", AT) is None
    with pytest.raises(ConflictError):
        pairings.collect("", AT)

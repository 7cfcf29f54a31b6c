"""A serial number with doubtful characters: one entry, every combination, weights that multiply."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.wherry_examinations import Body, look, state_of, translated, wherry
from heelstamp.casework.dating.same_fact import numbers_read
from heelstamp.casework.doubtful_number import LIKELY, doubt_entries, doubtful
from heelstamp.casework.new_entry import EntryStamp
from heelstamp.catalogue import Observation
from heelstamp.chronology import SerialCurve
from heelstamp.dating import SerialNumber
from heelstamp.errors import InputError

STAMP = EntryStamp("c-1", "", "2026-12-01T09:00:00Z")
CURVE = SerialCurve.of(wherry())


def number(text: str = "S10350") -> Body:
    return look("s", "neck_plate", "serial", text=text)


def seen(body: Body) -> Observation:
    return state_of([body]).observations["s"]


def told(body: Body, place: int, other: str, likely: str = "as likely") -> Body:
    entries = doubt_entries(
        state_of([body]), STAMP, number="s", place=place, other=other, likely=likely, base=None
    )
    (entry,) = entries
    assert entry.kind == "correction"
    replacement: Body = dict(entry.body["replacement"])
    return replacement


def test_one_or_four() -> None:
    doubted = told(number(), 1, "4", "less likely")
    assert doubted["text"] == "S10350"
    assert {one["text"]: one["weight"] for one in doubted["readings"]} == pytest.approx(
        {"S10350": 1.0, "S40350": 1 / 3}
    )


def test_two_doubts_are_every_combination() -> None:
    doubted = told(told(number(), 1, "4", "less likely"), 3, "8", "barely")
    assert {one["text"]: one["weight"] for one in doubted["readings"]} == pytest.approx(
        {"S10350": 1.0, "S40350": 1 / 3, "S10850": 1 / 9, "S40850": 1 / 27}
    )


def test_a_doubt_can_be_taken_back() -> None:
    assert "readings" not in told(told(number(), 1, "4"), 0, "")


@settings(max_examples=60, deadline=None)
@given(st.integers(100, 10900), st.lists(st.sampled_from(list(LIKELY)), min_size=1, max_size=3))
def test_what_is_offered_can_be_dated_and_stays_one_number(serial: int, likely: list[str]) -> None:
    assert CURVE is not None
    body = number(f"{serial}")
    for word in likely:
        spots = doubtful(seen(body), CURVE)
        if not spots:
            break
        spot = spots[serial % len(spots)]
        body = told(body, spot.place, spot.others[0], word)
    read = numbers_read(seen(body))
    assert max(weight for _, weight in read) == 1.0
    assert len({text for text, _ in read}) == len(read)
    found = translated([body])["s"].evidence
    assert sum(isinstance(one, SerialNumber) for one in found) == 1


@pytest.mark.parametrize(
    ("place", "other", "likely"), [(9, "1", "barely"), (1, "44", "barely"), (1, "4", "yes")]
)
def test_what_is_no_character_is_refused(place: int, other: str, likely: str) -> None:
    with pytest.raises(InputError):
        told(number(), place, other, likely)

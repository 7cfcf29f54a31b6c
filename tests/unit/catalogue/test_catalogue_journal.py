"""Envelopes: the time is UTC in the calendar, only the first has none before it."""

from typing import Any

import pytest

from heelstamp.catalogue import envelope, parse_entry
from heelstamp.errors import InputError

FIRST: dict[str, Any] = {
    "seq": 1,
    "at": "2026-11-02T09:14:00Z",
    "by": "examiner A",
    "kind": "decision",
    "body": {},
    "previous": None,
    "digest": "a" * 64,
}


def test_an_entry_is_read() -> None:
    assert parse_entry(FIRST).by == "examiner A"


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"at": "2026-11-02T09:14:00"}, "field at"),
        ({"at": "2026-11-02T09:14:00+01:00"}, "field at"),
        ({"at": "2026-13-02T09:14:00Z"}, "field at: not a date and time"),
        ({"at": "2025-02-29T09:14:00Z"}, "field at: not a date and time"),
        ({"by": ""}, "field by"),
        ({"seq": 0}, "field seq"),
        ({"seq": 2}, "only the first entry has no entry before it"),
        ({"previous": "b" * 64}, "only the first entry has no entry before it"),
        ({"digest": "A" * 64}, "field digest"),
        ({"extra": 1}, "field extra: unknown field"),
    ],
)
def test_an_envelope_that_cannot_be_is_refused(change: Any, message: str) -> None:
    with pytest.raises(InputError, match=message):
        parse_entry({**FIRST, **change}, where="entry 1")


def test_an_envelope_is_the_entry_without_its_digest() -> None:
    fields = {name: value for name, value in FIRST.items() if name != "digest"}
    assert envelope(**fields) == fields
    with pytest.raises(InputError, match="entry 1, field at"):
        envelope(**{**fields, "at": "now"})
